//go:build soak

package view

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/assets"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

// soak is a window that is used at random.
type soak struct {
	t     *testing.T
	w     *Window
	q     *sessiontest.Queue
	r     *rand.Rand
	files []fyne.URI
	done  int // actions
	last  []string
}

// soakFor is how long a window is used at random: SOAK=20m, without it a few actions on a
// small picture.
func soakFor(t *testing.T) (long time.Duration, actions int) {
	s := os.Getenv("SOAK")
	if s == "" {
		return time.Hour, 60
	}
	d, err := time.ParseDuration(s)
	if err != nil {
		t.Fatalf("SOAK=%q: %v", s, err)
	}
	return d, 1 << 30
}

// Used at random, by all its commands, cards, keys, clicks, sizes and dropped files, the
// window neither stops nor grows: every time it comes to rest it shows what its State
// says, and in the end nothing is left running or open.
//
//	FYNE_CACHE=5s SOAK=20m go test -tags soak -race -run Soak -v -timeout 2h ./app/view     SEED=n for the same again
//
// It is run by hand: what it does is another thing each time. Without FYNE_CACHE the toolkit
// keeps closed cards and their pictures for a minute, which looks like growth.
func TestSoak(t *testing.T) {
	for len(ours()) > 0 { // of tests before
		time.Sleep(20 * time.Millisecond)
	}
	t.Setenv("HOME", t.TempDir()) // what a card writes by default goes there
	live := lcms.Live()
	long, most := soakFor(t)
	s := newSoak(t, most == 1<<30)
	const restAfter = 30 // actions
	var growth []usage
	for end := time.Now().Add(long); time.Now().Before(end) && s.done < most; {
		s.act()
		if s.done%restAfter == 0 {
			growth = append(growth, s.rest())
		}
	}
	flat(t, growth)
	s.w.Close()
	pump(s.q, 50*time.Millisecond)
	ended(t, live)
	t.Logf("%d actions, %d rests; at the last %+v", s.done, len(growth), growth[len(growth)-1])
}

func newSoak(t *testing.T, whole bool) *soak {
	seed := uint64(time.Now().UnixNano())
	if s := os.Getenv("SEED"); s != "" {
		seed, _ = strconv.ParseUint(s, 10, 64)
	}
	t.Logf("SEED=%d", seed)
	demo := engine.Demo(engine.Regatta)
	if !whole {
		demo = func(context.Context) (*photo.Picture, []pin.Pin, error) {
			px := sessiontest.Ramp(120, 80)
			romm, _ := space.ByID("romm")
			return &photo.Picture{W: px.W, H: px.H, Channels: 3, Depth: 8, Pix8: px.P8, Space: &romm}, nil, nil
		}
	}
	dir := t.TempDir()
	q := sessiontest.NewQueue()
	a, win := test.NewTempApp(t), test.NewTempWindow(t, nil)
	ses := session.New(engine.New(paper.Open(filepath.Join(dir, "papers")), demo), q.Post, session.Start("pearl"))
	s := &soak{t: t, q: q, r: rand.New(rand.NewPCG(seed, 1)), w: New(a, win, ses)}
	win.Resize(fyne.NewSize(1280, 800))
	for name, data := range map[string][]byte{
		"boat.jpg": assets.RegattaJPEG(), "deep.png": assets.RegattaDeep(), "paper.icc": assets.Papers()[1].ICC, "broken.jpg": assets.RegattaJPEG()[:70_000],
	} {
		if !whole && name != "paper.icc" {
			data = data[:min(len(data), 9000)] // a picture that breaks off at once
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s.files = append(s.files, storage.NewFileURI(path))
	}
	ses.Do(session.OpenPicture{Demo: true})
	s.until("the first picture", func() bool { return ses.State().Picture.Key != 0 })
	return s
}

func (s *soak) until(what string, done func() bool) {
	s.t.Helper()
	if !s.q.Until(done) {
		s.t.Fatalf("it does not come to this: %s\nafter %s\nstate %+v", what, strings.Join(s.last, ", "), s.w.h.State())
	}
}

// act does one thing at random and lets the window go on for up to a twentieth of a second.
func (s *soak) act() {
	did := s.pick()
	s.done++
	if s.last = append(s.last, did); len(s.last) > 40 {
		s.last = s.last[1:]
	}
	pump(s.q, time.Duration(s.r.IntN(50))*time.Millisecond)
	if s.done%10 == 0 {
		s.w.win.Canvas().Capture() // drawn to the last sign
	}
	// A dialog or menu takes a click, and then goes.
	for o := s.w.win.Canvas().Overlays(); o.Top() != nil; {
		test.TapCanvas(s.w.win.Canvas(), s.place())
		if top := o.Top(); top != nil {
			top.Hide()
			o.Remove(top)
		}
	}
}

func (s *soak) place() fyne.Position {
	size := s.w.win.Canvas().Size()
	return fyne.NewPos(s.r.Float32()*size.Width, s.r.Float32()*size.Height)
}

var soakKeys = []fyne.KeyName{fyne.KeyUp, fyne.KeyDown, fyne.KeyLeft, fyne.KeyRight, fyne.KeyPageDown, fyne.KeyHome,
	fyne.KeyReturn, fyne.KeySpace, fyne.KeyEscape, fyne.KeyA, fyne.KeyB, fyne.KeyN, fyne.KeyBackspace, fyne.Key1, fyne.Key3}

var soakSizes = []fyne.Size{{Width: 1024, Height: 700}, {Width: 1280, Height: 800}, {Width: 1600, Height: 1000}, {Width: 700, Height: 500}}

func (s *soak) pick() string {
	canvas := s.w.win.Canvas()
	switch n := s.r.IntN(100); {
	case n < 45:
		list := AllCommands(s.w.h)
		c := list[s.r.IntN(len(list))]
		s.w.h.Do(c.Act(s.w.h.State()))
		if c.Release != nil && s.r.IntN(4) > 0 {
			pump(s.q, time.Duration(s.r.IntN(30))*time.Millisecond)
			s.w.h.Do(c.Release(s.w.h.State()))
		}
		return c.ID
	case n < 60:
		at := s.place()
		test.TapCanvas(canvas, at)
		return "tap"
	case n < 68:
		test.Scroll(canvas, s.place(), 0, s.r.Float32()*80-40)
		return "wheel"
	case n < 76:
		test.Drag(canvas, s.place(), s.r.Float32()*200-100, s.r.Float32()*200-100)
		return "drag"
	case n < 88:
		e := &fyne.KeyEvent{Name: soakKeys[s.r.IntN(len(soakKeys))]}
		if f := canvas.Focused(); f != nil {
			f.TypedKey(e)
		} else {
			key(s.w, e.Name)
			release(s.w, e.Name)
		}
		return "key " + string(e.Name)
	case n < 94:
		canvas.FocusNext()
		return "tab"
	case n < 97:
		s.w.win.Resize(soakSizes[s.r.IntN(len(soakSizes))])
		return "size"
	default:
		f := s.files[s.r.IntN(len(s.files))]
		s.w.card.dropped([]fyne.URI{f})
		return "drop " + f.Name()
	}
}

// usage is what the program takes at rest.
type usage struct {
	Goroutines, Handles int
	Heap, Resident      int // MB
}

// rest closes what is open, waits until nothing is missing, and holds the desk to what a
// fresh drawing of the same State gives.
func (s *soak) rest() usage {
	h := s.w.h
	h.Do(session.OpenCard{})
	h.Do(session.Hold{What: session.HeldNone})
	h.Do(session.HoldBands{On: false})
	s.until("no picture is being read", func() bool { l := h.State().Loading; return l.Path == "" && !l.Demo })
	// A layout may still be waiting in the queue, and what it asks for is drawn after it.
	for waiting := true; waiting; {
		s.until("rest", h.Session.AtRest)
		for waiting = false; s.q.Step(); {
			waiting = true
		}
	}
	s.drawnAnew()
	h.Session.Do(session.DismissNotice{})
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return usage{Goroutines: len(ours()), Handles: lcms.Live(), Heap: int(m.HeapAlloc >> 20), Resident: resident(s.t)}
}

// drawnAnew looks elsewhere and back: sheets that had kept an old picture show another one
// then.
func (s *soak) drawnAnew() {
	st := s.w.h.State()
	rest := s.w.h.Session.AtRest
	before := s.sheets(st.Count)
	s.w.h.Do(session.SetLooking{Looking: other(st.Looking)})
	s.until("another look", rest)
	s.w.h.Do(session.SetLooking{Looking: st.Looking})
	s.until("the look of before", rest)
	for i, now := range s.sheets(st.Count) {
		if !bytes.Equal(now, before[i]) {
			s.t.Errorf("sheet %d of %d was not what its State says: %s; after %s", i+1, st.Count, differing(before[i], now), strings.Join(s.last, ", "))
		}
	}
}

// differing tells how two pictures differ.
func differing(a, b []byte) string {
	if len(a) != len(b) {
		return fmt.Sprintf("%d bytes, drawn anew %d", len(a), len(b))
	}
	n, most := 0, 0
	for i := range a {
		if d := int(a[i]) - int(b[i]); d != 0 {
			n++
			most = max(most, d, -d)
		}
	}
	return fmt.Sprintf("%d of %d bytes differ, by %d at most", n, len(a), most)
}

// other is a look that makes every sheet be drawn anew.
func other(l session.Looking) session.Looking {
	l.TooBright = !l.TooBright
	return l
}

func (s *soak) sheets(n int) (out [][]byte) {
	for i := range n {
		var pix []byte
		if b := s.w.h.Session.Store().Buffer(i); b != nil {
			pix = bytes.Clone(b.Pix)
		}
		out = append(out, pix)
	}
	return out
}

// resident is the memory of the whole process, C's too.
func resident(t *testing.T) int {
	data, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		t.Fatal(err)
	}
	pages, err := strconv.Atoi(strings.Fields(string(data))[1])
	if err != nil {
		t.Fatal(err)
	}
	return pages * os.Getpagesize() >> 20
}

// flat holds the last quarter of the rests to the second one: caches are full by then.
func flat(t *testing.T, all []usage) {
	t.Helper()
	if len(all) < 8 {
		return // a few actions tell nothing of growth
	}
	n := len(all) / 4
	mean := func(part []usage, of func(usage) int) float64 {
		sum := 0
		for _, u := range part {
			sum += of(u)
		}
		return float64(sum) / float64(len(part))
	}
	for name, k := range map[string]struct {
		of   func(usage) int
		more float64 // is no growth
	}{
		"goroutines": {func(u usage) int { return u.Goroutines }, 3},
		"handles":    {func(u usage) int { return u.Handles }, 40},
		"heap MB":    {func(u usage) int { return u.Heap }, 60},
		"resident":   {func(u usage) int { return u.Resident }, 250},
	} {
		early, late := mean(all[n:2*n], k.of), mean(all[len(all)-n:], k.of)
		t.Logf("%s: %.0f in the second quarter, %.0f in the last", name, early, late)
		if late > early+k.more && !(name == "resident" && raced()) {
			t.Errorf("%s grow from %.0f to %.0f", name, early, late)
		}
	}
}

// raced tells whether the race detector is at work, which keeps several bytes for each
// that was ever touched: what is resident tells of it then.
func raced() bool {
	info, ok := debug.ReadBuildInfo()
	return ok && slices.ContainsFunc(info.Settings, func(s debug.BuildSetting) bool { return s.Key == "-race" && s.Value == "true" })
}
