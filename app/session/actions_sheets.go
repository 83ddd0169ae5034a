package session

import (
	"firstsheet/proof"
	"firstsheet/proof/setup"
)

// Activate makes sheet N the active one.
type Activate struct{ N int }

func (a Activate) reduce(s State) State {
	if valid(s, a.N) {
		s.Active = a.N
	}
	return s
}

// SetSheets lays N sheets on the desk.
type SetSheets struct{ N int }

func (a SetSheets) reduce(s State) State {
	n := clampInt(a.N, 1, MaxSheets)
	for i := s.Count; i < n; i++ {
		s.Sheets[i], _ = s.Proof()
	}
	s.Count = n
	s.Active = min(s.Active, n-1)
	s.Desk = ""
	return s
}

// AddSheet lays a copy of the active proof beside the others.
type AddSheet struct{}

func (AddSheet) reduce(s State) State {
	if s.Count == MaxSheets {
		return s
	}
	s.Sheets[s.Count], _ = s.Proof()
	s.Results[s.Count] = Result{}
	s.Active = s.Count
	s.Count++
	s.Desk = ""
	return s
}

// RemoveSheet takes sheet N away; the last one stays.
type RemoveSheet struct{ N int }

func (a RemoveSheet) reduce(s State) State {
	if !valid(s, a.N) || s.Count == 1 {
		return s
	}
	copy(s.Sheets[a.N:], s.Sheets[a.N+1:])
	copy(s.Results[a.N:], s.Results[a.N+1:])
	copy(s.Values[a.N:], s.Values[a.N+1:])
	s.Count--
	// The last slot's request is no longer wanted; its number must never fit again.
	s.Results[s.Count] = Result{Gen: s.Results[s.Count].Gen}
	for i := range s.Sheets {
		sh := &s.Sheets[i]
		if sh.Show == ShowDifference {
			if sh.Against == a.N {
				sh.Against = -1
			} else if sh.Against > a.N {
				sh.Against--
			}
		}
	}
	if s.Active > a.N || s.Active >= s.Count {
		s.Active = max(s.Active-1, 0)
	}
	s.Desk = ""
	return s
}

// CopySetup gives sheet To the set-up of sheet From.
type CopySetup struct{ From, To int }

func (a CopySetup) reduce(s State) State {
	if !valid(s, a.From) || !valid(s, a.To) || a.From == a.To {
		return s
	}
	show, against := s.Sheets[a.To].Show, s.Sheets[a.To].Against
	s.Sheets[a.To] = s.Sheets[a.From]
	s.Sheets[a.To].Show, s.Sheets[a.To].Against = show, against
	s = s.mapped()
	s.Active = a.To
	s.Desk = ""
	return s
}

// TakeDesk lays a ready-made desk. Papers names the papers at hand, in order.
type TakeDesk struct {
	ID     string
	Papers [MaxSheets]string
}

func (a TakeDesk) reduce(s State) State {
	for _, d := range Desks() {
		if d.ID != a.ID {
			continue
		}
		base, _ := s.Proof()
		if s.Desk != "" {
			base = s.Default // a desk that nobody has changed says nothing of what is wanted
		}
		sheets := d.lay(base, a.Papers)
		s.Count = copy(s.Sheets[:], sheets)
		s.Active = d.active
		s.Desk = d.ID
	}
	return s
}

// SetPaper puts the active proof on a paper.
type SetPaper struct{ ID string }

func (a SetPaper) reduce(s State) State {
	return change(s, func(sh *Sheet) { sh.Paper = a.ID })
}

// SetOriginal makes the active sheet the original, or a proof again.
type SetOriginal struct{ On bool }

func (a SetOriginal) reduce(s State) State {
	if valid(s, s.Active) {
		s.Sheets[s.Active].Original, s.Sheets[s.Active].Observed = a.On, 0
		s.Desk = ""
	}
	return s
}

// SetIntent sets the active proof's intent.
type SetIntent struct{ Intent proof.Intent }

func (a SetIntent) reduce(s State) State {
	return change(s, func(sh *Sheet) { sh.Intent = a.Intent })
}

// SetBPC sets the active proof's black point compensation.
type SetBPC struct{ On bool }

func (a SetBPC) reduce(s State) State {
	return change(s, func(sh *Sheet) { sh.BPC = a.On })
}

// SetWhite sets the white of all sheets: beside each other, two whites would mislead.
type SetWhite struct{ White proof.White }

func (a SetWhite) reduce(s State) State {
	for i := range s.Sheets {
		s.Sheets[i].White = a.White
	}
	s.Default.White = a.White
	return s
}

// SetWrong throws the large switch of the active proof.
type SetWrong struct{ On bool }

func (a SetWrong) reduce(s State) State {
	return change(s, func(sh *Sheet) { sh.Wrong = a.On })
}

// SetSlip chooses the active proof's slip and throws the switch. Of Slip only the slips
// and what they are told count.
type SetSlip struct{ Slip setup.Setup }

func (a SetSlip) reduce(s State) State {
	return change(s, func(sh *Sheet) {
		sh.Setup = sh.Setup.With(a.Slip)
		sh.Wrong, sh.Chosen = true, true
	})
}

// SetShow chooses what the active sheet shows.
type SetShow struct {
	Show    Show
	Against int
}

func (a SetShow) reduce(s State) State {
	if valid(s, s.Active) {
		s.Sheets[s.Active].Show, s.Sheets[s.Active].Against = a.Show, a.Against
	}
	return s.mapped()
}

// mapped shows no map of what has none: differences are computed colour by colour, and an
// observed print has no colour of its own for each of the picture's.
func (s State) mapped() State {
	for n := range s.Count {
		sh := &s.Sheets[n]
		seen := sh.Observed != 0 || valid(s, sh.Against) && s.Sheets[sh.Against].Observed != 0
		if sh.Show == ShowDifference && seen {
			sh.Show, sh.Against = ShowPicture, -1
		}
	}
	return s
}

// SetLooking replaces how the sheets are looked at.
type SetLooking struct{ Looking Looking }

func (a SetLooking) reduce(s State) State {
	s.Looking = a.Looking
	return s
}

// PaperGone tells that a paper was removed: whatever lay on it lies on Use now.
type PaperGone struct{ ID, Use string }

func (a PaperGone) reduce(s State) State {
	move := func(sh *Sheet) {
		if sh.Paper == a.ID {
			sh.Paper = a.Use
		}
		if sh.Other == a.ID {
			sh.Other = a.Use
		}
	}
	for i := range s.Sheets {
		move(&s.Sheets[i])
	}
	move(&s.Default)
	// Another paper may come under the same ID: nothing of this one may be kept.
	s.Edition++
	return s
}

func valid(s State, n int) bool { return n >= 0 && n < s.Count }

// change applies f to the proof that the bench speaks of, and remembers it as
// the set-up of the next new proof.
func change(s State, f func(*Sheet)) State {
	if _, n := s.Proof(); n >= 0 {
		f(&s.Sheets[n])
	}
	f(&s.Default)
	s.Default.Original, s.Default.Observed, s.Default.Wrong = false, 0, false
	s.Desk = ""
	return s
}
