package session

import "strconv"

// Desk is a ready-made desk: so many sheets, each with its set-up.
type Desk struct {
	ID, Name, Help string
	lay            func(s State, base Sheet, papers [MaxSheets]string) ([MaxSheets]Sheet, int)
}

// Desks lists the ready-made desks in the order of the menu.
func Desks() []Desk {
	return []Desk{
		{"pair", "Original and proof", "The picture beside its proof.",
			func(_ State, b Sheet, _ [MaxSheets]string) (r [MaxSheets]Sheet, n int) {
				r[0], r[1] = original(b), right(b)
				return r, 2
			}},
		{"papers", "Two papers", "The same conversion on two papers.",
			func(_ State, b Sheet, p [MaxSheets]string) (r [MaxSheets]Sheet, n int) {
				r[0], r[1] = right(b), right(b)
				r[1].Paper = other(b.Paper, p)
				return r, 2
			}},
		{"intents", "Two intents", "The same paper, relative beside perceptual.",
			func(_ State, b Sheet, _ [MaxSheets]string) (r [MaxSheets]Sheet, n int) {
				r[0], r[1] = right(b), right(b)
				r[0].Intent, r[1].Intent = Relative, Perceptual
				return r, 2
			}},
		{"wrong", "Right and wrong", "The proof beside the slip.",
			func(_ State, b Sheet, _ [MaxSheets]string) (r [MaxSheets]Sheet, n int) {
				r[0], r[1] = right(b), right(b)
				r[1].Wrong = true
				return r, 2
			}},
		{"four", "Four papers", "The same conversion on four papers.",
			func(_ State, b Sheet, p [MaxSheets]string) (r [MaxSheets]Sheet, n int) {
				for i := range r {
					r[i] = right(b)
					if p[i] != "" {
						r[i].Paper = p[i]
					}
				}
				return r, MaxSheets
			}},
	}
}

func original(b Sheet) Sheet { b.Original, b.Wrong, b.Show = true, false, ShowPicture; return b }
func right(b Sheet) Sheet    { b.Original, b.Wrong, b.Show = false, false, ShowPicture; return b }

// other returns the first paper at hand that is not id.
func other(id string, papers [MaxSheets]string) string {
	for _, p := range papers {
		if p != "" && p != id {
			return p
		}
	}
	return id
}

func takeDesk(s State, a TakeDesk) State {
	for _, d := range Desks() {
		if d.ID != a.ID {
			continue
		}
		base, _ := s.Proof()
		sheets, n := d.lay(s, base, a.Papers)
		for i := 0; i < n; i++ {
			s.Sheets[i] = sheets[i]
		}
		s.Count = n
		// The sheet that has something to tell is the active one.
		s.Active = min(1, n-1)
		if d.ID == "four" || d.ID == "papers" || d.ID == "intents" {
			s.Active = 0
		}
		s.Desk = d.ID
	}
	return s
}

func itoa(n int) string { return strconv.Itoa(n) }
