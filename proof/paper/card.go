package paper

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"
	"unicode/utf8"
)

// Card is what a person knows of a paper beside its profile. Every field may be
// left empty.
type Card struct {
	// Name is what the person calls the paper, "" for the name that it comes with.
	Name string `json:"name,omitempty"`
	// Group is the heading that the paper stands under in the list.
	Group string `json:"group,omitempty"`
	// Printer is the printer that the profile was made on.
	Printer string `json:"printer,omitempty"`
	// Media is the driver's media setting that the profile was made for.
	Media string `json:"media_setting,omitempty"`
	// BlackInk is "photo" or "matte".
	BlackInk string `json:"black_ink,omitempty"`
	// Condition is the measuring condition of ISO 13655: "M0", "M1" or "M2".
	Condition string `json:"measuring_condition,omitempty"`
	// Date is the day the profile was made, as 2006-01-02.
	Date string `json:"date,omitempty"`
	// DryHours is how long a print dries before it is judged or measured.
	DryHours float64 `json:"dry_hours,omitempty"`
	// Finish is the surface, such as matte, pearl or gloss.
	Finish string `json:"finish,omitempty"`
	Notes  string `json:"notes,omitempty"`
}

// BlackInks and Conditions return the words that a card knows, "" aside.
func BlackInks() []string { return []string{"photo", "matte"} }

// Conditions returns the measuring conditions of ISO 13655 that a card knows.
func Conditions() []string { return []string{"M0", "M1", "M2"} }

// A card is a note, not a book: longer texts were pasted by mistake.
const (
	maxField    = 200
	maxNotes    = 20000
	maxDryHours = 10000
)

// Check reports what on the card cannot be, nil when all is well.
func (c Card) Check() error {
	for _, f := range []struct {
		name, text string
		limit      int
	}{
		{"name", c.Name, maxField}, {"group", c.Group, maxField},
		{"printer", c.Printer, maxField}, {"media setting", c.Media, maxField}, {"finish", c.Finish, maxField},
		{"notes", c.Notes, maxNotes},
	} {
		if n := utf8.RuneCountInString(f.text); n > f.limit {
			return fmt.Errorf("paper: the card's %s has %d characters, at most %d are kept", f.name, n, f.limit)
		}
	}
	if c.BlackInk != "" && !slices.Contains(BlackInks(), c.BlackInk) {
		return fmt.Errorf("paper: the card's black ink is %q, not photo or matte", c.BlackInk)
	}
	if c.Condition != "" && !slices.Contains(Conditions(), c.Condition) {
		return fmt.Errorf("paper: the card's measuring condition is %q, not M0, M1 or M2", c.Condition)
	}
	if c.Date != "" {
		if _, err := time.Parse(time.DateOnly, c.Date); err != nil {
			return fmt.Errorf("paper: the card's date is %q, not a day such as 2006-01-02", c.Date)
		}
	}
	if math.IsNaN(c.DryHours) || c.DryHours < 0 || c.DryHours > maxDryHours {
		return errors.New("paper: the card's drying time is no number of hours")
	}
	return nil
}
