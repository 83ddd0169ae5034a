package view

import (
	"context"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/engine"
	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/light"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

// The picture of these tests: a red, a grey and a green field, sRGB.
var fields = [3][3]uint8{{176, 40, 44}, {119, 119, 119}, {60, 120, 70}}

func fieldPicture(context.Context) (*photo.Picture, []pin.Pin, error) {
	const w, h = 90, 30
	s := space.SRGB()
	p := &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Space: &s}
	for range h {
		for x := range w {
			c := fields[x*3/w]
			p.Pix8 = append(p.Pix8, c[:]...)
		}
	}
	return p, []pin.Pin{{Name: "shirt", X: 0.15, Y: 0.5, Radius: 0.05}, {Name: "wall", X: 0.5, Y: 0.5, Radius: 0.05}}, nil
}

// realDesk lays that picture on the real engine with its papers.
func realDesk(t *testing.T) (*Host, *sessiontest.Queue) {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(theme.Neutral{})
	q := sessiontest.NewQueue()
	works := engine.New(paper.Open(t.TempDir()), fieldPicture)
	s := session.New(works, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	h := &Host{Session: s, Window: test.NewTempWindow(t, nil)}
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(func() bool { return s.State().Values[1][1].Known }) {
		t.Fatal("the pins are not read")
	}
	return h, q
}

// lay shows a card's content at a size.
func lay(h *Host, b Built, size fyne.Size) {
	h.Window.SetContent(b.Content)
	h.Window.Resize(size)
	if b.Update != nil {
		b.Update(h.State())
	}
}

func typeKeys(b Built, keys ...fyne.KeyName) {
	for _, k := range keys {
		b.Key(&fyne.KeyEvent{Name: k})
	}
}

func TestVerges(t *testing.T) {
	h, q := realDesk(t)
	v := newVerges(h)
	b := v.built()
	lay(h, b, fyne.NewSize(984, 600))
	pearl := v.lines[0]
	if pearl.id != "pearl" || !pearl.on || v.lines[1].on {
		t.Fatalf("the desk's paper is not the one that is drawn: %+v", pearl)
	}
	if !q.Until(func() bool { return v.cloud != nil && pearl.ends[0].outline != nil && len(v.pinSeen.seen) == 2 }) {
		t.Fatal("nothing is measured out")
	}
	if pearl.ends[0].failed != "" || !strings.Contains(pearl.row.Note, "Lab³") || len(v.cloud.Points) != 3 {
		t.Errorf("the line says %q, the picture has %d colours", pearl.row.Note, len(v.cloud.Points))
	}

	// The cut goes through the first pin; its field stands there in its own bytes.
	red := space.SRGB().ToLab(176.0/255, 40.0/255, 44.0/255)
	if v.light != math.Round(red.L) || v.hue != math.Round(red.Hue()) {
		t.Errorf("the cut is at L* %g, %g°, want %v", v.light, v.hue, red)
	}
	img, words := v.paintFlat(400, 400, 1)
	ax := flatAxes(400, 400, 1, v.scene.Load().most)
	at := func(p plot.Pt) color.RGBA { return img.RGBAAt(int(p.X), int(p.Y)) }
	if got := at(ax.At(red.A, red.B)); got != (color.RGBA{176, 40, 44, 255}) {
		t.Errorf("the field is painted %v, want its own bytes", got)
	}
	// The paper's line passes where its outline is, and bears its name.
	end := pearl.ends[0].outline.AtLightness(v.light)[200]
	if got := at(ax.At(end.A, end.B)); got.R < 200 || got.R != got.G || got.G != got.B {
		t.Errorf("at the paper's end the plot is %v, want a light neutral line", got)
	}
	named := map[string]bool{}
	for _, w := range words {
		named[w.Text] = true
	}
	if !named["Pearl"] || !named["shirt"] || named["wall"] != (math.Abs(50-red.L) <= 5) {
		t.Errorf("labels %v", named)
	}
	for q.Step() {
	}
	if !strings.Contains(v.flatTold.Text, "% of the picture is at this lightness") || !strings.Contains(v.flatTold.Text, "Pearl") {
		t.Errorf("told %q", v.flatTold.Text)
	}
	// The ground is neutral and what is not inked is only ground, grid or field.
	if got := img.RGBAAt(2, 2); got != plotGround {
		t.Errorf("the ground is %v", got)
	}
	// At twice the scale everything is at the same place in twice the pixels.
	img, _ = v.paintFlat(800, 800, 2)
	ax = flatAxes(800, 800, 2, v.scene.Load().most)
	if got := at(ax.At(red.A, red.B)); got != (color.RGBA{176, 40, 44, 255}) {
		t.Errorf("at scale 2 the field is painted %v", got)
	}
	if img, _ = v.paintFall(400, 300, 1); at(fallAxes(400, 300, 1, v.scene.Load().most).At(red.Chroma(), red.L)) != (color.RGBA{176, 40, 44, 255}) {
		t.Error("the field is not where its chroma and lightness are")
	}

	// The green field has no pin over it.
	green := space.SRGB().ToLab(60.0/255, 120.0/255, 70.0/255)
	v.cutThrough(green)
	v.hue += 60 // else the mark of the other cut would lie over it
	v.paint()
	img, _ = v.paintFlat(400, 400, 1)
	ax = flatAxes(400, 400, 1, v.scene.Load().most)
	if got := at(ax.At(green.A, green.B)); got != (color.RGBA{60, 120, 70, 255}) {
		t.Errorf("the green field is painted %v", got)
	}
	v.cutThrough(green)
	v.paint()
	img, _ = v.paintFall(400, 300, 1)
	if got := at(fallAxes(400, 300, 1, v.scene.Load().most).At(green.Chroma(), green.L-0.9)); got != (color.RGBA{60, 120, 70, 255}) {
		t.Errorf("the green field is painted %v at its chroma and lightness", got)
	}

	light, hue := v.light, v.hue
	typeKeys(b, fyne.KeyUp, fyne.KeyRight, fyne.KeyRight)
	if v.light != light+1 || v.hue != hue+2 {
		t.Errorf("the keys cut at %g, %g", v.light, v.hue)
	}
	typeKeys(b, fyne.KeyJ, fyne.KeyJ)
	if h.State().Pin != 1 || math.Abs(v.light-50) > 1 {
		t.Errorf("J chose pin %d and cut at L* %g", h.State().Pin, v.light)
	}

	// As printed, white is the paper's own.
	v.white.OnChosen(1)
	if !q.Until(func() bool { return pearl.ends[1].outline != nil }) {
		t.Fatal("no outline as printed")
	}
	p, _ := h.Session.Store().Paper("pearl")
	if got := pearl.ends[1].outline.White; cie.DeltaE76(got, p.White()) > 1 || pearl.ends[0].outline.White.L < 99.9 {
		t.Errorf("white %v as printed, want %v", got, p.White())
	}
	b.Close()
	if v.work.ctx.Err() == nil {
		t.Error("closed, it goes on")
	}
}

func TestYardstick(t *testing.T) {
	h, q := realDesk(t)
	y := newYardstick(h)
	b := y.built()
	lay(h, b, fyne.NewSize(984, 600))
	if !strings.HasPrefix(y.start.Text, "Measure these 16") || !y.empty.Visible() {
		t.Errorf("it starts with %q", y.start.Text)
	}
	for _, tick := range y.papers {
		if tick.Text != "Pearl" {
			tick.OnChange(false)
		}
	}
	y.intents[proof.Perceptual].OnChange(false)
	if y.start.Text != "Measure these 2 ways" {
		t.Errorf("two ways are ticked, the button says %q", y.start.Text)
	}

	// Stopped before anything is there.
	typeKeys(b, fyne.KeyReturn)
	if y.start.Text != "Stop" || !y.bar.Visible() {
		t.Errorf("while it runs the button says %q", y.start.Text)
	}
	typeKeys(b, fyne.KeyReturn)
	if !q.Until(func() bool { return !y.run.busy() }) || y.have != nil || !strings.HasPrefix(y.said.Text, "Stopped") {
		t.Fatalf("it was not stopped: %q", y.said.Text)
	}

	typeKeys(b, fyne.KeyReturn)
	if !q.Until(func() bool { return !y.run.busy() }) || y.have == nil {
		t.Fatalf("nothing is measured: %q", y.said.Text)
	}
	if len(y.table.Rows) != 2 || len(y.table.Rows[0].Cells) != len(y.table.Columns) || y.empty.Visible() {
		t.Fatalf("rows %v", y.table.Rows)
	}
	// The first ways are shown as pictures.
	if got := y.pictures.scene(); len(got.ways) != min(rankShown, len(y.have.outcome.Verdict.Order)) || got.ways[0].Paper != y.have.way(0).Paper {
		t.Errorf("shown as pictures: %v", got.names)
	}
	first := y.have.outcome.Verdict.Order[0]
	if !strings.Contains(y.why.Text, first.Paper) || !strings.Contains(y.why.Text, "checks") || y.against.Text == "" {
		t.Errorf("recommended %q, against %q", y.why.Text, y.against.Text)
	}
	if strings.Count(y.rules.Text, "\n") < 8 {
		t.Errorf("the rule is not shown: %q", y.rules.Text)
	}

	// The second row onto the active sheet by keys, then as a further sheet.
	before := h.State().Choices()
	typeKeys(b, fyne.KeyDown, fyne.KeyDown, fyne.KeyReturn)
	h.Do(session.Undo{}) // all that a key has set at once
	if h.State().Choices() != before {
		t.Errorf("one step back from the second row: %+v, before it was %+v", h.State().Choices(), before)
	}
	h.Do(session.Redo{})
	w := y.have.outcome.Ways[y.have.outcome.Verdict.Order[1].ID]
	if sh, n := h.State().Proof(); n != 1 || sh.Paper != w.Paper || sh.Intent != w.Intent || sh.BPC != w.Compensation {
		t.Errorf("sheet %d is %+v, want %+v", n+1, sh, w)
	}
	typeKeys(b, fyne.KeyInsert, fyne.KeyInsert, fyne.KeyInsert)
	if h.State().Count != session.MaxSheets || !y.beside.Off {
		t.Errorf("%d sheets lie on the desk", h.State().Count)
	}
	// A click on the first row does what Return does.
	h.Do(session.SetSheets{N: 2})
	h.Do(session.SetBPC{On: !y.have.outcome.Ways[first.ID].Compensation})
	y.table.Tapped(&fyne.PointEvent{Position: fyne.NewPos(200, 60)})
	if sh, _ := h.State().Proof(); y.table.Chosen != 0 || sh.BPC != y.have.outcome.Ways[first.ID].Compensation {
		t.Errorf("a click chose row %d", y.table.Chosen)
	}

	// Closed and opened again the outcome is there; with another pin it is not.
	b.Close()
	again := newYardstick(h)
	ab := again.built()
	lay(h, ab, fyne.NewSize(984, 600))
	if len(again.table.Rows) != 2 {
		t.Error("the outcome is not kept")
	}
	h.Do(session.MovePin{N: 0, X: 80, Y: 10})
	ab.Update(h.State())
	if len(again.table.Rows) != 0 || again.have != nil || !strings.Contains(again.said.Text, "changed") {
		t.Error("figures of another pin are still shown")
	}
	// Ways that differ to the eye are cut to where they do.
	again.intents[proof.Perceptual].OnChange(true)
	typeKeys(ab, fyne.KeyReturn)
	if !q.Until(func() bool { return !again.run.busy() }) || again.have == nil {
		t.Fatalf("nothing is measured anew: %q", again.said.Text)
	}
	if !q.Until(func() bool { return again.pictures.scene().at.Side > 0 }) {
		t.Error("the ways are shown without a place where they differ")
	}
	ab.Close()
}

func TestKelvin(t *testing.T) {
	h, q := realDesk(t)
	k := newKelvin(h)
	b := k.built()
	lay(h, b, fyne.NewSize(984, 600))
	if !q.Until(func() bool { return k.screen.known != nil }) {
		t.Fatalf("the screen is not measured out: %q", k.screen.trouble)
	}
	if math.Abs(k.screen.known.Kelvin-6504) > 30 {
		t.Errorf("sRGB's white is %.0f K", k.screen.known.Kelvin)
	}
	typeKeys(b, fyne.KeyRight)
	if k.leaf != 1 || !k.boxes[1].Visible() || k.boxes[0].Visible() {
		t.Error("the leaf was not turned")
	}
	// The fields are bytes, at both scales; half the light of sRGB is byte 188.
	for _, scale := range []float64{1, 2} {
		w, hh := int(800*scale), int(400*scale)
		img, _ := k.check.paint(w, hh, scale)
		for i := range light.DarkSteps() {
			x := i*(w/8) + w/16
			if got := img.RGBAAt(x, hh/8-int(5*scale)); got.R != light.DarkSteps()[i] || got.G != got.R || got.B != got.R {
				t.Errorf("scale %g: dark field %d is %v", scale, i+1, got)
			}
			if got := img.RGBAAt(x, hh*7/8-int(5*scale)); got.R != light.PaleSteps()[i] {
				t.Errorf("scale %g: light field %d is %v", scale, i+1, got)
			}
		}
		if a, b := img.RGBAAt(w/16+9, hh/2).R, img.RGBAAt(w/16+9, hh/2+1).R; a+b != 255 || a != 0 && b != 0 {
			t.Errorf("scale %g: the lines are %d and %d", scale, a, b)
		}
		if got := img.RGBAAt(3, hh/2+3).R; got != 188 {
			t.Errorf("scale %g: the even grey is %d, want 188", scale, got)
		}
	}
	k.check.dark.OnChosen(5)
	if !strings.Contains(k.check.darkTold.Text, "byte 8 (L* 2.2") || !strings.Contains(k.check.darkTold.Text, "Pearl’s black") {
		// Byte 8 of sRGB is linear: 8 / 255 / 12.92 of white, L* 903.3 times that: 2.19.
		t.Errorf("told %q", k.check.darkTold.Text)
	}

	typeKeys(b, fyne.KeyRight)
	before := h.State().Looking
	typeKeys(b, fyne.KeyUp)
	if h.State().Looking.Lux != before.Lux+k.judging.lux.Step {
		t.Errorf("the key set %g lx", h.State().Looking.Lux)
	}
	h.Do(session.SetLooking{Looking: before})
	b.Update(h.State())
	k.judging.onDesk.OnChange(true)
	b.Update(h.State())
	if !h.State().Looking.TooBright || !k.judging.onDesk.On || !strings.Contains(k.judging.factor.Text, "0.63 times") {
		t.Errorf("switched on: %t; told %q", h.State().Looking.TooBright, k.judging.factor.Text)
	}
	if set := h.State().Setup(h.State().Sheets[1]); !set.Dimmed || set.Dim != 0.63 {
		t.Errorf("the sheets are shown by %g, want 0.63", set.Dim)
	}

	typeKeys(b, fyne.KeyRight)
	if rows := k.other.shifts.Rows(); len(rows) != 3 || !strings.Contains(rows[0].Words, "warm") {
		t.Errorf("under a bulb: %+v", rows)
	}
	if !q.Until(func() bool { return len(k.other.swatches.seen) == 6 }) || k.other.shifts.Rows()[0].Before == k.other.shifts.Rows()[0].After {
		t.Error("the white of the paper shows no shift")
	}
	k.other.kelvinSlide.OnChange(5000)
	if !strings.Contains(k.other.told.Text, "Nothing shifts") {
		t.Errorf("under the light it was made for: %q", k.other.told.Text)
	}
	b.Close()
	if k.work.ctx.Err() == nil {
		t.Error("closed, it goes on")
	}
}

// On an engine that hands out no plans the cards say so and do not break.
func TestCardsWithoutAnExactEngine(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	for _, k := range []fyne.KeyName{fyne.KeyV, fyne.KeyY, fyne.KeyK} {
		key(w, k)
		release(w, k)
		settle(t, w, q)
		if w.h.State().Card == "" || !w.card.box.Visible() {
			t.Fatalf("%s opens no card", k)
		}
		for _, n := range []fyne.KeyName{fyne.KeyUp, fyne.KeyRight, fyne.KeyReturn, fyne.KeyInsert, fyne.KeyEnd} {
			key(w, n)
			release(w, n)
		}
		key(w, fyne.KeyEscape)
		settle(t, w, q)
		if w.h.State().Card != "" {
			t.Fatalf("Escape does not close the card of %s", k)
		}
	}
}

// Nothing of a card stands outside it, from the smallest window to a large one.
func TestCardsFit(t *testing.T) {
	h, q := realDesk(t)
	for _, size := range []fyne.Size{fyne.NewSize(944, 500), fyne.NewSize(984, 572), fyne.NewSize(1560, 900), fyne.NewSize(1880, 980)} {
		for name, build := range map[string]func() Built{
			"verges":    func() Built { return newVerges(h).built() },
			"yardstick": func() Built { return newYardstick(h).built() },
			"kelvin":    func() Built { return newKelvin(h).built() },
		} {
			b := build()
			lay(h, b, size)
			for q.Step() {
			}
			box := b.Content.(*fyne.Container)
			standsInside(t, name, box, box.Size())
			b.Close()
		}
	}
}

func standsInside(t *testing.T, name string, o fyne.CanvasObject, room fyne.Size) {
	t.Helper()
	c, ok := o.(*fyne.Container)
	if !ok {
		return
	}
	for _, x := range c.Objects {
		if !x.Visible() {
			continue
		}
		end := x.Position().AddXY(x.Size().Width, x.Size().Height)
		if x.Position().X < -1 || x.Position().Y < -1 || end.X > room.Width+1 || end.Y > room.Height+1 {
			what := ""
			if p, ok := x.(*widget.Prose); ok {
				what = p.Text
			}
			t.Errorf("%s at %v: %T %q lies at %v of %v", name, room, x, what, x.Position(), x.Size())
		}
		if _, scrolls := x.(*container.Scroll); !scrolls {
			standsInside(t, name, x, x.Size())
		}
	}
}

// Several pictures dropped on the card are ranked together; one that can't be read is named.
func TestYardstickTogether(t *testing.T) {
	h, q := realDesk(t)
	y := newYardstick(h)
	b := y.built()
	lay(h, b, fyne.NewSize(984, 600))
	dir := t.TempDir()
	for i, name := range []string{"red.png", "grey.png"} {
		p := &photo.Picture{W: 40, H: 30, Channels: 3, Depth: 8, Space: new(space.SRGB())}
		for k := range 40 * 30 {
			v := byte(60 + k%120)
			p.Pix8 = append(p.Pix8, byte(220-120*i), v/2+byte(60*i), v/2+byte(60*i))
		}
		if err := photo.Write(t.Context(), filepath.Join(dir, name), p, photo.WriteOptions{}); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "bad.jpg"), []byte("no picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	if b.Drop([]string{filepath.Join(dir, "red.png")}) {
		t.Error("one picture is taken; it is for the desk")
	}
	if !b.Drop([]string{dir}) || len(y.several) != 3 || y.together != nil {
		t.Fatalf("the folder makes %q", y.several)
	}
	for _, tick := range y.papers {
		tick.OnChange(tick.Text == "Pearl" || tick.Text == "Cotton Matte")
	}
	typeKeys(b, fyne.KeyReturn)
	if !q.Until(func() bool { return !y.run.busy() }) || y.together == nil {
		t.Fatalf("nothing is ranked: %q", y.said.Text)
	}
	if len(y.table.Rows) != 2 || len(y.table.Rows[0].Cells) != len(y.table.Columns) || y.pictures.drawing.Visible() {
		t.Errorf("rows %v", y.table.Rows)
	}
	if !strings.Contains(y.why.Text, "these 2 pictures") || !strings.Contains(y.against.Text, "bad.jpg") {
		t.Errorf("why %q, against %q", y.why.Text, y.against.Text)
	}
	strips := y.together.strips
	if len(strips) == 0 || len(strips) != len(y.together.result.Deciding) {
		t.Fatalf("%d pictures are shown, %v decide", len(strips), y.together.result.Deciding)
	}
	img, said := strips[0].paint(600, 150, 1)
	if len(said) != 3 || said[0].Text != y.together.result.Order[0].Pictures[y.together.result.Deciding[0]].Picture || said[1].Text != y.together.result.Order[0].Name {
		t.Errorf("beneath them stands %v", said)
	}
	// The original is at the left as in its file, on a screen of sRGB, and the prints look otherwise.
	if first, second := img.RGBAAt(100, 70), img.RGBAAt(300, 70); first == second || first == (color.RGBA{A: 255}) {
		t.Errorf("original and print both show %v", first)
	}
	typeKeys(b, fyne.KeyDown, fyne.KeyDown, fyne.KeyReturn)
	if sh, _ := h.State().Proof(); sh.Paper != y.together.result.Order[1].ID {
		t.Errorf("on the sheet lies %q", sh.Paper)
	}
	y.swap()
	if y.several != nil || len(y.table.Rows) != 0 || !y.pictures.drawing.Visible() {
		t.Error("it does not go back to the open picture")
	}
}
