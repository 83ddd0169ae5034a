package view

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/lesson"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/teststrip"
	"firstsheet/proof/words"
)

// testStripCard lays out a test strip and writes its print file.
func testStripCard() Card {
	return Card{ID: "teststrip", Name: "Test strip: many trials on one offcut", Key: "T", Ctrl: true, Place: WholeWindow,
		Help:  "the pins’ surroundings at print size, by several intents and mistakes, on one offcut of the paper",
		Build: func(h *Host) Built { return newTestStrip(h).built() }}
}

// testStripView is the open card.
type testStripView struct {
	h      *Host
	engine session.Engine
	ctx    context.Context
	cancel context.CancelFunc
	job    context.CancelFunc // of the strip being written

	paper   string
	intents [4]*widget.Toggle
	right   *widget.Toggle
	slips   []*widget.Toggle // as slip.All, those that can be on a strip
	slipIDs []string
	pins    []*widget.Toggle
	pinBox  *fyne.Container
	fields  map[string]*field
	measure map[string]float64
	label   *widget.Choice
	bare    bool

	of      testStripOf
	order   teststrip.Order
	pieces  []teststrip.Piece
	layout  *teststrip.Layout
	left    []string
	problem string

	mu     sync.Mutex
	plan   testStripPlan
	grids  map[string]*proof.Grid
	ground map[string]color.RGBA
	asked  map[string]bool

	side    *fyne.Container
	scroll  *container.Scroll
	preview *widget.Drawing
	say     *widget.Prose
	caution *widget.Prose
	which   *widget.Press
	write   *widget.Press
	halt    *widget.Press
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

// testStripPlan is what the painter paints.
type testStripPlan struct {
	layout *teststrip.Layout
	pieces []teststrip.Piece
	levels []raster.Pixels
	paper  proof.Plan // bare paper on the screen
}

// The measures that can be typed, in millimetres but for the resolution. The usual
// offcut is a strip across an A4 sheet.
var testStripMeasures = []struct {
	id, text, unit string
	usual          float64
}{
	{"ppi", "Print resolution", "ppi", 300},
	{"w", "A piece’s width", "mm", 22},
	{"h", "A piece’s height", "mm", 22},
	{"sheetw", "The offcut’s width", "mm", 210},
	{"sheeth", "The offcut’s height", "mm", 120},
	{"border", "Border the printer leaves", "mm", 4},
}

func newTestStrip(h *Host) *testStripView {
	v := &testStripView{h: h, fields: map[string]*field{}, measure: map[string]float64{}, grids: map[string]*proof.Grid{},
		ground: map[string]color.RGBA{}, asked: map[string]bool{}}
	v.ctx, v.cancel = context.WithCancel(context.Background())
	v.engine = h.Session.Engine()
	v.foot = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.say = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5)
	v.say.Bold = true
	v.caution = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 4)
	v.preview = widget.NewDrawing(h.Session.Post, v.paint)
	v.preview.Ground = theme.Desk
	v.which = widget.NewPress("", v.nextPaper)
	v.which.Explain("The paper that the offcut is of: all pieces are for this one. A takes the next.", v.tell)
	v.write = widget.NewPress("Write the print file…  (W)", v.askFile)
	v.write.Explain("Write the strip as a 16-bit TIFF or PNG in the paper’s own numbers, and a text that says how to print it.", v.tell)
	v.halt = widget.NewPress("Stop", func() {
		if v.job != nil {
			v.job()
		}
	})
	v.halt.Hide()
	v.side = container.New(stack{gap: 4})
	add := func(o fyne.CanvasObject) { v.side.Add(o) }
	add(heading("Paper of the offcut"))
	add(v.which)
	add(heading("Intents"))
	helps := []string{"Perceptual: the whole picture is fitted into the paper’s reach, smoothly.",
		"Relative: colours in reach stay as they are, the others go to the edge; the paper’s white counts as white.",
		"Saturation: vivid colours stay vivid, whatever their hue; for charts, hardly for photographs.",
		"Absolute: as relative, but the picture’s white is printed onto the paper."}
	for i := range v.intents {
		v.intents[i] = v.toggle(proof.Intent(i).Short(), proof.Intent(i) == proof.RelativeColorimetric || proof.Intent(i) == proof.Perceptual, helps[i])
		add(v.intents[i])
	}
	add(heading("Pieces"))
	v.right = v.toggle("as it should be", true, "Pieces converted once, by the paper’s own profile.")
	add(v.right)
	for _, s := range slip.All() {
		if teststrip.OnStrip(s.ID) {
			t := v.toggle(s.Name, false, s.Recognise)
			v.slips, v.slipIDs = append(v.slips, t), append(v.slipIDs, s.ID)
			add(t)
		}
	}
	add(heading("Pins"))
	v.pinBox = container.New(stack{gap: 4})
	add(v.pinBox)
	add(heading("Sizes"))
	for _, m := range testStripMeasures {
		v.measure[m.id] = m.usual
		f := newField(strconv.FormatFloat(m.usual, 'f', -1, 64), func(s string) { v.typeMeasure(m.id, s) }, func(string) { h.Focus() }, func() { h.Focus() })
		v.fields[m.id] = f
		name := widget.NewText(m.text, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
		unit := widget.NewText(m.unit, toolkittheme.SizeNameText, theme.ColorQuiet, false)
		row := container.New(freeLayout{fyne.NewSize(260, 38), func(s fyne.Size) {
			set(name, 0, 8, s.Width-130, 22)
			set(f, s.Width-126, 0, 82, 36)
			set(unit, s.Width-36, 8, 36, 22)
		}}, name, f, unit)
		f.gained = func() { v.reveal(row) }
		add(row)
	}
	add(heading("Profile in the file"))
	v.label = widget.NewChoice([]string{"the paper’s", "none"}, 0, func(i int) { v.bare = i == 1; v.label.Set(i) })
	v.label.Explain("The paper’s: programs that heed labels show the strip truly and have nothing to convert where they print to the same profile. "+
		"None: for ways of printing that take unlabelled files only. Conversion is to be off either way.", v.tell)
	add(v.label)
	v.scroll = container.NewVScroll(v.side)
	v.tell("")
	return v
}

const testStripFoot = "Tab goes from field to field, Space ticks, A takes the next paper, W writes the file, Esc closes. A piece shows the picture’s own pixels, one for each pixel of the print."

func (v *testStripView) tell(s string) {
	if v.job != nil {
		return
	}
	v.foot.SetText(cmp.Or(s, testStripFoot))
}

func (v *testStripView) toggle(text string, on bool, help string) *widget.Toggle {
	var t *widget.Toggle
	t = widget.NewToggle(text, on, func(on bool) {
		t.Set(on)
		v.lay()
	})
	t.Explain(help, func(s string) {
		v.tell(s)
		if s != "" && v.h.Window.Canvas().Focused() == fyne.Focusable(t) {
			v.reveal(t)
		}
	})
	return t
}

// reveal scrolls to a control that the keyboard has reached.
func (v *testStripView) reveal(o fyne.CanvasObject) {
	drv := fyne.CurrentApp().Driver()
	y := drv.AbsolutePositionForObject(o).Y - drv.AbsolutePositionForObject(v.side).Y
	h, room := o.Size().Height, v.scroll.Size().Height
	to := v.scroll.Offset.Y
	to = max(min(to, y-30), y+h+10-room)
	if to = max(to, 0); to != v.scroll.Offset.Y {
		v.scroll.Offset.Y = to
		v.scroll.Refresh()
	}
}

func (v *testStripView) built() Built {
	v.content = container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		side := min(max(s.Width*0.24, 290), 400)
		const gap = 22
		foot := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText))
		set(v.foot, 0, s.Height-foot, s.Width-8, foot)
		h := s.Height - foot - 8
		set(v.scroll, 0, 0, side, h)
		x, w := side+gap, s.Width-side-gap
		y := h - 34
		ww := v.write.MinSize().Width
		set(v.write, x+w-ww, y, ww, 34)
		hw := v.halt.MinSize().Width
		set(v.halt, x+w-ww-8-hw, y, hw, 34)
		room := w - ww - 16
		if v.halt.Visible() {
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
		set(v.preview, float32(math.Floor(float64(x))), 0, float32(math.Floor(float64(w))), float32(math.Floor(float64(y-8))))
	}}, v.scroll, v.preview, v.say, v.caution, v.halt, v.write, v.foot)
	// Tab goes on from the card's first control, not from the desk behind it.
	v.h.Session.Post(func() {
		if v.ctx.Err() == nil && v.h.State().Card == "teststrip" {
			v.h.Window.Canvas().Focus(v.which)
		}
	})
	return Built{Content: v.content, Update: v.update, Key: v.typed, Close: v.cancel}
}

func (v *testStripView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyA:
		v.nextPaper()
	case fyne.KeyW:
		v.askFile()
	case fyne.KeyDown, fyne.KeyPageDown, fyne.KeyUp, fyne.KeyPageUp:
		by := float32(60)
		if e.Name == fyne.KeyPageDown || e.Name == fyne.KeyPageUp {
			by = v.scroll.Size().Height * 0.8
		}
		if e.Name == fyne.KeyUp || e.Name == fyne.KeyPageUp {
			by = -by
		}
		v.scroll.Offset.Y = min(max(v.scroll.Offset.Y+by, 0), max(v.side.MinSize().Height-v.scroll.Size().Height, 0))
		v.scroll.Refresh()
	default:
		return false
	}
	return true
}

func (v *testStripView) nextPaper() {
	v.paper = v.h.Session.Store().Next(v.paper)
	v.of = testStripOf{}
	v.update(v.h.State())
}

// typeMeasure takes a number as it is typed; what is none yet is told and changes
// nothing.
func (v *testStripView) typeMeasure(id, s string) {
	x, err := strconv.ParseFloat(strings.TrimSpace(strings.ReplaceAll(s, ",", ".")), 64)
	if err != nil || !(x >= 0) || x > 1e5 {
		x = math.NaN()
	}
	v.measure[id] = x
	v.lay()
}

// update follows the window's state.
func (v *testStripView) update(now session.State) {
	if now.Picture.Key == 0 {
		v.fail("No picture is open yet. Close this card and open one: the strip is made of its pieces.")
		return
	}
	sh, _ := now.Proof()
	sh.Original, sh.Wrong = false, false
	if v.paper == "" {
		v.paper = sh.Paper
	}
	if _, ok := v.h.Session.Store().Paper(v.paper); !ok {
		v.paper = sh.Paper
	}
	chosen := sh.Setup
	sh.Paper = v.paper
	set := now.Setup(sh)
	set.Dimmed, set.CountWhite = false, false
	of := testStripOf{set: set, picture: now.Picture.Key, pins: now.Pins, n: now.NumPins, library: now.Library, slip: chosen}
	if of == v.of {
		return
	}
	if of.pins != v.of.pins || of.n != v.of.n || len(v.pins) != of.n {
		v.listPins(now)
	}
	v.of = of
	p, _ := v.h.Session.Store().Paper(v.paper)
	v.which.SetText(p.Name + "   (A: next)")
	v.caution.SetText(teststrip.Caution(p.Name))
	v.lay()
}

// listPins makes the pins' ticks; the first four are on.
func (v *testStripView) listPins(now session.State) {
	was := map[string]bool{}
	for _, t := range v.pins {
		was[t.Text] = t.On
	}
	v.pins = nil
	v.pinBox.RemoveAll()
	for i := range now.NumPins {
		on, known := was[now.Pins[i].Name]
		if !known {
			on = i < 4
		}
		t := v.toggle(now.Pins[i].Name, on, "Pieces of the picture round this pin.")
		v.pins = append(v.pins, t)
		v.pinBox.Add(t)
	}
	if now.NumPins == 0 {
		v.pinBox.Add(widget.NewText("none yet: K proposes some on the desk", toolkittheme.SizeNameText, theme.ColorQuiet, false))
	}
	v.side.Refresh()
	v.scroll.Refresh()
}

func (v *testStripView) fail(s string) {
	v.layout, v.pieces, v.problem = nil, nil, s
	v.mu.Lock()
	v.plan = testStripPlan{}
	v.mu.Unlock()
	v.said(s)
	v.write.Off = true
	v.write.Refresh()
	v.preview.Again()
}

func (v *testStripView) said(s string) {
	if v.say.Text != s {
		v.say.SetText(s)
		if v.content != nil {
			v.content.Refresh()
		}
	}
}

// gather makes the material of the strip as a lesson's.
func (v *testStripView) gather(pic *session.Picture) (lesson.Material, error) {
	plan, err := v.engine.Plan(pic, v.of.set)
	if err != nil {
		return lesson.Material{}, err
	}
	m := lesson.Material{Right: plan, Numbers: pic.Levels[0]}
	store := v.h.Session.Store()
	if p, ok := store.Paper(v.paper); ok {
		m.Paper = p.Paper
	}
	if p, ok := store.Paper(v.of.slip.Other); ok {
		m.Others = append(m.Others, p.Paper)
	}
	for _, p := range store.Papers() {
		if p.ID != v.paper && p.ID != v.of.slip.Other {
			m.Others = append(m.Others, p.Paper)
		}
	}
	for _, id := range append([]string{v.of.slip.Reads, "srgb"}, spaceIDs()...) {
		if s, ok := space.ByID(id); ok {
			m.Spaces = append(m.Spaces, proof.SpaceProfile(s))
		}
	}
	m.Spaces, err = lesson.Distinct(v.engine, plan.Source, m.Spaces)
	return m, err
}

func spaceIDs() []string {
	var out []string
	for _, s := range space.All() {
		out = append(out, s.ID)
	}
	return out
}

// lay makes the layout anew and has the preview painted.
func (v *testStripView) lay() {
	if v.of.picture == 0 {
		return // before the first update
	}
	for _, m := range testStripMeasures {
		if x := v.measure[m.id]; math.IsNaN(x) || x <= 0 && m.id != "border" {
			v.fail("‘" + m.text + "’ is no size: type a number of " + map[string]string{"mm": "millimetres", "ppi": "pixels per inch"}[m.unit] + ".")
			return
		}
	}
	pic := v.h.Session.Store().Picture(v.of.picture)
	if pic == nil || len(pic.Levels) == 0 {
		v.fail("The picture is no longer open.")
		return
	}
	m, err := v.gather(pic)
	if err != nil {
		v.fail("This strip can’t be made. " + session.Explain(err, "").Headline)
		return
	}
	var intents []proof.Intent
	// Relative first: it is what a print is usually compared with.
	for _, i := range []proof.Intent{proof.RelativeColorimetric, proof.Perceptual, proof.Saturation, proof.AbsoluteColorimetric} {
		if v.intents[i].On {
			intents = append(intents, i)
		}
	}
	var mistakes []string
	for k, t := range v.slips {
		if t.On {
			mistakes = append(mistakes, v.slipIDs[k])
		}
	}
	var pins []pin.Pin
	for i, t := range v.pins {
		if t.On {
			pins = append(pins, v.of.pins[i])
		}
	}
	ways, left := teststrip.Ways(m, intents, v.right.On, mistakes)
	v.left = left
	v.order = teststrip.Order{Numbers: m.Numbers, Pins: pins, Ways: ways, Paper: m.Right.Paper,
		Width: v.measure["w"], Height: v.measure["h"],
		Sheet: teststrip.Sheet{Width: v.measure["sheetw"], Height: v.measure["sheeth"], PPI: v.measure["ppi"], Border: v.measure["border"]}}
	layout, pieces, err := v.order.Lay()
	if err != nil {
		// What was laid out before is gone: its sizes are not those on the card.
		v.fail(v.order.Explain(err))
		return
	}
	v.layout, v.pieces, v.problem = layout, pieces, ""
	paperPlan := proof.Plan{Source: m.Right.Paper, Paper: m.Right.Paper, White: m.Right.White, Screen: m.Right.Screen}
	v.mu.Lock()
	v.plan = testStripPlan{layout: layout, pieces: pieces, levels: pic.Levels, paper: paperPlan}
	v.mu.Unlock()
	v.write.Off = v.job != nil
	v.write.Refresh()
	v.said(v.summary(pic))
	v.sample(ways, paperPlan)
	v.preview.Again()
}

// summary says what the strip holds.
func (v *testStripView) summary(pic *session.Picture) string {
	mm := func(px int) float64 { return float64(px) / v.measure["ppi"] * 25.4 }
	s := fmt.Sprintf("%s of %.0f by %.0f mm. At %g ppi the whole picture prints %.0f by %.0f mm.", count(len(v.pieces), "piece"),
		mm(v.pieces[0].From.Dx()), mm(v.pieces[0].From.Dy()), v.measure["ppi"], mm(pic.Info.W), mm(pic.Info.H))
	if v.pieces[0].From.Dx() == pic.Info.W || v.pieces[0].From.Dy() == pic.Info.H {
		s += " No piece can be larger than the picture."
	}
	return strings.Join(append([]string{s}, v.left...), " ")
}

// sample makes what the preview needs, each once.
func (v *testStripView) sample(ways []teststrip.Way, bare proof.Plan) {
	var plans []proof.Plan
	v.mu.Lock()
	if k := bare.Key(); !v.asked[k] {
		v.asked[k] = true
		plans = append(plans, bare)
	}
	for _, w := range ways {
		if k := w.Plan.Key(); !v.asked[k] {
			v.asked[k] = true
			plans = append(plans, w.Plan)
		}
	}
	v.mu.Unlock()
	if len(plans) == 0 {
		return
	}
	go func() {
		for _, p := range plans {
			var g *proof.Grid
			ground, err := lesson.Ground(v.engine, p)
			if err == nil && p.Key() != bare.Key() {
				g, err = v.engine.Grid(v.ctx, p, proof.Good)
			}
			if v.ctx.Err() != nil {
				return
			}
			v.h.Session.Post(func() {
				if v.ctx.Err() != nil {
					return
				}
				if err != nil {
					v.tell("A piece can’t be shown. " + session.Explain(err, "").Headline)
					return
				}
				v.mu.Lock()
				v.grids[p.Key()], v.ground[p.Key()] = g, ground
				v.mu.Unlock()
				v.preview.Again()
			})
		}
	}()
}

// paint shows the strip as it will lie: pieces, labels, cut marks.
func (v *testStripView) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	v.mu.Lock()
	p := v.plan
	v.mu.Unlock()
	if p.layout == nil {
		return img, nil
	}
	v.mu.Lock()
	ground, known := v.ground[p.paper.Key()]
	v.mu.Unlock()
	if !known {
		ground = color.RGBA{240, 240, 240, 255}
	}
	margin := 14 * scale
	s := math.Min((float64(w)-2*margin)/float64(p.layout.W), (float64(h)-2*margin)/float64(p.layout.H))
	if s <= 0 {
		return img, nil
	}
	x0 := (float64(w) - s*float64(p.layout.W)) / 2
	y0 := (float64(h) - s*float64(p.layout.H)) / 2
	at := func(r image.Rectangle) image.Rectangle {
		round := func(o float64, v int) int { return int(math.Round(o + s*float64(v))) }
		return image.Rect(round(x0, r.Min.X), round(y0, r.Min.Y), max(round(x0, r.Max.X), round(x0, r.Min.X)+1), max(round(y0, r.Max.Y), round(y0, r.Min.Y)+1))
	}
	draw.Draw(img, at(image.Rect(0, 0, p.layout.W, p.layout.H)), image.NewUniform(ground), image.Point{}, draw.Src)
	ink := color.RGBA{40, 40, 40, 255}
	for _, m := range p.layout.Marks {
		draw.Draw(img, at(m), image.NewUniform(ink), image.Point{}, draw.Src)
	}
	var said []widget.Word
	for i, c := range p.layout.Cells {
		to := at(c.Tile)
		piece := p.pieces[i]
		v.mu.Lock()
		g := v.grids[piece.Way.Plan.Key()]
		v.mu.Unlock()
		if g == nil {
			draw.Draw(img, to, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
			said = append(said, widget.Word{Text: "…", X: float64(to.Min.X+to.Max.X) / 2, Y: float64(to.Min.Y+to.Max.Y) / 2, Align: fyne.TextAlignCenter, Size: 15, Ink: color.White})
			continue
		}
		px, err := cutOut(v.ctx, p.levels, piece.From, to.Dx(), to.Dy())
		if err != nil {
			return nil, nil
		}
		tight := make([]uint8, px.W*px.H*4)
		if g.Proof(v.ctx, tight, px) != nil {
			return nil, nil
		}
		for row := range px.H {
			copy(img.Pix[img.PixOffset(to.Min.X, to.Min.Y+row):], tight[row*px.W*4:(row+1)*px.W*4])
		}
		if len(c.Lines) > 0 {
			box := at(c.Label)
			step := float64(box.Dy()) / float64(len(c.Lines))
			for k, line := range c.Lines {
				said = append(said, widget.Word{Text: line, X: float64(box.Min.X), Y: float64(box.Min.Y) + step*(float64(k)+0.5),
					Size: float32(step / 1.25 / scale * 0.92), Ink: ink})
			}
		}
	}
	return img, said
}

// cutOut samples a part of a picture to a size in pixels.
func cutOut(ctx context.Context, levels []raster.Pixels, from image.Rectangle, w, h int) (raster.Pixels, error) {
	s := float64(w) / float64(max(from.Dx(), 1))
	px := raster.Sample(ctx, levels, raster.View{Visible: image.Rect(0, 0, w, h), Scale: s,
		X0: -int(math.Round(float64(from.Min.X) * s)), Y0: -int(math.Round(float64(from.Min.Y) * s))})
	return px, ctx.Err()
}

// askFile asks where the print file is to be written.
func (v *testStripView) askFile() {
	if v.layout == nil || v.job != nil {
		return
	}
	now := v.h.State()
	p, _ := v.h.Session.Store().Paper(v.paper)
	name := strings.TrimSuffix(now.Picture.Name, filepath.Ext(now.Picture.Name))
	var d *dialog.CustomDialog
	sure := false
	note := widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	path := newField(filepath.Join(homeFor(now.Picture.Path), fileSafe(name+" strip for "+p.Name)+".tif"),
		func(string) { sure = false; note.SetText("") }, nil, func() { d.Hide() })
	folder := widget.NewPress("Another folder…", func() {
		askFolder(v.h, filepath.Dir(path.Text), func(dir string) { path.SetText(filepath.Join(dir, filepath.Base(path.Text))) })
	})
	go2 := func() {
		s := strings.TrimSpace(path.Text)
		switch strings.ToLower(filepath.Ext(s)) {
		case ".tif", ".tiff", ".png":
		default:
			note.SetText("The name must end in .tif or .png: both hold the strip’s 16 bits.")
			return
		}
		for _, f := range []string{s, teststrip.TextFile(s)} {
			if _, err := os.Stat(f); err == nil && !sure {
				sure = true
				note.SetText("‘" + filepath.Base(f) + "’ is there already. Once more replaces it.")
				return
			}
		}
		d.Hide()
		v.writeFile(s)
	}
	path.OnSubmitted = func(string) { go2() }
	label := widget.NewText("File", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	about := widget.NewProse(teststrip.Caution(p.Name)+" A text of the same name says so, and what each piece is.", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5)
	body := container.New(freeLayout{fyne.NewSize(620, 190), func(s fyne.Size) {
		set(label, 0, 0, s.Width, 22)
		set(path, 0, 26, s.Width-160, 38)
		set(folder, s.Width-150, 28, 150, 34)
		set(about, 0, 76, s.Width, 84)
		set(note, 0, 164, s.Width, 44)
	}}, label, path, folder, about, note)
	d = dialog.NewCustomWithoutButtons("Print file of the strip", body, v.h.Window)
	d.SetButtons([]fyne.CanvasObject{widget.NewPress("Leave it", func() { d.Hide() }), widget.NewPress("Write it", go2)})
	s := v.h.Window.Canvas().Size()
	d.Resize(fyne.NewSize(min(s.Width-60, 760), 340))
	escape(v.h, d)
	d.Show()
	focusSoon(v.h, path)
}

// writeFile writes the file away from the drawing goroutine.
func (v *testStripView) writeFile(path string) {
	order := v.order
	p, _ := v.h.Session.Store().Paper(v.paper)
	opt := teststrip.Options{Bare: v.bare, Card: p.Card, Keep: keepOriginal(v.h)}
	ctx, stop := context.WithCancel(v.ctx)
	v.job = stop
	v.halt.Show()
	v.write.Off = true
	v.write.Refresh()
	v.foot.SetText("The strip is being made …")
	v.content.Refresh()
	go func() {
		err := order.Write(ctx, v.engine, path, opt, func(done float64) {
			v.h.Session.Post(func() {
				if v.job != nil && ctx.Err() == nil {
					v.foot.SetText(fmt.Sprintf("The strip: %s done …", words.Share(done)))
				}
			})
		})
		v.h.Session.Post(func() {
			stop()
			if v.ctx.Err() != nil {
				return
			}
			v.job = nil
			v.halt.Hide()
			v.write.Off = v.layout == nil
			v.write.Refresh()
			v.content.Refresh()
			v.foot.SetText(outcome(fmt.Sprintf("The strip is written: %s, and beside it %s, which says how to print it.", path, filepath.Base(teststrip.TextFile(path))), err, path))
		})
	}()
}
