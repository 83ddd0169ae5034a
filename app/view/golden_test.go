package view

import (
	"flag"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/theme"
	"firstsheet/proof/setup"
)

var update = flag.Bool("update", false, "write the masters of the window's parts anew; look at each before it is committed")

// What a master may be missed by. The test driver paints in software with fonts of its
// own, so one machine gives the same bytes twice; another kind of processor fuses
// multiplications and additions, which moves the edges of letters by a level or two. A
// part that is moved by a pixel or drawn in another grey is far outside both.
const (
	goldenLevels = 3    // of 255, in one channel of one pixel
	goldenShare  = 1e-3 // of the pixels may differ by more
)

// golden compares a picture with its master in testdata/golden. What fails is kept in
// testdata/failed, with the difference amplified.
func golden(t *testing.T, name string, got image.Image) {
	t.Helper()
	master := filepath.Join("..", "..", "testdata", "golden", name+".png")
	if *update {
		writePNG(t, master, got)
		return
	}
	f, err := os.Open(master)
	if err != nil {
		t.Fatalf("%v (go test ./app/view -run Golden -update writes it)", err)
	}
	defer f.Close()
	want, err := png.Decode(f)
	if err != nil {
		t.Fatalf("%s: %v", master, err)
	}
	failed := filepath.Join("..", "..", "testdata", "failed", name)
	if got.Bounds().Size() != want.Bounds().Size() {
		writePNG(t, failed+".got.png", got)
		t.Errorf("%s has %v pixels, its master %v", name, got.Bounds().Size(), want.Bounds().Size())
		return
	}
	diff, off, worst, at := compareImages(got, want)
	if size := want.Bounds().Size(); float64(off) > goldenShare*float64(size.X*size.Y) {
		for kind, img := range map[string]image.Image{"got": got, "want": want, "diff": diff} {
			writePNG(t, failed+"."+kind+".png", img)
		}
		t.Errorf("%s: %d pixels differ by more than %d levels, the worst by %d at %v; see testdata/failed", name, off, goldenLevels, worst, at)
	}
}

// compareImages counts the pixels that are off and shows where.
func compareImages(got, want image.Image) (diff *image.Gray, off, worst int, at image.Point) {
	g, w := got.Bounds().Min, want.Bounds().Min
	size := want.Bounds().Size()
	diff = image.NewGray(image.Rectangle{Max: size})
	for y := range size.Y {
		for x := range size.X {
			a := color.RGBAModel.Convert(got.At(g.X+x, g.Y+y)).(color.RGBA)
			b := color.RGBAModel.Convert(want.At(w.X+x, w.Y+y)).(color.RGBA)
			d := max(apart(a.R, b.R), apart(a.G, b.G), apart(a.B, b.B))
			if d > goldenLevels {
				off++
			}
			if d > worst {
				worst, at = d, image.Pt(x, y)
			}
			diff.SetGray(x, y, color.Gray{Y: uint8(min(8*d, 255))})
		}
	}
	return diff, off, worst, at
}

func apart(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

func writePNG(t *testing.T, path string, img image.Image) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

// part cuts an object out of a picture of the window.
func part(w *Window, o fyne.CanvasObject) image.Image {
	shot := w.win.Canvas().Capture()
	inset, _ := w.win.Canvas().InteractiveArea()
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Add(inset)
	size := o.Size()
	cut := image.NewRGBA(image.Rect(0, 0, int(size.Width), int(size.Height)))
	draw.Draw(cut, cut.Rect, shot, image.Pt(int(at.X), int(at.Y)), draw.Src)
	return cut
}

// nextFrame waits for sheets drawn after frame before: until none has come for a while,
// for one may have been on its way already.
func nextFrame(t *testing.T, w *Window, q *sessiontest.Queue, before uint64) {
	t.Helper()
	if !q.Until(func() bool { return w.h.State().Frame > before }) {
		t.Fatal("no new frame")
	}
	for last := before; last != w.h.State().Frame; {
		last = w.h.State().Frame
		time.Sleep(300 * time.Millisecond)
		settle(t, w, q)
	}
}

// The parts of the window look as they did when somebody last looked at them.
func TestGolden(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	golden(t, "legend", part(w, w.parts.desk.legends[1]))

	w.h.Do(session.SetWrong{On: true})
	settle(t, w, q)
	golden(t, "route-broken", part(w, w.parts.route))
	w.h.Do(session.SetWrong{})

	// The look of the engine that computes nothing is out of reach by more from left to
	// right, and darker than the paper at the foot.
	look := w.h.State().Looking
	look.Overlays, look.Threshold = look.Overlays.With(session.Bands, true), 1
	settle(t, w, q)
	before := w.h.State().Frame
	w.h.Do(session.SetLooking{Looking: look})
	nextFrame(t, w, q, before)
	golden(t, "bands", w.h.Session.Store().Buffer(1))
	before = w.h.State().Frame
	w.h.Do(session.SetShow{Show: session.ShowDifference, Against: -1})
	nextFrame(t, w, q, before)
	golden(t, "difference", w.h.Session.Store().Buffer(1))
	golden(t, "legend-bands", part(w, w.parts.desk.legends[1]))
	w.h.Do(session.SetShow{Show: session.ShowPicture, Against: -1})

	w.h.Do(session.Unfold{Folds: session.Folds{Pins: true}})
	settle(t, w, q)
	golden(t, "pin-row", part(w, w.parts.bench.pins.list[0]))
	w.h.Do(session.Unfold{})

	w.h.Do(session.OpenCard{ID: "help"})
	golden(t, "card-help", part(w, w.card.box))
}

// Light and dark surroundings differ and keep the desk's grey.
func TestGoldenLight(t *testing.T) {
	w, q := open(t, fyne.NewSize(1024, 700))
	w.h.Do(session.SetLight{On: true})
	settle(t, w, q)
	golden(t, "bench-light", part(w, w.parts.bench))
	if c := w.parts.desk.ground.FillColor; c != theme.Desk {
		t.Errorf("the desk is %v", c)
	}
}

// A master that is off by more than rounding is seen: one level more is not, a moved
// edge and another grey are.
func TestGoldenSees(t *testing.T) {
	want := image.NewRGBA(image.Rect(0, 0, 40, 40))
	draw.Draw(want, want.Rect, image.NewUniform(color.Gray{Y: 119}), image.Point{}, draw.Src)
	draw.Draw(want, image.Rect(10, 10, 30, 30), image.NewUniform(color.White), image.Point{}, draw.Src)
	copyOf := func(shift int, grey uint8) *image.RGBA {
		c := image.NewRGBA(want.Rect)
		draw.Draw(c, c.Rect, image.NewUniform(color.Gray{Y: grey}), image.Point{}, draw.Src)
		draw.Draw(c, image.Rect(10+shift, 10, 30+shift, 30), image.NewUniform(color.White), image.Point{}, draw.Src)
		return c
	}
	for _, c := range []struct {
		got  *image.RGBA
		sees bool
	}{{copyOf(0, 119), false}, {copyOf(0, 121), false}, {copyOf(1, 119), true}, {copyOf(0, 124), true}} {
		if _, off, worst, _ := compareImages(c.got, want); (float64(off) > goldenShare*1600) != c.sees {
			t.Errorf("%d pixels are off, the worst by %d: seen %t, want %t", off, worst, !c.sees, c.sees)
		}
	}
}

// The card of the cause finder, before anything is told and with an answer.
func TestGoldenCauses(t *testing.T) {
	i := investigate(t)
	eye := i.card.print.panels[byEye].(*causeEye)
	painted := func() bool { return !eye.seen.lane.busy() && len(eye.seen.seen) == 2*len(eye.rows) }
	i.until("the fields are painted", painted)
	golden(t, "card-causes-empty", part(i.w, i.card.content))
	for n, colour := range i.look(i.wrong(setup.Setup{Slips: "twice"}))[:6] {
		i.card.print.at = n
		i.match(colour)
	}
	i.card.told.prior["never"] = 1
	i.card.changed()
	i.answered()
	i.until("the fields are painted", painted)
	i.w.h.Focus()
	golden(t, "card-causes", part(i.w, i.card.content))
}
