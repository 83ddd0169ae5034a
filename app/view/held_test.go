//go:build linux

package view

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"golang.org/x/sys/unix"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
)

// watchdog notes how long the drawing goroutine is held at a time, in time of its own
// thread: what other programs do meanwhile does not count, the collector's share does.
type watchdog struct {
	what string
	held []hold
}

type hold struct {
	what string
	took time.Duration
}

func (h hold) ms() float64 { return h.took.Seconds() * 1000 }

func threadTime() time.Duration {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_THREAD_CPUTIME_ID, &t); err != nil {
		panic(err)
	}
	return time.Duration(t.Nano())
}

// watch runs f on the drawing goroutine.
func (w *watchdog) watch(what string, f func()) {
	from := threadTime()
	f()
	w.held = append(w.held, hold{what, threadTime() - from})
}

// mostHeld is the bound on one piece of work on the drawing goroutine: half of the time from
// one picture of the screen to the next.
const mostHeld = 8 * time.Millisecond

// BenchmarkMainThread uses the window with 24 megapixels: each ready-made desk, each
// command, each card, its keys and other sizes of the window under it. It tells how many
// milliseconds the drawing goroutine is held at a time by what the program does there, and
// lists the longest; the toolkit's painting comes on top.
//
//	go test -run xxx -bench MainThread -benchtime 3x ./app/view
func BenchmarkMainThread(b *testing.B) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	dog := &watchdog{}
	q := sessiontest.NewQueue()
	post := func(f func()) { q.Post(func() { dog.watch("after "+dog.what, f) }) }
	a, win := test.NewApp(), test.NewWindow(nil)
	defer a.Quit()
	s := session.New(engine.New(paper.Open(b.TempDir()), large), post, session.Start("pearl"))
	w := New(a, win, s)
	defer w.Close()
	win.Resize(wide)
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(sessiontest.Settled(s)) {
		b.Fatal("no picture")
	}
	win.Canvas().Capture() // the toolkit opens its fonts when it first paints
	for range b.N {
		use(w, func(what string, wait time.Duration, f func()) {
			dog.what = what
			dog.watch(what, f)
			if what == "light" {
				win.Canvas().Capture() // another theme has the toolkit open its fonts again
			}
			pump(q, wait)
		})
	}
	slices.SortFunc(dog.held, func(x, y hold) int { return cmp.Compare(y.took, x.took) })
	over := slices.IndexFunc(dog.held, func(h hold) bool { return h.took <= mostHeld })
	b.Logf("%d of %d pieces took more than %v; the longest:", over, len(dog.held), mostHeld)
	for _, h := range dog.held[:min(8, len(dog.held))] { // the testing package prints ten lines
		b.Logf("%6.2f ms: %s", h.ms(), h.what)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(dog.held[0].ms(), "ms-worst")
	b.ReportMetric(dog.held[len(dog.held)/100].ms(), "ms-p99")
	b.ReportMetric(float64(over)/float64(len(dog.held))*1e6, "ppm-over-8ms")
}

var wide, small = fyne.NewSize(1600, 1000), fyne.NewSize(1024, 700)

// use does everything once that can be done without a file, and waits each time until most
// of what follows from it has come.
func use(w *Window, do func(what string, wait time.Duration, f func())) {
	const long, short = 120 * time.Millisecond, 15 * time.Millisecond
	h := w.h
	for _, d := range session.Desks() {
		do("desk "+d.ID, long, func() { h.Do(session.TakeDesk{ID: d.ID, Papers: h.Session.Store().First()}) })
	}
	for range 2 {
		for _, c := range AllCommands(h) {
			do(c.ID, long, func() { h.Do(c.Act(h.State())) })
			if c.Release != nil {
				do(c.ID+", let go", long, func() { h.Do(c.Release(h.State())) })
			}
			for range 3 {
				do(c.ID+", Tab", short, w.win.Canvas().FocusNext)
			}
			for _, k := range []fyne.KeyName{fyne.KeyDown, fyne.KeyRight, fyne.KeyPageDown} {
				do(c.ID+", "+string(k), short, func() { w.keys.typed(&fyne.KeyEvent{Name: k}) })
			}
			do(c.ID+", small", short, func() { w.win.Resize(small) })
			do(c.ID+", wide", short, func() { w.win.Resize(wide) })
			do("close", long, func() {
				h.Do(session.OpenCard{})
				for o := w.win.Canvas().Overlays(); o.Top() != nil; {
					o.Remove(o.Top())
				}
			})
		}
	}
}

// large is the demo picture, set side by side to 24 megapixels.
func large(ctx context.Context) (*photo.Picture, []pin.Pin, error) {
	p, pins, err := engine.Regatta(ctx)
	if err != nil {
		return nil, nil, err
	}
	pix := make([]uint8, 0, 4*len(p.Pix8))
	for range 2 {
		for y := range p.H {
			row := p.Pix8[y*p.W*p.Channels : (y+1)*p.W*p.Channels]
			pix = append(append(pix, row...), row...)
		}
	}
	p.W, p.H, p.Pix8 = 2*p.W, 2*p.H, pix
	return p, pins, nil
}
