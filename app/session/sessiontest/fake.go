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
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
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

// Until drains the queue until done holds, and reports whether it did within a
// minute.
func (q *Queue) Until(done func() bool) bool {
	end := time.After(time.Minute)
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

// Engine is a session.Engine whose pictures are shown as their own numbers: the
// original unchanged, a proof inverted, a slip with red and blue exchanged.
type Engine struct {
	// Picture is what Open and Demo return.
	Picture raster.Pixels
	// Pins come with it.
	Pins []session.Pin

	mu        sync.Mutex
	gate      chan struct{}
	refuse    func(session.Setup) error
	waiting   []session.Setup
	cancelled int
}

// SetGate has every look from now on wait until gate can be received from.
func (e *Engine) SetGate(gate chan struct{}) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.gate = gate
}

// SetRefuse makes set-ups impossible from now on.
func (e *Engine) SetRefuse(f func(session.Setup) error) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.refuse = f
}

func (e *Engine) refused(set session.Setup) error {
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

// Papers implements session.Engine.
func (e *Engine) Papers() []session.Paper {
	white := color.RGBA{240, 240, 236, 255}
	black := color.RGBA{30, 30, 30, 255}
	var out []session.Paper
	for _, id := range []string{"pearl", "cotton", "gloss", "washi"} {
		out = append(out, session.Paper{ID: id, Name: id, BuiltIn: true, Studied: true, White: [3]float64{95, 0, -2},
			Black: [3]float64{8, 0, 0}, WhiteSeen: white, BlackSeen: black, Channels: 3})
	}
	return out
}

// Study implements session.Engine.
func (e *Engine) Study(context.Context) error { return nil }

// AddPaper implements session.Engine: only "good.icc" is a paper.
func (e *Engine) AddPaper(_ context.Context, path string) (session.Paper, error) {
	if filepath.Base(path) != "good.icc" {
		return session.Paper{}, &proof.ProfileError{Op: "use as a paper", Profile: path, Kind: proof.WrongClass, Err: errors.New("it is a display profile")}
	}
	return session.Paper{ID: "gloss", Name: "gloss"}, nil
}

// Slips implements session.Engine.
func (e *Engine) Slips() []session.SlipKind {
	return []session.SlipKind{{ID: "twice", Name: "converted twice", NeedsSecond: true}, {ID: "never", Name: "never converted"},
		{ID: "otherpaper", Name: "another paper's profile", NeedsPaper: true}}
}

// Spaces implements session.Engine.
func (e *Engine) Spaces() []session.Space {
	return []session.Space{{ID: "srgb", Name: "sRGB"}, {ID: "romm", Name: "ROMM RGB"}}
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
		Levels: raster.Levels(px), Pins: e.Pins, Photo: &photo.Picture{W: px.W, H: px.H, Channels: 3, Depth: 8, Pix8: px.P8}}, nil
}

// Screen implements session.Engine.
func (e *Engine) Screen(_ context.Context, path string, _ []byte) (session.Screen, error) {
	if filepath.Base(path) != "good.icc" {
		return session.Screen{}, &proof.ProfileError{Op: "use", Profile: path, Kind: proof.WrongClass, Err: errors.New("it is an output profile")}
	}
	return session.Screen{Key: "srgb", Name: "sRGB"}, nil
}

// Source implements session.Engine.
func (e *Engine) Source(_ context.Context, _ *session.Picture, path string) error {
	if filepath.Base(path) != "good.icc" {
		return &proof.ProfileError{Op: "use", Profile: path, Kind: proof.Damaged, Err: errors.New("too short")}
	}
	return nil
}

// Refresh implements session.Engine.
func (e *Engine) Refresh() {}

// Watch implements session.Engine: nothing is ever saved anew.
func (e *Engine) Watch(context.Context, []string, func(string)) error { return nil }

// Use implements session.Engine.
func (e *Engine) Use(*session.Picture) {}

// Route implements session.Engine.
func (e *Engine) Route(_ session.PictureInfo, set session.Setup, _ session.Screen) (session.Route, error) {
	if err := e.refused(set); err != nil {
		return session.Route{}, err
	}
	r := session.Route{N: 2}
	r.Stations[0] = session.Station{Kind: "file", Plain: "photo", Trade: "sRGB, assumed", Ask: "source"}
	r.Stations[1] = session.Station{Kind: "screen", Plain: "this screen", Trade: "sRGB", Ask: "screen"}
	if !set.Original {
		r.N = 3
		r.Stations[2] = r.Stations[1]
		r.Stations[1] = session.Station{Kind: "ink", Plain: "ink on " + set.Paper, Trade: set.Intent.Name()}
		if set.Slip.ID[0] != "" {
			r.Stations[1].Fault, r.Stations[1].Note = session.FaultExtra, "one too many"
		}
	}
	return r, nil
}

type look struct {
	set session.Setup
}

func (l look) Ground() color.RGBA { return color.RGBA{250, 250, 248, 255} }

func (l look) Proof(_ context.Context, dst []uint8, src raster.Pixels) error {
	var px []float64
	for i := range src.W * src.H {
		px = src.At(px[:0], i%src.W, i/src.W)
		o := dst[4*i : 4*i+4]
		for k := range 3 {
			o[k] = uint8(px[k]*255 + 0.5)
		}
		o[3] = 255
		switch {
		case l.set.Original:
		case l.set.Slip.ID[0] != "":
			o[0], o[2] = o[2], o[0]
		default:
			o[0], o[1], o[2] = 255-o[0], 255-o[1], 255-o[2]
		}
	}
	return nil
}

func (l look) Samples(_ context.Context, dst []proof.Sample, src raster.Pixels) error {
	for i := range dst {
		dst[i] = proof.Sample{DeltaE00: float32(i%src.W) / float32(src.W) * 12, Reach: float32(i%src.W) / float32(src.W) * 12,
			Darker: i/src.W > src.H*3/4}
	}
	return nil
}

// Look implements session.Engine.
func (e *Engine) Look(ctx context.Context, set session.Setup, _ proof.Quality) (session.Look, error) {
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
	return look{set}, nil
}

// Waited tells whether a look of such a set-up has come to the gate.
func (e *Engine) Waited(such func(session.Setup) bool) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	return slices.ContainsFunc(e.waiting, such)
}

// Cancelled returns how many looks were cancelled.
func (e *Engine) Cancelled() int {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.cancelled
}

// Apart implements session.Engine.
func (e *Engine) Apart(context.Context, session.Setup, session.Setup) (func([]float32, raster.Pixels), error) {
	return func(dst []float32, _ raster.Pixels) {
		for i := range dst {
			dst[i] = 3
		}
	}, nil
}

// Figures implements session.Engine: the mean is the intent's number plus 1.
func (e *Engine) Figures(ctx context.Context, _ *session.Picture, set session.Setup, progress func(float64)) (session.Figures, error) {
	progress(0.5)
	return session.Figures{Known: true, Mean: float64(set.Intent) + 1, P95: 4, Max: 9, Outside: 0.07,
		Bands: [session.NumBands]float64{0.88, 0.03, 0.04, 0.02, 0.01}, Darker: 0.02}, ctx.Err()
}

// Values implements session.Engine.
func (e *Engine) Values(_ context.Context, pic *session.Picture, set session.Setup, pins []session.Pin) ([]session.PinValue, error) {
	out := make([]session.PinValue, len(pins))
	for i, p := range pins {
		px := pic.Levels[0].At(nil, int(p.X), int(p.Y))
		out[i] = session.PinValue{Known: true, Original: [3]float64{px[0] * 100, 0, 0}, DeltaE00: float64(set.Intent), Words: "turns"}
	}
	return out, nil
}

// Propose implements session.Engine.
func (e *Engine) Propose(context.Context, *session.Picture, []session.Pin) ([]session.Pin, error) {
	return []session.Pin{{Name: "red", X: 5, Y: 5, Radius: 2}}, nil
}

// Words implements session.Engine.
func (e *Engine) Words(set session.Setup, pins []session.Pin, _ []session.PinValue, _ int, fig session.Figures) (string, int) {
	if set.Original {
		return "", -1
	}
	if len(pins) > 0 {
		return "On " + set.Paper + " this " + pins[0].Name + " prints duller.", 0
	}
	return "On " + set.Paper + " little is out of reach.", -1
}
