package widget

import (
	"fmt"
	"image"
	"image/color"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/theme"
)

// shown puts a widget into a window of a size, under the program's theme.
func shown(t *testing.T, o fyne.CanvasObject, size fyne.Size) fyne.Window {
	t.Helper()
	a := test.NewTempApp(t)
	a.Settings().SetTheme(theme.Neutral{})
	w := test.NewTempWindow(t, o)
	w.SetPadded(false)
	w.Resize(size)
	o.Resize(size)
	return w
}

func press(o fyne.Focusable, keys ...fyne.KeyName) {
	for _, k := range keys {
		o.TypedKey(&fyne.KeyEvent{Name: k})
	}
}

func TestChoice(t *testing.T) {
	var got []int
	c := NewChoice([]string{"perceptual", "relative", "saturation", "absolute"}, 1, nil)
	c.OnChosen = func(i int) { got = append(got, i); c.Set(i) }
	shown(t, c, fyne.NewSize(400, 32))
	c.Tapped(&fyne.PointEvent{Position: fyne.NewPos(350, 10)})
	c.Tapped(&fyne.PointEvent{Position: fyne.NewPos(350, 10)}) // chosen already
	press(c, fyne.KeyLeft, fyne.KeyRight, fyne.KeyRight, fyne.KeySpace)
	if fmt.Sprint(got) != "[3 2 3 0]" {
		t.Errorf("chosen: %v, want [3 2 3 0]", got)
	}
	got = nil
	c.Without = map[int]bool{1: true}
	press(c, fyne.KeyRight)
	c.SetOff(true)
	c.Tapped(&fyne.PointEvent{Position: fyne.NewPos(350, 10)})
	if got != nil {
		t.Errorf("what can't be chosen was: %v", got)
	}
}

func TestKeysWithoutMeaningGoToTheDesk(t *testing.T) {
	tg := NewToggle("Reach bands", false, func(bool) {})
	w := shown(t, tg, fyne.NewSize(200, 30))
	var heard []fyne.KeyName
	w.Canvas().SetOnTypedKey(func(e *fyne.KeyEvent) { heard = append(heard, e.Name) })
	press(tg, fyne.KeySpace, fyne.KeyG)
	if len(heard) != 1 || heard[0] != fyne.KeyG {
		t.Errorf("the desk heard %v, want G alone", heard)
	}
}

func TestHints(t *testing.T) {
	var last string
	p := NewPress("add…", func() {})
	p.Explain("Add a paper.", func(s string) { last = s })
	shown(t, p, fyne.NewSize(80, 30))
	p.MouseIn(&desktop.MouseEvent{})
	if last != "Add a paper." {
		t.Errorf("under the mouse the hint is %q", last)
	}
	p.MouseOut()
	if last != "" {
		t.Errorf("the hint %q stays", last)
	}
}

func TestWrapAndShorten(t *testing.T) {
	test.NewTempApp(t)
	st := fyne.TextStyle{}
	text := "numbers of Pearl are taken for sRGB and converted once more"
	for _, w := range []float32{60, 120, 200, 1000} {
		lines := Wrap(text, w, 15, st, 3)
		if len(lines) > 3 {
			t.Errorf("%g: %d lines", w, len(lines))
		}
		for _, l := range lines {
			if fyne.MeasureText(l, 15, st).Width > w {
				t.Errorf("%g: %q is wider", w, l)
			}
		}
	}
	if got := strings.Join(Wrap(text, 200, 15, st, 9), " "); got != text {
		t.Errorf("wrapped without a limit it reads %q", got)
	}
	if got := Shorten("pearl", 500, 15, st); got != "pearl" {
		t.Errorf("what fits became %q", got)
	}
	if got := Wrap("", 100, 15, st, 2); got != nil {
		t.Errorf("nothing became %q", got)
	}
}

func TestRouteFitsItsRoom(t *testing.T) {
	r := NewRoute(nil)
	w := shown(t, r, fyne.NewSize(900, 120))
	_ = w
	stops := []Stop{{Plain: "photo", Trade: "ROMM RGB, embedded"}, {Plain: "Firstsheet converts", Trade: "relative colorimetric, compensation on"},
		{Plain: "the driver converts again", Trade: "perceptual, compensation off", Link: Doubled, Note: "one too many: Pearl's numbers taken for sRGB"},
		{Plain: "Pearl's numbers", Trade: "sent to the printer"}, {Plain: "ink on Pearl", Trade: "white 95, 1, -4"},
		{Plain: "this screen", Trade: "sRGB assumed: wrong on a wide-gamut screen", Ask: true}}
	r.Set(stops)
	for _, width := range []float32{640, 970, 1268, 3000} {
		for _, bare := range []bool{false, true} {
			r.Bare = bare
			r.Resize(fyne.NewSize(width, 120))
			r.Refresh()
			for _, o := range test.WidgetRenderer(r).Objects() {
				x := o.Position().X
				if text, ok := o.(*canvas.Text); ok {
					x += text.MinSize().Width
				} else {
					x += o.Size().Width
				}
				if x > width+1 {
					t.Errorf("width %g, bare %v: %T ends at %g", width, bare, o, x)
				}
			}
		}
	}
	asked := -1
	r.OnAsk = func(i int) { asked = i }
	r.Tapped(&fyne.PointEvent{Position: fyne.NewPos(5, 10)})
	if asked != -1 {
		t.Error("a station without a question asks one")
	}
	r.Tapped(&fyne.PointEvent{Position: fyne.NewPos(r.edges[5]+4, 10)})
	if asked != 5 {
		t.Errorf("a click on the screen's station asks of %d", asked)
	}
}

// A wrong link is told from a sound one, and from each other, by its form.
func TestLinksDifferInForm(t *testing.T) {
	test.NewTempApp(t)
	seen := map[string]Break{}
	for _, b := range []Break{Sound, Doubled, Gap, Crooked} {
		var form strings.Builder
		for _, o := range Link(b, 0, 20, 60, 1, color.White) {
			l := o.(*canvas.Line)
			fmt.Fprint(&form, l.Position1, l.Position2)
			if l.StrokeColor != color.White {
				t.Errorf("shape %d speaks by colour", b)
			}
		}
		if other, ok := seen[form.String()]; ok {
			t.Errorf("shapes %d and %d look alike", b, other)
		}
		seen[form.String()] = b
	}
}

func TestPaneHandsOutTheBufferItself(t *testing.T) {
	b := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for i := range b.Pix {
		b.Pix[i] = uint8(i)
	}
	var now *image.RGBA
	p := NewPane(func() *image.RGBA { return now })
	shown(t, p, fyne.NewSize(40, 30))
	if got := p.generate(40, 30).(*image.RGBA); got.Pix[0] != theme.Desk.R || got.Pix[3] != 255 {
		t.Errorf("without a buffer the pane shows %v", got.Pix[:4])
	}
	now = b
	if p.generate(40, 30) != image.Image(b) {
		t.Error("the buffer was copied")
	}
	// Of another size: a tight picture of the size asked for, the buffer in it.
	got := p.generate(60, 50).(*image.RGBA)
	if got.Rect != image.Rect(0, 0, 60, 50) || got.Stride != 240 || got.RGBAAt(10, 10) != b.RGBAAt(0, 0) || got.RGBAAt(0, 0).R != theme.Desk.R {
		t.Errorf("while the window is resized: %v, stride %d", got.Rect, got.Stride)
	}
}

func TestLabelsOfPinsDoNotLieOnEachOther(t *testing.T) {
	p := NewPane(func() *image.RGBA { return nil })
	p.Marks = []Mark{{X: 200, Y: 100, Name: "cheek light", Named: true}, {X: 230, Y: 104, Name: "cheek dark", Named: true}, {X: 390, Y: 100, Name: "at the edge", Named: true}}
	shown(t, p, fyne.NewSize(400, 200))
	p.Refresh()
	var labels []*canvas.Rectangle
	for _, o := range test.WidgetRenderer(p).Objects() {
		if r, ok := o.(*canvas.Rectangle); ok {
			labels = append(labels, r)
		}
	}
	if len(labels) != 3 {
		t.Fatalf("%d labels, want 3", len(labels))
	}
	for i, a := range labels {
		if a.Position().X+a.Size().Width > 400 {
			t.Errorf("label %d leaves the pane", i)
		}
		for _, b := range labels[:i] {
			if a.Position().X < b.Position().X+b.Size().Width && b.Position().X < a.Position().X+a.Size().Width &&
				a.Position().Y < b.Position().Y+b.Size().Height && b.Position().Y < a.Position().Y+a.Size().Height {
				t.Errorf("label %d lies on another", i)
			}
		}
	}
}

// A pin's sentence is read to its end, on four sheets too.
func TestAPinsSentenceIsNotCutOff(t *testing.T) {
	p := NewPinRow(nil)
	shown(t, p, fyne.NewSize(1120, PinRowHeight))
	long := "turns 14 degrees from yellow-green past green to blue-green, clearly duller, a little darker"
	cell := PinCell{Figures: "L* 32.9  a* -37.6  b* 21.8   ΔE00 18.5   darker than this paper", Words: long}
	p.Set("shirt", "radius 24 px", []PinCell{cell, cell, cell, cell}, false)
	h := p.HeightFor(1120)
	if h <= PinRowHeight {
		t.Errorf("a row of long sentences is %g high", h)
	}
	p.Resize(fyne.NewSize(1120, h))
	p.Refresh()
	for _, o := range test.WidgetRenderer(p).Objects() {
		if text, ok := o.(*canvas.Text); ok && (strings.HasSuffix(text.Text, "…") || text.Position().Y+text.MinSize().Height > h) {
			t.Errorf("%q at %g of %g", text.Text, text.Position().Y, h)
		}
	}
	p.Set("shirt", "radius 24 px", []PinCell{{Figures: "L* 32.9", Words: "brown"}}, false)
	if got := p.HeightFor(1120); got != PinRowHeight {
		t.Errorf("a row of short words is %g high, want %d", got, PinRowHeight)
	}
}

func TestBandKeyShowsSharesOfWhatIsDrawn(t *testing.T) {
	b := NewBandKey()
	shown(t, b, fyne.NewSize(180, 134))
	b.Set(4, []string{"3 %", "2 %", "1.5 %", "0.2 %", "7 %"})
	ink := map[string]color.Color{}
	for _, o := range test.WidgetRenderer(b).Objects() {
		if text, ok := o.(*canvas.Text); ok {
			ink[text.Text] = text.Color
		}
	}
	for _, s := range []string{"3 %", "1.5 %", "7 %", "darker", "8 and more"} {
		if ink[s] == nil {
			t.Errorf("%q is missing", s)
		}
	}
	if ink["1 to 2"] == ink["4 to 8"] {
		t.Error("a band below the limit looks as if it were drawn")
	}
}

// A line never begins with a percent sign.
func TestAPercentSignStaysWithItsNumber(t *testing.T) {
	test.NewTempApp(t)
	for w := float32(60); w < 200; w += 5 {
		for _, l := range Wrap("most likely converted twice (87 %) and again (2 %)", w, 14, fyne.TextStyle{}, 9) {
			if strings.HasPrefix(l, "%") {
				t.Fatalf("at a width of %g a line is %q", w, l)
			}
		}
	}
}

// The mark turns by a click and by the keyboard, and says which page it is.
func TestPageMark(t *testing.T) {
	turned := 0
	m := NewPageMark("numbers", func() { turned++ })
	shown(t, m, fyne.NewSize(200, 36))
	m.Set(true, "2 / 5")
	m.Tapped(&fyne.PointEvent{})
	press(m, fyne.KeySpace, fyne.KeyReturn)
	if turned != 3 {
		t.Errorf("turned %d times, want 3", turned)
	}
	var said []string
	filled := false
	for _, o := range test.WidgetRenderer(m).Objects() {
		switch o := o.(type) {
		case *canvas.Text:
			said = append(said, o.Text)
			if o.Position().X < 0 || o.Position().X+o.Size().Width > 200 {
				t.Errorf("%q lies outside", o.Text)
			}
		case *canvas.Circle:
			filled = o.FillColor != color.Transparent
		}
	}
	if strings.Join(said, ", ") != "2 / 5, numbers" || !filled {
		t.Errorf("it says %q, filled %t", said, filled)
	}
}
