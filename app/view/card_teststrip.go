package view

import (
	"cmp"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/teststrip"
)

// testStripCard lays out a test strip and writes its print file.
func testStripCard() Card {
	return Card{ID: "teststrip", Name: "Test strip", Key: "T", Ctrl: true, Place: WholeWindow,
		Help:  "the pins’ surroundings at print size, by several intents and mistakes, on one offcut of the paper",
		Build: func(h *Host) Built { return newTestStrip(h).built() }}
}

// testStripView is the open card. All its fields belong to the drawing goroutine.
type testStripView struct {
	h         *Host
	work      *work
	gathering *lane
	files     *writing

	paper string // of the offcut
	form  *testStripForm

	of      testStripOf
	wish    teststrip.Wish // Right, Find and Choices
	order   teststrip.Order
	pieces  []teststrip.Piece
	layout  *teststrip.Layout
	looks   *looks
	picture *stripPicture

	preview *widget.Drawing
	say     *widget.Prose
	caution *widget.Prose
	which   *widget.Press
	write   *widget.Press
	foot    *widget.Prose
	content *fyne.Container
}

// testStripOf is all of the window's state that a strip depends on.
type testStripOf struct {
	set     setup.Setup
	picture int
	pins    [session.MaxPins]pin.Pin
	n       int
	library int
	slip    setup.Setup // the mistake chosen on the desk says how it is made
}

func newTestStrip(h *Host) *testStripView {
	v := &testStripView{h: h, work: h.newWork()}
	v.gathering = v.work.lane()
	v.foot = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.say = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5)
	v.say.Bold = true
	v.caution = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 4)
	v.looks = newLooks(v.work, func(setup.Setup) { v.preview.Again() },
		func(err error) { v.tell("A piece can’t be shown. " + session.Explain(err, "").Headline) })
	v.picture = &stripPicture{ctx: v.work.ctx, looks: v.looks}
	v.preview = widget.NewDrawing(h.Session.Post, v.picture.paint)
	v.preview.Ground = theme.Desk
	v.which = widget.NewPress("", v.nextPaper)
	v.which.Explain("The paper that the offcut is of: all pieces are for this one. A takes the next.", v.tell)
	v.write = widget.NewPress("Write the print file…  (W)", v.askFile)
	v.write.Explain("Write the strip as a 16-bit TIFF or PNG in the paper’s own numbers, and a text that says how to print it.", v.tell)
	v.files = newWriting(v.work, v.foot.SetText, v.writingTurns)
	v.form = newTestStripForm(h, v.which, v.tell, v.lay)
	v.tell("")
	return v
}

const testStripFoot = "Tab goes from field to field, Space ticks, A takes the next paper, W writes the file, Esc closes. A piece shows the picture’s own pixels, one for each pixel of the print."

// tell explains a control in the card's foot line; while the strip is being written that
// line is taken.
func (v *testStripView) tell(s string) {
	if !v.files.busy() {
		v.foot.SetText(cmp.Or(s, testStripFoot))
	}
}

func (v *testStripView) built() Built {
	v.content = container.New(freeLayout{fyne.NewSize(860, 480), v.arrange},
		v.form.scroll, v.preview, v.say, v.caution, v.files.halt, v.write, v.foot)
	// Tab goes on from the card's first control, not from the desk behind it.
	v.h.Session.Post(func() {
		if v.work.ctx.Err() == nil && v.h.State().Card == "teststrip" {
			v.h.Window.Canvas().Focus(v.which)
		}
	})
	return Built{Content: v.content, Update: v.update, Key: v.typed, Close: v.work.close}
}

func (v *testStripView) arrange(s fyne.Size) {
	side := min(max(s.Width*0.24, 290), 400)
	const gap = 22
	foot := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
	set(v.foot, 0, s.Height-foot, s.Width-8, foot)
	h := s.Height - foot - 8
	set(v.form.scroll, 0, 0, side, h)
	x, w := side+gap, s.Width-side-gap
	y := h - 34
	ww, hw := v.write.MinSize().Width, v.files.halt.MinSize().Width
	set(v.write, x+w-ww, y, ww, 34)
	set(v.files.halt, x+w-ww-8-hw, y, hw, 34)
	room := w - ww - 16
	if v.files.halt.Visible() {
		room -= hw + 8
	}
	ch := v.caution.HeightFor(room)
	set(v.caution, x, h-max(ch, 34), room, ch)
	y = h - max(ch, 34) - 10
	sh := v.say.HeightFor(w)
	if v.say.Text == "" {
		sh = 0
	}
	y -= sh
	set(v.say, x, y, w, sh)
	whole := func(f float32) float32 { return float32(math.Floor(float64(f))) }
	set(v.preview, whole(x), 0, whole(w), whole(y-8))
}

func (v *testStripView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyA:
		v.nextPaper()
	case fyne.KeyW:
		v.askFile()
	default:
		return v.form.typed(e)
	}
	return true
}

func (v *testStripView) nextPaper() {
	v.paper = v.h.Session.Store().Next(v.paper)
	v.update(v.h.State())
}

// update follows the window's state.
func (v *testStripView) update(now session.State) {
	if now.Picture.Key == 0 {
		v.fail("No picture is open yet. Close this card and open one: the strip is made of its pieces.")
		return
	}
	store := v.h.Session.Store()
	if _, ok := store.Paper(v.paper); !ok {
		sh, _ := now.Proof()
		v.paper = sh.Paper
	}
	right, chosen := rightProof(now, v.paper)
	of := testStripOf{set: right, picture: now.Picture.Key, pins: now.Pins, n: now.NumPins, library: now.Library, slip: chosen}
	if of == v.of {
		return
	}
	if of.pins != v.of.pins || of.n != v.of.n || len(v.form.pins) != of.n {
		v.form.listPins(now.Pins[:now.NumPins])
	}
	if of.picture != v.of.picture || of.library != v.of.library {
		v.looks.forget()
	}
	v.of = of
	p, _ := store.Paper(v.paper)
	v.which.SetText(p.Name + "   (A: next)")
	v.caution.SetText(teststrip.Caution(p.Name))
	v.gather()
}
