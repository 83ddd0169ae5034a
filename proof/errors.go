package proof

import (
	"errors"
	"fmt"
)

// Kind says what is the matter with a profile.
type Kind uint8

// The kinds of trouble a profile can give.
const (
	Damaged       Kind = iota + 1 // the bytes are no sound profile
	WrongClass                    // a sound profile of something else
	NoTable                       // it lacks the table that the job needs
	WrongChannels                 // its channels do not fit its neighbour's
	Refused                       // Little CMS cannot use it
)

func (k Kind) String() string {
	switch k {
	case Damaged:
		return "damaged"
	case WrongClass:
		return "of the wrong kind"
	case NoTable:
		return "lacks a table"
	case WrongChannels:
		return "has the wrong number of channels"
	case Refused:
		return "cannot be used"
	}
	return "unknown trouble"
}

// ProfileError says which profile failed, at what, and why.
type ProfileError struct {
	Op      string // what was being done with it
	Profile string // its name or its file's
	Kind    Kind
	Err     error
}

func (e *ProfileError) Error() string {
	return fmt.Sprintf("proof: %s: profile %q %s: %v", e.Op, e.Profile, e.Kind, e.Err)
}

func (e *ProfileError) Unwrap() error { return e.Err }

// ErrPlan is what every error about an impossible plan is, for errors.Is.
var ErrPlan = errors.New("proof: impossible plan")

// PlanError says why a plan cannot be carried out, whatever the profiles.
type PlanError struct{ Reason string }

func (e *PlanError) Error() string        { return "proof: " + e.Reason }
func (e *PlanError) Is(target error) bool { return target == ErrPlan }
