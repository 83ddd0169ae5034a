package session

import (
	"firstsheet/proof/paper"
)

// Stock is what cards ask that keep and judge papers. Works implements it; the
// calls read and write files, and may be made from any goroutine.
type Stock interface {
	// Card returns what is noted of a paper.
	Card(id string) (paper.Card, bool)
	// PaperFacts returns what a paper's profile is, once it is studied.
	PaperFacts(id string) (paper.Facts, bool)
	// ProfileData returns a paper's profile as bytes.
	ProfileData(id string) ([]byte, bool)
	// SetCard keeps what is noted of a paper.
	SetCard(id string, c paper.Card) error
	// KeepProfile makes a finished profile a paper with a card. A paper that is
	// returned together with an error is kept, but its card is not.
	KeepProfile(data []byte, c paper.Card) (Paper, error)
	// Readings returns the verifications that were kept of a paper, the oldest first.
	Readings(id string) ([]paper.Reading, error)
	// AddReading keeps a verification of a paper.
	AddReading(id string, r paper.Reading) error
	// RemovePaper deletes an added paper with its card.
	RemovePaper(id string) error
}

var _ Stock = (*Works)(nil)

// Card implements Stock.
func (w *Works) Card(id string) (paper.Card, bool) {
	p, ok := w.Paper(id)
	return p.Card, ok
}

// PaperFacts implements Stock.
func (w *Works) PaperFacts(id string) (paper.Facts, bool) {
	p, ok := w.Paper(id)
	if !ok {
		return paper.Facts{}, false
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	f, ok := w.facts[p.Profile.ID()]
	return f, ok
}

// ProfileData implements Stock.
func (w *Works) ProfileData(id string) ([]byte, bool) {
	p, ok := w.Paper(id)
	if !ok {
		return nil, false
	}
	return p.Profile.Data(), true
}

// SetCard implements Stock.
func (w *Works) SetCard(id string, c paper.Card) error {
	if err := w.Library.SetCard(id, c); err != nil {
		return err
	}
	w.Refresh()
	return nil
}

// KeepProfile implements Stock.
func (w *Works) KeepProfile(data []byte, c paper.Card) (Paper, error) {
	if err := c.Check(); err != nil {
		return Paper{}, err
	}
	p, err := w.Library.AddBytes("the new profile", data)
	if err != nil {
		return Paper{}, err
	}
	if c != (paper.Card{}) {
		err = w.Library.SetCard(p.ID, c)
	}
	w.Refresh()
	return Paper{ID: p.ID, Name: p.Name}, err
}

// Readings implements Stock.
func (w *Works) Readings(id string) ([]paper.Reading, error) { return w.Library.Readings(id) }

// AddReading implements Stock.
func (w *Works) AddReading(id string, r paper.Reading) error { return w.Library.AddReading(id, r) }

// RemovePaper implements Stock.
func (w *Works) RemovePaper(id string) error {
	err := w.Library.Remove(id)
	w.Refresh()
	return err
}

// PapersChanged takes the list of papers anew after a card has changed it. The
// active proof is put on the paper use; "" leaves it where it is.
func (s *Session) PapersChanged(use string, n Notice) {
	s.store.SetPapers(s.engine.Papers())
	s.run.study()
	s.Do(LibraryChanged{Serial: -1, Use: use, Notice: n})
}

// PaperGone tells that a paper was removed: whatever lay on it lies on Use now.
type PaperGone struct{ ID, Use string }

func paperGone(s State, a PaperGone) State {
	move := func(sh *Sheet) {
		if sh.Paper == a.ID {
			sh.Paper = a.Use
		}
		if sh.Slip.OtherPaper == a.ID {
			sh.Slip.OtherPaper = a.Use
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
