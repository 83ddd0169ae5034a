//go:build linux

package view

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"strings"
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

// BenchmarkMainThread uses the window with 24 megapixels: each ready-made desk, each
// command, each card. It tells how many milliseconds the drawing goroutine is held at a
// time by what the program does there; the toolkit's painting comes on top. ms-build is of
// opening a card and of another theme: all their words are measured then.
//
//	go test -v -run xxx -bench MainThread -benchtime 3x ./app/view    lists the longest
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
	win.Resize(fyne.NewSize(1600, 1000))
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(sessiontest.Settled(s)) {
		b.Fatal("no picture")
	}
	for range b.N {
		use(w, func(what string, f func()) {
			dog.what = what
			dog.watch(what, f)
			pump(q, 120*time.Millisecond)
		})
	}
	slices.SortFunc(dog.held, func(x, y hold) int { return cmp.Compare(y.took, x.took) })
	building := func(h hold) bool { return strings.HasPrefix(h.what, "card-") || h.what == "light" }
	for _, h := range dog.held[:min(60, len(dog.held))] {
		b.Logf("%6.2f ms: %s", h.ms(), h.what)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(dog.held[slices.IndexFunc(dog.held, building)].ms(), "ms-build")
	rest := slices.DeleteFunc(dog.held, building)
	b.ReportMetric(rest[0].ms(), "ms-worst")
	b.ReportMetric(rest[len(rest)/100].ms(), "ms-p99")
}

// use does everything once that can be done without a file.
func use(w *Window, do func(what string, f func())) {
	h := w.h
	for _, d := range session.Desks() {
		do("desk "+d.ID, func() { h.Do(session.TakeDesk{ID: d.ID, Papers: h.Session.Store().First()}) })
	}
	for range 2 {
		for _, c := range AllCommands(h) {
			do(c.ID, func() { h.Do(c.Act(h.State())) })
			if c.Release != nil {
				do(c.ID+", let go", func() { h.Do(c.Release(h.State())) })
			}
			do("close", func() {
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
