package session

import (
	"strconv"

	"firstsheet/proof"
	"firstsheet/proof/setup"
)

// Desk is a ready-made desk: so many sheets, each with its set-up.
type Desk struct {
	ID, Name, Help string
	// Sheets has a letter a sheet, to draw the desk small: o the original, w one gone
	// wrong, a to d proofs that differ from each other.
	Sheets string
	// active is the sheet that has something to tell.
	active int
	// lay returns the sheets, from the proof that the bench speaks of and the papers
	// at hand.
	lay func(base Sheet, papers [MaxSheets]string) []Sheet
}

// Desks lists the ready-made desks in the order of the menu.
func Desks() []Desk {
	return []Desk{
		{"pair", "Original and proof", "The picture beside its proof.", "oa", 1,
			func(b Sheet, _ [MaxSheets]string) []Sheet {
				return []Sheet{original(b), right(b)}
			}},
		{"papers", "Two papers", "The same conversion on two papers.", "ab", 0,
			func(b Sheet, p [MaxSheets]string) []Sheet {
				second := right(b)
				second.Paper = other(b.Paper, p)
				return []Sheet{right(b), second}
			}},
		{"intents", "Two intents", "The same paper, relative beside perceptual.", "ac", 0,
			func(b Sheet, _ [MaxSheets]string) []Sheet {
				first, second := right(b), right(b)
				first.Intent, second.Intent = proof.RelativeColorimetric, proof.Perceptual
				return []Sheet{first, second}
			}},
		{"wrong", "Right and wrong", "The proof beside the slip.", "aw", 1,
			func(b Sheet, _ [MaxSheets]string) []Sheet {
				second := right(b)
				second.Wrong = true
				return []Sheet{right(b), second}
			}},
		{"four", "Four papers", "The same conversion on four papers.", "abcd", 0,
			func(b Sheet, papers [MaxSheets]string) []Sheet {
				var sheets []Sheet
				for _, p := range papers {
					sh := right(b)
					if p != "" {
						sh.Paper = p
					}
					sheets = append(sheets, sh)
				}
				return sheets
			}},
	}
}

// LayCause lays the right proof, a print as it was observed and what a cause of it prints
// side by side, and closes the open card.
type LayCause struct {
	// Right is the proof as it should be. Of Cause only what went wrong counts.
	Right, Cause setup.Setup
	// Observed is the key of an observation, 0 for none.
	Observed int
}

func (a LayCause) reduce(s State) State {
	base, _ := s.Proof()
	base = base.Righted()
	base.Paper, base.Intent, base.BPC = a.Right.Paper, a.Right.Intent, a.Right.BPC
	cause := base
	cause.Setup = base.Setup.With(a.Cause)
	cause.Wrong, cause.Chosen = true, true
	sheets := []Sheet{base}
	if a.Observed != 0 {
		seen := base
		seen.Observed = a.Observed
		sheets = append(sheets, seen)
	}
	s.Count = copy(s.Sheets[:], append(sheets, cause))
	s.Active, s.Desk = s.Count-1, ""
	s.Default = cause
	s.Default.Wrong = false
	return OpenCard{}.reduce(s)
}

func original(b Sheet) Sheet { b = b.Righted(); b.Original = true; return b }
func right(b Sheet) Sheet    { return b.Righted() }

// other returns the first paper at hand that is not id.
func other(id string, papers [MaxSheets]string) string {
	for _, p := range papers {
		if p != "" && p != id {
			return p
		}
	}
	return id
}

func itoa(n int) string { return strconv.Itoa(n) }
