package engine

import (
	"context"
	"errors"

	"firstsheet/app/session"
	"firstsheet/proof/paper"
)

// Papers implements session.Shelf.
func (e *Engine) Papers() []session.Paper {
	e.mu.Lock()
	defer e.mu.Unlock()
	var out []session.Paper
	for _, p := range e.papers {
		q := session.Paper{Paper: p}
		if f, ok := e.facts[p.Profile.ID()]; ok {
			q.Facts = &f
		}
		out = append(out, q)
	}
	return out
}

// Unusable implements session.Shelf.
func (e *Engine) Unusable() []paper.Problem {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.unusable
}

// Study implements session.Shelf.
func (e *Engine) Study(ctx context.Context) error {
	for _, p := range e.Papers() {
		if p.Facts != nil {
			continue
		}
		f, err := paper.Inspect(ctx, p.Profile)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			continue // it still serves; its use tells what is wrong
		}
		e.mu.Lock()
		e.facts[p.Profile.ID()] = f
		e.mu.Unlock()
	}
	return nil
}

// AddPaper implements session.Shelf.
func (e *Engine) AddPaper(path string) (session.Paper, bool, error) {
	p, err := e.library.Add(path)
	if twin, ok := errors.AsType[*paper.DuplicateError](err); ok {
		return session.Paper{Paper: twin.Existing}, true, nil
	}
	if err != nil {
		return session.Paper{}, false, err
	}
	e.Refresh()
	return session.Paper{Paper: p}, false, nil
}

// KeepProfile implements session.Shelf.
func (e *Engine) KeepProfile(data []byte, c paper.Card) (session.Paper, error) {
	if err := c.Check(); err != nil {
		return session.Paper{}, err
	}
	p, err := e.library.AddBytes("the new profile", data)
	if err != nil {
		return session.Paper{}, err
	}
	if c != (paper.Card{}) {
		err = e.library.SetCard(p.ID, c)
	}
	e.Refresh()
	return session.Paper{Paper: p}, err
}

// SetCard implements session.Shelf.
func (e *Engine) SetCard(id string, c paper.Card) error {
	err := e.library.SetCard(id, c)
	e.Refresh()
	return err
}

// MovePaper implements session.Shelf.
func (e *Engine) MovePaper(id string, steps int) error {
	err := e.library.Move(id, steps)
	e.Refresh()
	return err
}

// RemovePaper implements session.Shelf.
func (e *Engine) RemovePaper(id string) (paper.Removed, error) {
	gone, err := e.library.Remove(id)
	e.Refresh()
	return gone, err
}

// Removed implements session.Shelf.
func (e *Engine) Removed() []paper.Removed { return e.library.Removed() }

// RestorePaper implements session.Shelf.
func (e *Engine) RestorePaper(folder string) (session.Paper, error) {
	p, err := e.library.Restore(folder)
	e.Refresh()
	return session.Paper{Paper: p}, err
}

// Readings implements session.Shelf.
func (e *Engine) Readings(id string) ([]paper.Reading, error) { return e.library.Readings(id) }

// AddReading implements session.Shelf.
func (e *Engine) AddReading(id string, r paper.Reading) (string, error) {
	return e.library.AddReading(id, r)
}

// RemoveReading implements session.Shelf.
func (e *Engine) RemoveReading(id, reading string) (paper.Reading, error) {
	return e.library.RemoveReading(id, reading)
}
