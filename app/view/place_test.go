package view

import (
	"image"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/session"
)

// The sheets keep their place whatever the switch and the sentence say.
func TestTheSwitchMovesNoSheet(t *testing.T) {
	for _, size := range []fyne.Size{{Width: 1024, Height: 674}, {Width: 1600, Height: 1000}} {
		w, q := open(t, size)
		before := w.h.State().Cell
		w.h.Do(session.SetWrong{On: true})
		settle(t, w, q)
		if got := w.h.State().Cell; got != before {
			t.Errorf("%v: the cell went from %+v to %+v", size, before, got)
		}
	}
}

// The table of pins gives rows to the sheets of a low window, more while a notice stands
// above them, and takes them back.
func TestThePinsLeaveRoomForTheSheets(t *testing.T) {
	w, q := open(t, fyne.NewSize(1067, 667))
	pins := w.parts.bench.pins
	w.h.Do(session.Unfold{Folds: session.Folds{Pins: true}})
	settle(t, w, q)
	if high := w.parts.desk.Size().Height; high < leastDesk || pins.sight < pinRowsLeast {
		t.Errorf("beside %d rows the sheets have %.0f", pins.sight, high)
	}
	w.h.Do(session.Tell{Notice: session.Notice{Headline: strings.Repeat("This is told at length. ", 20)}})
	settle(t, w, q)
	if pins.sight != pinRowsLeast {
		t.Errorf("beneath a notice %d rows are left", pins.sight)
	}
	w.win.Resize(fyne.NewSize(1600, 1100))
	settle(t, w, q)
	if pins.sight != pinRows {
		t.Errorf("in a high window are %d rows", pins.sight)
	}
}

// Nothing is cut off: every visible text lies within the window and, where it is
// in the bench, above the window's lower edge.
func TestNothingIsCutOff(t *testing.T) {
	for _, size := range []fyne.Size{{Width: 1024, Height: 674}, {Width: 1280, Height: 774}, {Width: 1920, Height: 1054}, {Width: 3840, Height: 2134}} {
		w, q := open(t, size)
		for _, do := range []session.Action{session.Fit{}, session.SetWrong{On: true}, session.Unfold{Folds: session.Folds{Looking: true}},
			session.Unfold{Folds: session.Folds{Looking: true, Pins: true}}, session.TakeDesk{ID: "four", Papers: w.h.Session.Store().First()}, session.SetLight{On: true}} {
			w.h.Do(do)
			settle(t, w, q)
			c := w.win.Canvas().Size()
			eachText(w.win.Content(), fyne.NewPos(0, 0), c, func(text *canvas.Text, at fyne.Position, clip bool) {
				m := text.MinSize()
				x := at.X
				switch text.Alignment {
				case fyne.TextAlignCenter:
					x += (text.Size().Width - m.Width) / 2
				case fyne.TextAlignTrailing:
					x += text.Size().Width - m.Width
				}
				if x < -0.5 || x+m.Width > c.Width+0.5 || !clip && (at.Y < -0.5 || at.Y+m.Height > c.Height+0.5) {
					t.Errorf("%v after %T: %q at %.0f, %.0f with width %.0f lies outside", size, do, text.Text, x, at.Y, m.Width)
				}
			})
		}
	}
}

// eachText visits all visible text; clip is true within a scroll.
func eachText(o fyne.CanvasObject, at fyne.Position, size fyne.Size, f func(*canvas.Text, fyne.Position, bool)) {
	eachTextIn(o, at, false, f)
}

func eachTextIn(o fyne.CanvasObject, at fyne.Position, clip bool, f func(*canvas.Text, fyne.Position, bool)) {
	if !o.Visible() {
		return
	}
	at = at.Add(o.Position())
	switch o := o.(type) {
	case *canvas.Text:
		if o.Text != "" {
			f(o, at, clip)
		}
	case *fyne.Container:
		for _, c := range o.Objects {
			eachTextIn(c, at, clip, f)
		}
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(o).Objects() {
			_, scroll := o.(interface{ ScrollToTop() })
			eachTextIn(c, at, clip || scroll, f)
		}
	}
}

func TestCellsLieOnWholePixels(t *testing.T) {
	w, q := open(t, fyne.NewSize(1283, 777))
	for _, id := range []string{"pair", "four"} {
		w.h.Do(session.TakeDesk{ID: id, Papers: w.h.Session.Store().First()})
		settle(t, w, q)
		for n := 0; n < w.h.State().Count; n++ {
			at := fyne.CurrentApp().Driver().AbsolutePositionForObject(w.parts.desk.panes[n])
			size := w.parts.desk.panes[n].Size()
			for _, v := range []float32{at.X, at.Y, size.Width, size.Height} {
				if v != float32(int(v)) {
					t.Errorf("%s: sheet %d lies at %v with %v", id, n+1, at, size)
					break
				}
			}
		}
	}
}

// The painter's own output carries the buffer's bytes.
func TestThePaintedWindowHoldsTheBuffers(t *testing.T) {
	w, _ := open(t, fyne.NewSize(1280, 800))
	for w.h.State().NumPins > 0 { // marks lie over the sheets
		w.h.Do(session.DeletePin{})
	}
	shot := w.win.Canvas().Capture()
	for n := range 2 {
		b := w.h.Session.Store().Buffer(n)
		// The test driver's positions leave out the area that a phone would cover.
		inset, _ := w.win.Canvas().InteractiveArea()
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(w.parts.desk.panes[n]).Add(inset)
		s := w.h.State()
		sheet := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Sheet // beneath it lies its legend
		for y := sheet.Min.Y; y < sheet.Max.Y; y += 3 {
			for x := sheet.Min.X; x < sheet.Max.X; x += 3 {
				r, g, bl, _ := shot.At(int(at.X)+x, int(at.Y)+y).RGBA()
				i := b.PixOffset(x, y)
				if uint8(r>>8) != b.Pix[i] || uint8(g>>8) != b.Pix[i+1] || uint8(bl>>8) != b.Pix[i+2] {
					t.Fatalf("sheet %d, %v: painted %d %d %d, computed %v", n+1, image.Pt(x, y), r>>8, g>>8, bl>>8, b.Pix[i:i+3])
				}
			}
		}
	}
}

// The pictures get the height: with nothing unfolded a landscape pair is as wide as the
// window lets it, and four papers take the arrangement of largest area.
func TestThePicturesGetTheHeight(t *testing.T) {
	for _, c := range []struct {
		size  fyne.Size
		desk  string
		share float64
	}{
		{fyne.NewSize(1024, 700), "pair", 0.38}, {fyne.NewSize(1280, 800), "pair", 0.40}, {fyne.NewSize(1600, 1000), "pair", 0.44},
		{fyne.NewSize(1600, 1000), "four", 0.26},
	} {
		w, q := open(t, c.size)
		w.h.Do(session.TakeDesk{ID: c.desk, Papers: w.h.Session.Store().First()})
		settle(t, w, q)
		s := w.h.State()
		// The whole window is the desk of a real one less the menu's line, which the test
		// driver does not have.
		const menu = 28
		pic := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Pic
		got := float64(s.Count*pic.Dx()*pic.Dy()) / float64(c.size.Width*c.size.Height)
		if got < c.share {
			t.Errorf("%v, %s: pictures take %.0f %% of the window, want %.0f %%", c.size, c.desk, got*100, c.share*100)
		}
		if slack := float64(s.Cell.H - session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Sheet.Dy()); c.desk == "pair" && slack < menu {
			t.Errorf("%v: the height bounds the pair, %.0f are left", c.size, slack)
		}
	}
}

// Nothing but the sheets is left, and everything comes back.
func TestOnlyTheSheets(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	before := w.h.State().Cell
	key(w, fyne.KeyF11)
	settle(t, w, q)
	if c := w.h.State().Cell; c.H <= before.H+150 {
		t.Errorf("the cells are %d high, with all parts they were %d", c.H, before.H)
	}
	for name, o := range map[string]fyne.CanvasObject{"route": w.parts.route, "desks": w.parts.desks, "sentence": w.parts.sentence, "bench": w.parts.bench, "hint": w.parts.hint} {
		if o.Visible() {
			t.Errorf("the %s is still there", name)
		}
	}
	key(w, fyne.KeyG) // keys go on working
	if !w.h.State().Sheets[1].Wrong {
		t.Error("the switch's key is dead")
	}
	key(w, fyne.KeyEscape)
	settle(t, w, q)
	if s := w.h.State(); s.Bare || s.Cell != before || !w.parts.bench.Visible() {
		t.Errorf("Escape brings back cells of %v, were %v", s.Cell, before)
	}
}

// The pin that has the keyboard stays in sight when what is said of the pins above it takes
// more lines.
func TestAPinWithTheKeyboardStaysInSight(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	key(w, "T") // unfolds the table
	for i := range 8 {
		w.h.Do(session.PutPin{X: float64(30 * i), Y: 50})
	}
	settle(t, w, q)
	const last = 4
	table := w.parts.bench.pins
	table.step(last, 0)
	now := w.h.State()
	inSight := func() {
		t.Helper()
		r, from := table.list[last], table.scroll.Offset.Y
		if top, foot := r.Position().Y, r.Position().Y+r.Size().Height; top < from || foot > from+table.scroll.Size().Height {
			t.Errorf("the row lies from %g to %g, in sight are %g to %g", top, foot, from, from+table.scroll.Size().Height)
		}
	}
	inSight()
	for i := range last {
		now.Values[1][i] = session.PinValue{Known: true, Words: strings.Repeat("much lighter and more orange, ", 12)}
	}
	before := table.list[last].Position().Y
	table.update(now)
	if moved := table.list[last].Position().Y - before; moved < table.scroll.Size().Height {
		t.Fatalf("longer sentences move the row by %g only", moved)
	}
	inSight()
}
