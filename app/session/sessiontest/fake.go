// Package sessiontest has an engine that computes nothing, for tests of the
// session and of the window, and a queue that stands in for the goroutine that
// draws.
package sessiontest

import (
	"context"
	"errors"
	"image/color"
	"io/fs"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/differ"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// Queue collects functions until they are drained, as the drawing goroutine
// would run them.
type Queue struct {
	mu   sync.Mutex
	list []func()
	more chan struct{}
}

// NewQueue returns an empty queue.
func NewQueue() *Queue { return &Queue{more: make(chan struct{}, 1)} }

// Post adds a function; it may be called from any goroutine.
func (q *Queue) Post(f func()) {
	q.mu.Lock()
	q.list = append(q.list, f)
	q.mu.Unlock()
	select {
	case q.more <- struct{}{}:
	default:
	}
}

// Step runs the oldest function, if there is one, and reports whether.
func (q *Queue) Step() bool {
	q.mu.Lock()
	if len(q.list) == 0 {
		q.mu.Unlock()
		return false
	}
	f := q.list[0]
	q.list = q.list[1:]
	q.mu.Unlock()
	f()
	return true
}

// patience is when a test is held to hang: far longer than anything takes, also under
// the race detector on a busy machine.
const patience = 5 * time.Minute

// Until drains the queue until done holds, and reports whether it did before patience
// ended.
func (q *Queue) Until(done func() bool) bool {
	end := time.After(patience)
	for {
		if done() {
			return true
		}
		if q.Step() {
			continue
		}
		select {
		case <-q.more:
		case <-end:
			return false
		}
	}
}

// Settled tells whether nothing is missing on the desk.
func Settled(s *session.Session) func() bool {
	return func() bool {
		st := s.State()
		if st.Frame == 0 || st.Picture.Key == 0 {
			return false
		}
		for n := 0; n < st.Count; n++ {
			if st.Stale[n] || st.Results[n].Computing {
				return false
			}
		}
		return true
	}
}

// Engine is a session.Engine whose pictures are shown as their own numbers: the
// original unchanged, a proof inverted, a slip with red and blue exchanged.
type Engine struct {
	// Picture is what Open and Demo return.
	Picture raster.Pixels
	// Pins come with it.
	Pins []pin.Pin
	// Unfit are files of the papers' folder that can't be used.
	Unfit []paper.Problem

	mu        sync.Mutex
	gate      chan struct{}
	refuse    func(setup.Setup) error
	waiting   []setup.Setup
	cancelled int
	read      int
}

// SetGate has every look from now on wait until gate can be received from.
func (e *Engine) SetGate(gate chan struct{}) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.gate = gate
}

// SetRefuse makes set-ups impossible from now on.
func (e *Engine) SetRefuse(f func(setup.Setup) error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.refuse = f
}

func (e *Engine) refused(set setup.Setup) error {
	e.mu.Lock()
	f := e.refuse
	e.mu.Unlock()
	if f == nil {
		return nil
	}
	return f(set)
}

// Ramp is a picture whose pixels take every byte in every channel.
func Ramp(w, h int) raster.Pixels {
	p := raster.New(w, h, 3, false)
	for y := range h {
		for x := range w {
			i := 3 * (y*w + x)
			p.P8[i], p.P8[i+1], p.P8[i+2] = uint8(x), uint8(x+3*y), uint8(255-x+y)
		}
	}
	return p
}

// Papers implements session.Shelf: the built-in papers' profiles under short names.
func (e *Engine) Papers() []session.Paper {
	var out []session.Paper
	all := paper.All()
	for _, id := range []string{"pearl", "cotton", "gloss", "washi"} {
		p := all[slices.IndexFunc(all, func(p paper.Paper) bool { return p.ID == id })]
		p.Name = id
		out = append(out, session.Paper{Paper: p, Facts: &paper.Facts{White: cie.Lab{L: 95, B: -2}, Black: cie.Lab{L: 8}}})
	}
	return out
}

// Unusable implements session.Shelf.
func (e *Engine) Unusable() []paper.Problem { return e.Unfit }

// Study implements session.Shelf.
func (e *Engine) Study(context.Context) error { return nil }

// AddPaper implements session.Shelf: only "good.icc" is a paper.
func (e *Engine) AddPaper(path string) (session.Paper, bool, error) {
	if filepath.Base(path) != "good.icc" {
		return session.Paper{}, false, &proof.ProfileError{Op: "use as a paper", Profile: path, Kind: proof.WrongClass, Err: errors.New("it is a display profile")}
	}
	return session.Paper{Paper: paper.Paper{ID: "gloss", Name: "gloss"}}, false, nil
}

// Open implements session.Engine: "missing" does not exist.
func (e *Engine) Open(ctx context.Context, path string) (*session.Picture, error) {
	if filepath.Base(path) == "missing" {
		return nil, fs.ErrNotExist
	}
	p, err := e.Demo(ctx)
	p.Info.Path, p.Info.Name = path, path
	return p, err
}

// Demo implements session.Engine.
func (e *Engine) Demo(context.Context) (*session.Picture, error) {
	px := e.Picture
	return &session.Picture{Info: session.PictureInfo{Name: "ramp", W: px.W, H: px.H, Channels: 3, Depth: 8, Assumed: "srgb"},
		Levels: raster.Levels(px), Pins: e.Pins,
		Source: setup.Source{Picture: &photo.Picture{W: px.W, H: px.H, Channels: 3, Depth: 8, Pix8: px.P8}, Profile: proof.SpaceProfile(space.SRGB())}}, nil
}

// Screen implements session.Engine.
func (e *Engine) Screen(_ context.Context, path string, _ []byte) (session.Screen, error) {
	if filepath.Base(path) != "good.icc" {
		return session.Screen{}, &proof.ProfileError{Op: "use", Profile: path, Kind: proof.WrongClass, Err: errors.New("it is an output profile")}
	}
	return session.Screen{Key: "srgb", Name: "sRGB"}, nil
}

// CheckSource implements session.Pictures.
func (e *Engine) CheckSource(_ *session.Picture, path string) error {
	if filepath.Base(path) != "good.icc" {
		return &proof.ProfileError{Op: "use", Profile: path, Kind: proof.Damaged, Err: errors.New("too short")}
	}
	return nil
}

// Refresh implements session.Engine.
func (e *Engine) Refresh() {}

// Watch implements session.Engine: nothing is ever saved anew.
func (e *Engine) Watch(context.Context, []string, func(string)) error { return nil }

// Route implements session.Engine.
func (e *Engine) Route(_ *session.Picture, set setup.Setup, _ session.Screen) (session.Route, error) {
	if err := e.refused(set); err != nil {
		return session.Route{}, err
	}
	stop := func(kind proof.StationKind, title, detail string, ask session.Ask) session.Station {
		return session.Station{Station: proof.Station{Kind: kind, Title: title, Detail: detail}, Ask: ask}
	}
	r := session.Route{N: 2}
	r.Stations[0] = stop(proof.FileStation, "photo", "sRGB, assumed", session.AskSource)
	r.Stations[1] = stop(proof.ScreenStation, "this screen", "sRGB", session.AskScreen)
	if set.Paper != "" {
		r.N = 3
		r.Stations[2] = r.Stations[1]
		r.Stations[1] = stop(proof.InkStation, "ink on "+set.Paper, set.Intent.Short(), session.AskNothing)
		if set.Slips != "" {
			r.Stations[1].Fault, r.Stations[1].Why = proof.Extra, "taken twice"
		}
	}
	return r, nil
}

type look struct {
	e   *Engine
	set setup.Setup
}

func (l look) Ground() color.RGBA { return color.RGBA{250, 250, 248, 255} }

func (l look) Proof(_ context.Context, dst []uint8, src raster.Pixels) error {
	l.e.mu.Lock()
	l.e.read += src.W * src.H
	l.e.mu.Unlock()
	var px []float64
	for i := range src.W * src.H {
		px = src.At(px[:0], i%src.W, i/src.W)
		o := dst[4*i : 4*i+4]
		for k := range 3 {
			o[k] = uint8(px[k]*255 + 0.5)
		}
		o[3] = 255
		switch {
		case l.set.Paper == "":
		case l.set.Slips != "":
			o[0], o[2] = o[2], o[0]
		default:
			o[0], o[1], o[2] = 255-o[0], 255-o[1], 255-o[2]
		}
	}
	return nil
}

func (l look) ProofAndSamples(ctx context.Context, dst []uint8, samples []proof.Sample, src raster.Pixels) error {
	for i := range samples {
		d := proof.StepsOf(float64(i%src.W) / float64(src.W) * 12)
		samples[i] = proof.Sample{DeltaE00: d, Reach: d, Darker: i/src.W > src.H*3/4}
	}
	return l.Proof(ctx, dst, src)
}

// Look implements session.Engine.
func (e *Engine) Look(ctx context.Context, _ *session.Picture, set setup.Setup, _ proof.Quality) (session.Look, error) {
	e.mu.Lock()
	gate := e.gate
	e.mu.Unlock()
	if gate != nil {
		e.mu.Lock()
		e.waiting = append(e.waiting, set)
		e.mu.Unlock()
		select {
		case <-gate:
		case <-ctx.Done():
			e.mu.Lock()
			e.cancelled++
			e.mu.Unlock()
			return nil, ctx.Err()
		}
	}
	if err := e.refused(set); err != nil {
		return nil, err
	}
	return look{e, set}, nil
}

// Waited tells whether a look of such a set-up has come to the gate.
func (e *Engine) Waited(such func(setup.Setup) bool) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	return slices.ContainsFunc(e.waiting, such)
}

// Read returns how many pixels looks were applied to.
func (e *Engine) Read() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.read
}

// Cancelled returns how many looks were cancelled.
func (e *Engine) Cancelled() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.cancelled
}

// Difference implements session.Engine.
func (e *Engine) Difference(context.Context, *session.Picture, setup.Setup, setup.Setup) (session.Difference, error) {
	return func(dst []proof.Sample, _ raster.Pixels) {
		for i := range dst {
			dst[i].DeltaE00 = proof.StepsOf(3)
		}
	}, nil
}

// Glance implements session.Engine: the mean is the intent's number plus 2.
func (e *Engine) Glance(ctx context.Context, _ *session.Picture, set setup.Setup) (proof.Figures, error) {
	return proof.Figures{Pixels: 1, Mean: float64(set.Intent) + 2, P95: 5, Max: 6,
		Reach: [proof.Bands]float64{0.8, 0.1, 0.06, 0.02, 0.01}, Darker: 0.01}, ctx.Err()
}

// Figures implements session.Engine: the mean is the intent's number plus 1.
func (e *Engine) Figures(ctx context.Context, _ *session.Picture, set setup.Setup, progress func(float64)) (proof.Figures, error) {
	progress(0.5)
	return proof.Figures{Pixels: 1, Mean: float64(set.Intent) + 1, P95: 4, Max: 9,
		Reach: [proof.Bands]float64{0.88, 0.03, 0.04, 0.02, 0.01}, Darker: 0.02}, ctx.Err()
}

// Values implements session.Engine.
func (e *Engine) Values(_ context.Context, pic *session.Picture, set setup.Setup, pins []pin.Pin) ([]session.PinValue, error) {
	out := make([]session.PinValue, len(pins))
	for i, p := range pins {
		at := p.Pixels(pic.Info.W, pic.Info.H)[0]
		px := pic.Levels[0].At(nil, at.X, at.Y)
		out[i] = session.PinValue{Known: true, Value: pin.Value{Original: cie.Lab{L: px[0] * 100}, Counted: cie.Lab{L: px[0] * 100}, Screen: [3]float64(px), DeltaE00: float64(set.Intent)}, Words: "turns"}
	}
	return out, nil
}

// Propose implements session.Engine.
func (e *Engine) Propose(context.Context, *session.Picture, []pin.Pin) ([]pin.Pin, error) {
	return []pin.Pin{{Name: "red", X: 0.01, Y: 0.01, Radius: 0.002}}, nil
}

// Sentence implements session.Engine.
func (e *Engine) Sentence(_ context.Context, _ *session.Picture, set setup.Setup, pins []pin.Pin, _ []session.PinValue, _ int, _ *proof.Figures) (session.Told, error) {
	switch {
	case set.Paper == "":
		return session.Told{Pin: -1}, nil
	case len(pins) > 0:
		return session.Say("on "+set.Paper+" this "+pins[0].Name+" prints duller", 0), nil
	}
	return session.Say("on "+set.Paper+" little is out of reach", -1), nil
}

var errFake = &proof.PlanError{Reason: "this engine computes nothing"}

// Plan implements session.Plans.
func (e *Engine) Plan(*session.Picture, setup.Setup) (proof.Plan, error) {
	return proof.Plan{}, errFake
}

// Finder implements session.Plans: nothing is found.
func (e *Engine) Finder(*session.Picture) setup.Finder { return nothing{} }

type nothing struct{}

func (nothing) Profile(string) (*proof.Profile, error) { return nil, errFake }
func (nothing) Paper(string) (paper.Paper, error)      { return paper.Paper{}, errFake }

// Chain implements session.Plans.
func (e *Engine) Chain(proof.Plan) (*proof.Chain, error) { return nil, errFake }

// Prints implements session.Engine.
func (e *Engine) Prints(context.Context, []proof.Plan, []float64, func(float64)) ([][]cie.Lab, error) {
	return nil, errFake
}

// Count implements session.Engine.
func (e *Engine) Count(context.Context, proof.Plan, *proof.Picture, func(float64)) (proof.Figures, error) {
	return proof.Figures{}, errFake
}

// Grid implements session.Plans.
func (e *Engine) Grid(context.Context, proof.Plan, proof.Quality) (*proof.Grid, error) {
	return nil, errFake
}

// KeepProfile implements session.Shelf.
func (e *Engine) KeepProfile([]byte, paper.Card) (session.Paper, error) {
	return session.Paper{}, errFake
}

// SetCard implements session.Shelf.
func (e *Engine) SetCard(string, paper.Card) error { return errFake }

// RemovePaper implements session.Shelf.
func (e *Engine) RemovePaper(string) (paper.Removed, error) { return paper.Removed{}, errFake }

// MovePaper implements session.Shelf.
func (e *Engine) MovePaper(string, int) error { return errFake }

// Removed implements session.Shelf.
func (e *Engine) Removed() []paper.Removed { return nil }

// RestorePaper implements session.Shelf.
func (e *Engine) RestorePaper(string) (session.Paper, error) { return session.Paper{}, errFake }

// Readings implements session.Shelf.
func (e *Engine) Readings(string) ([]paper.Reading, error) { return nil, nil }

// AddReading implements session.Shelf.
func (e *Engine) AddReading(string, paper.Reading) (string, error) { return "", errFake }

// RemoveReading implements session.Shelf.
func (e *Engine) RemoveReading(string, string) (paper.Reading, error) {
	return paper.Reading{}, errFake
}

// Close implements session.Engine.
func (e *Engine) Close() {}

// Differing implements session.Engine: two places, one in the middle, unless the set-up
// is refused.
func (e *Engine) Differing(_ context.Context, _ *session.Picture, one setup.Setup, others []setup.Setup, name string, names []string) ([]session.Differing, error) {
	if err := e.refused(one); err != nil {
		return nil, err
	}
	if one == others[0] {
		return nil, nil
	}
	return []session.Differing{
		{Place: differ.Place{X: 0.5, Y: 0.5, Side: 0.2, DeltaE00: 4}, Words: name + " is not " + names[0]},
		{Place: differ.Place{X: 0.2, Y: 0.2, Side: 0.2, DeltaE00: 2}, Words: name + " is a little not " + names[0]},
	}, nil
}
