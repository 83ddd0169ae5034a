// Package engine answers what the session asks: it opens pictures, keeps the shelf of
// papers, and has package proof compute. Every set-up becomes a plan through package
// setup; nothing here makes plans of its own.
package engine

import (
	"context"
	"fmt"
	"maps"
	"strings"
	"sync"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
)

// Engine is the session's engine on real files and real profiles. It may be used from
// many goroutines.
type Engine struct {
	*proof.Engine
	library *paper.Library
	demo    Demo

	mu       sync.Mutex
	papers   []paper.Paper
	unusable []paper.Problem           // files of the papers' folder that can't be used
	facts    map[string]paper.Facts    // by profile ID
	profiles map[string]*proof.Profile // by what set-ups call them: files, the system's own
}

// Demo opens the picture that comes with the program.
type Demo func(ctx context.Context) (*photo.Picture, []pin.Pin, error)

var _ session.Engine = (*Engine)(nil)

// New returns an engine over a library of papers.
func New(lib *paper.Library, demo Demo) *Engine {
	e := &Engine{Engine: proof.NewEngine(), library: lib, demo: demo, facts: map[string]paper.Facts{}, profiles: map[string]*proof.Profile{}}
	e.papers, e.unusable = lib.List()
	return e
}

// Plan implements session.Plans.
func (e *Engine) Plan(pic *session.Picture, set setup.Setup) (proof.Plan, error) {
	return set.Plan(e.Finder(pic))
}

// Finder implements session.Plans.
func (e *Engine) Finder(pic *session.Picture) setup.Finder {
	f := finder{e, nil}
	if pic != nil {
		f.picture = pic.Source.Profile
	}
	return f
}

// chain returns the exact chain of a set-up. The caller closes it.
func (e *Engine) chain(pic *session.Picture, set setup.Setup) (*proof.Chain, error) {
	plan, err := e.Plan(pic, set)
	if err != nil {
		return nil, err
	}
	return e.Chain(plan)
}

// finder finds what a set-up names: papers in the list, profiles once read from their
// files again only when something was saved anew.
type finder struct {
	e       *Engine
	picture *proof.Profile
}

// Paper implements setup.Finder.
func (f finder) Paper(id string) (paper.Paper, error) {
	if p, ok := f.e.paper(id); ok {
		return p, nil
	}
	return paper.Paper{}, &proof.PlanError{Reason: fmt.Sprintf("the paper %q is not among your papers", id)}
}

// Profile implements setup.Finder.
func (f finder) Profile(ref string) (*proof.Profile, error) {
	if ref == "" {
		return setup.Files{Picture: f.picture}.Profile("")
	}
	f.e.mu.Lock()
	p, ok := f.e.profiles[ref]
	f.e.mu.Unlock()
	if ok {
		return p, nil
	}
	p, err := setup.Files{}.Profile(ref)
	if err == nil {
		f.e.keep(ref, p)
	}
	return p, err
}

func (e *Engine) keep(ref string, p *proof.Profile) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.profiles[ref] = p
}

func (e *Engine) paper(id string) (paper.Paper, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	for _, p := range e.papers {
		if p.ID == id {
			return p, true
		}
	}
	return paper.Paper{}, false
}

// Screen implements session.Engine.
func (e *Engine) Screen(_ context.Context, path string, data []byte) (session.Screen, error) {
	var p *proof.Profile
	var err error
	if data != nil {
		p, err = proof.NewProfile("", data)
	} else {
		p, err = paper.ReadProfile(path)
	}
	if err == nil {
		err = p.CheckScreen()
	}
	if err != nil {
		return session.Screen{}, err
	}
	key := path
	if data != nil {
		key = session.SystemScreen + p.ID()
	}
	e.keep(key, p)
	return session.Screen{Key: key, Name: p.Name()}, nil
}

// Watch implements session.Engine.
func (e *Engine) Watch(ctx context.Context, paths []string, changed func(path string)) error {
	_, err := photo.Watch(ctx, paths, changed)
	return err
}

// Refresh implements session.Shelf.
func (e *Engine) Refresh() {
	list, unusable := e.library.List()
	e.mu.Lock()
	defer e.mu.Unlock()
	e.papers, e.unusable = list, unusable
	maps.DeleteFunc(e.profiles, func(ref string, _ *proof.Profile) bool { return !strings.HasPrefix(ref, session.SystemScreen) })
}
