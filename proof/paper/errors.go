package paper

import "fmt"

// Kind says what is the matter with a file.
type Kind uint8

// The kinds of trouble a file can give before its content is looked at.
const (
	NotFound    Kind = iota + 1 // no such file
	NotReadable                 // a folder, a device, or not permitted
	Empty                       // 0 bytes
	TooLarge                    // more than a profile may have
	NotWritable                 // the folder of papers cannot be written to
	BadCard                     // what is noted of the paper cannot be read
)

func (k Kind) String() string {
	switch k {
	case NotFound:
		return "not found"
	case NotReadable:
		return "not readable"
	case Empty:
		return "empty"
	case TooLarge:
		return "too large"
	case NotWritable:
		return "not writable"
	case BadCard:
		return "no readable card"
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// FileError says which file failed and why, before any colour is looked at. What
// is wrong with a profile's content is a *proof.ProfileError instead.
type FileError struct {
	Path string
	Kind Kind
	Err  error
}

func (e *FileError) Error() string { return fmt.Sprintf("paper: %s: %v: %v", e.Path, e.Kind, e.Err) }

func (e *FileError) Unwrap() error { return e.Err }

// DuplicateError says that a profile is among the papers already.
type DuplicateError struct {
	// Existing is the paper that has the same profile.
	Existing Paper
}

func (e *DuplicateError) Error() string {
	return fmt.Sprintf("paper: the same profile is already there as %q", e.Existing.ID)
}

// UnknownError says that no paper is called so.
type UnknownError struct{ Ref string }

func (e *UnknownError) Error() string {
	return fmt.Sprintf("paper: %q is neither a paper's ID nor a file", e.Ref)
}
