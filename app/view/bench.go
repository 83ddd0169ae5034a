package view

import (
	"fmt"
	"image/color"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/overlay"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// bench is the lower part of the window: the table of pins where it is
// unfolded, beneath it the groups Paper, Conversion and Looking.
type bench struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	rule   *canvas.Line
	pins   *pinTable
	cols   [4]*fyne.Container // paper, conversion, looking, folds
	lines  [3]*canvas.Line

	library int
	chosen  string // the paper whose row was last brought into sight
	papers  *fyne.Container
	rows    map[string]*widget.PaperRow
	scroll  *container.Scroll

	intent *widget.Choice
	comp   *widget.Toggle
	idle   *widget.Prose
	white  *widget.Choice
	source *widget.Press

	overlays  []overlaySwitch
	limit     *widget.Choice
	count     *widget.Toggle
	tooBright *widget.Toggle
	key       *widget.BandKey

	foldLooking, foldPins *widget.Toggle
	looking, pinsOpen     bool
	low                   bool // the window is too low for table and groups together
}

// overlaySwitch is the switch of an overlay.
type overlaySwitch struct {
	id     string
	toggle *widget.Toggle
}

const (
	benchHeight = 166
	benchPad    = 7
	headRow     = 30
	foldWidth   = 104
)

func newBench(h *Host) *bench {
	b := &bench{h: h, ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rule: canvas.NewLine(widget.Color(theme.ColorLine)), library: -1, rows: map[string]*widget.PaperRow{}}
	b.pins = newPinTable(h)
	b.makePaper()
	b.makeConversion()
	b.makeLooking()
	b.makeFolds()
	b.objs = []fyne.CanvasObject{b.ground, b.rule, b.pins}
	for i := range b.lines {
		b.lines[i] = canvas.NewLine(widget.Color(theme.ColorLine))
		b.objs = append(b.objs, b.lines[i])
	}
	for _, c := range b.cols {
		b.objs = append(b.objs, c)
	}
	b.place = b.arrange
	b.ExtendBaseWidget(b)
	for _, o := range []fyne.CanvasObject{b.cols[2], b.lines[2], b.pins} {
		o.Hide()
	}
	return b
}

func (b *bench) makePaper() {
	head := heading("Paper")
	add := widget.NewQuiet("add…", func() { b.h.Do(session.AskFor{Ask: session.AskPaper}) })
	add.Explain("Add a printer profile (.icc, .icm) to your papers; dropping one on the window does the same.", b.h.Hint)
	facts := widget.NewQuiet("facts", func() { b.h.Do(session.OpenCard{ID: "facts"}) })
	facts.Explain("What this paper is: white, black, size of its gamut, tables, and what is known of the stock.", b.h.Hint)
	b.papers = container.New(stack{gap: 2})
	b.scroll = container.NewVScroll(b.papers)
	b.cols[0] = container.New(freeLayout{fyne.NewSize(220, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 90, 24)
		set(add, s.Width-70, 0, 70, 28)
		set(facts, s.Width-138, 0, 64, 28)
		set(b.scroll, 0, headRow+2, s.Width, s.Height-headRow-2)
	}}, head, add, facts, b.scroll)
}

func (b *bench) makeConversion() {
	head := heading("Conversion")
	names := []string{}
	for _, i := range proof.Intents() {
		names = append(names, i.Short())
	}
	b.intent = widget.NewChoice(names, 1, func(i int) { b.h.Do(session.SetIntent{Intent: proof.Intent(i)}) })
	b.intent.Explain("Rendering intent: how colours that the paper can’t reach are brought within its reach.", b.h.Hint)
	b.comp = widget.NewToggle("Black point compensation", true, func(on bool) { b.h.Do(session.SetBPC{On: on}) })
	b.comp.Explain("Black point compensation: the picture’s black becomes the paper’s black, and shadows keep their steps.", b.h.Hint)
	b.idle = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	label := widget.NewText("Shown with", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.white = widget.NewChoice([]string{"paper’s white", "screen’s white"}, 0, func(i int) { b.h.Do(session.SetWhite{White: whites[i]}) })
	b.white.Explain("Paper’s white: paper and ink as printed. Screen’s white: the paper’s white shown as white, as an eye used to it sees it.", b.h.Hint)
	numbers := widget.NewText("Numbers are", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.source = widget.NewPress("", func() { b.h.Do(session.AskFor{Ask: session.AskSource}) })
	b.source.Explain("Which space the picture’s numbers are in: what the file says, or where it says nothing, what is assumed.", b.h.Hint)
	b.cols[1] = container.New(freeLayout{fyne.NewSize(360, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 160, 24)
		y := float32(headRow + 2)
		set(b.intent, 0, y, s.Width, 32)
		cw := b.comp.MinSize().Width + 4
		set(b.comp, 0, y+35, cw, 30)
		ih := b.idle.HeightFor(s.Width - cw - 10)
		set(b.idle, cw+10, y+35+(30-ih)/2, s.Width-cw-10, ih)
		const lw = 102
		set(label, 0, y+73, lw, 22)
		set(b.white, lw, y+68, s.Width-lw, 32)
		set(numbers, 0, y+108, lw, 22)
		set(b.source, lw, y+104, s.Width-lw, 30)
	}}, head, b.intent, b.comp, b.idle, label, b.white, numbers, b.source)
}

func (b *bench) change(f func(*session.Looking)) {
	l := b.h.State().Looking
	f(&l)
	b.h.Do(session.SetLooking{Looking: l})
}

func (b *bench) makeLooking() {
	head := heading("Looking")
	for _, o := range overlay.All() {
		if o.Switch == "" {
			continue
		}
		t := widget.NewToggle(o.Switch, false, func(on bool) {
			b.change(func(l *session.Looking) { l.Overlays = l.Overlays.With(o.ID, on) })
		})
		t.Explain(o.Help, b.h.Hint)
		b.overlays = append(b.overlays, overlaySwitch{o.ID, t})
	}
	from := widget.NewText("from", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	b.limit = widget.NewChoice([]string{"1", "2", "4", "8"}, 1, func(i int) {
		b.change(func(l *session.Looking) { l.Threshold = []float64{1, 2, 4, 8}[i] })
	})
	b.limit.Explain("From which ΔE00 on a colour counts as out of reach; 2 is about what an eye sees side by side.", b.h.Hint)
	b.count = widget.NewToggle("Count white", false, func(on bool) { b.change(func(l *session.Looking) { l.CountWhite = on }) })
	b.count.Explain("Figures compare with the eye used to the paper’s white; ticked, the paper’s own tint counts as a difference.", b.h.Hint)
	b.tooBright = widget.NewToggle("Bright screen", false, func(on bool) { b.change(func(l *session.Looking) { l.TooBright = on }) })
	b.tooBright.Explain("How dark prints seem beside a screen of 160 cd/m² in a light of 315 lx: the look is 0.63 times as bright.", b.h.Hint)
	b.key = widget.NewBandKey()
	objs := []fyne.CanvasObject{head, from, b.limit, b.count, b.tooBright, b.key}
	for _, o := range b.overlays {
		objs = append(objs, o.toggle)
	}
	b.cols[2] = container.New(freeLayout{fyne.NewSize(300, benchHeight), func(s fyne.Size) {
		kw := max(min(s.Width-176, 220), 140)
		x := min(s.Width-kw, 200)
		w := x - 8
		set(head, 0, 3, 90, 24)
		y := float32(headRow + 2)
		switches := []fyne.CanvasObject{b.count, b.tooBright}
		for i := range b.overlays {
			switches = slices.Insert(switches, i, fyne.CanvasObject(b.overlays[i].toggle))
		}
		for i, t := range switches {
			set(t, 0, y+float32(i)*34.4, w, 30)
		}
		set(from, x, 4, 40, 22)
		set(b.limit, x+42, 0, kw-42, 28)
		set(b.key, x, headRow+2, kw, s.Height-headRow-2)
	}}, objs...)
}

func (b *bench) makeFolds() {
	head := heading("Unfold")
	fold := func(f func(*session.Folds)) func(bool) {
		return func(bool) {
			s := b.h.State().Folds
			f(&s)
			b.h.Do(session.Unfold{Folds: s})
		}
	}
	b.foldLooking = widget.NewToggle("Looking", false, fold(func(f *session.Folds) { f.Looking = !f.Looking }))
	b.foldLooking.Explain("Reach bands and other ways of looking (L).", b.h.Hint)
	b.foldPins = widget.NewToggle("Pins", false, fold(func(f *session.Folds) { f.Pins = !f.Pins }))
	b.foldPins.Explain("The table of pins: each one’s colour on every sheet (T).", b.h.Hint)
	help := widget.NewPress("Keys", func() { b.h.Do(session.OpenCard{ID: "help"}) })
	help.Explain("All keys and what they do (H).", b.h.Hint)
	b.cols[3] = container.New(freeLayout{fyne.NewSize(foldWidth, benchHeight), func(s fyne.Size) {
		set(head, 0, 3, 100, 24)
		set(b.foldLooking, 0, headRow+3, s.Width, 30)
		set(b.foldPins, 0, headRow+37, s.Width, 30)
		set(help, 0, headRow+2+103, s.Width, 30)
	}}, head, b.foldLooking, b.foldPins, help)
}

func (b *bench) heightFor(w float32) float32 {
	h := float32(benchHeight + 2*benchPad)
	if b.pinsOpen {
		if b.low {
			return max(h, b.pins.height()+4)
		}
		h += b.pins.height()
	}
	return h
}

func (b *bench) arrange(size fyne.Size) {
	b.ground.Resize(size)
	b.rule.Position1, b.rule.Position2 = fyne.NewPos(0, 0), fyne.NewPos(size.Width, 0)
	y := float32(benchPad)
	gap := float32(28)
	if narrow(size.Width) {
		gap = 22
	}
	foldX := size.Width - pad - foldWidth
	groups := !(b.pinsOpen && b.low)
	for i := range 3 {
		show(b.cols[i], groups && (i < 2 || b.looking))
		show(b.lines[i], groups && (i < 2 || b.looking))
	}
	switch {
	case !groups:
		set(b.pins, pad, 4, foldX-gap-pad, b.pins.height())
		set(b.cols[3], foldX, y, foldWidth, benchHeight)
		return
	case b.pinsOpen:
		set(b.pins, pad, 4, size.Width-2*pad, b.pins.height())
		y += b.pins.height()
	}
	w := foldX - gap - pad
	var ws [3]float32
	if b.looking {
		w -= 2 * gap
		ws[0] = min(max(w*0.225, 178), 360)
		ws[1] = min(max(w*0.36, 338), 560)
		ws[2] = min(w-ws[0]-ws[1], 560)
	} else {
		w -= gap
		ws[0] = min(w*0.42, 460)
		ws[1] = min(w-ws[0], 620)
	}
	x := float32(pad)
	for i := range 3 {
		if ws[i] == 0 {
			continue
		}
		set(b.cols[i], x, y, ws[i], benchHeight)
		x += ws[i] + gap
		b.lines[i].Position1, b.lines[i].Position2 = fyne.NewPos(x-gap/2, y+4), fyne.NewPos(x-gap/2, y+benchHeight-4)
	}
	set(b.cols[3], x, y, foldWidth, benchHeight)
}

func (b *bench) update(now session.State) {
	store := b.h.Session.Store()
	sh, n := now.Proof()
	if b.library != now.Library {
		b.library = now.Library
		b.papers.RemoveAll()
		clear(b.rows)
		for _, p := range store.Papers() {
			row := widget.NewPaperRow(p.Name, p.Card.Finish, seen(p.White()), seen(p.Black()), false, func() { b.h.Do(session.SetPaper{ID: p.ID}) })
			row.Explain(paperHint(p), b.h.Hint)
			b.rows[p.ID] = row
			b.papers.Add(row)
		}
	}
	for id, r := range b.rows {
		r.Set(id == sh.Paper)
	}
	if row := b.rows[sh.Paper]; row != nil && b.chosen != sh.Paper {
		b.chosen = sh.Paper
		b.reveal(row)
	}
	b.intent.Set(int(sh.Intent))
	b.comp.Set(sh.BPC)
	idle := ""
	if n >= 0 {
		idle = now.Results[n].Route.Idle
		if idle == "" {
			idle = now.Results[n].Route.Note
		}
	}
	if b.idle.Text != idle {
		b.idle.SetText(idle)
		b.cols[1].Refresh()
	}
	b.white.Set(slices.Index(whites[:], sh.White))
	b.source.SetText(sourceName(now.Picture))
	l := now.Looking
	for _, o := range b.overlays {
		o.toggle.Set(l.Overlays.Has(o.id))
	}
	for i, v := range []float64{1, 2, 4, 8} {
		if v == l.Threshold {
			b.limit.Set(i)
		}
	}
	lies, _ := store.Paper(sh.Paper)
	coarse := n >= 0 && lies.EightBit()
	if coarse != b.limit.Without[0] {
		b.limit.Without = map[int]bool{0: coarse}
		b.limit.Refresh()
	}
	b.count.Set(l.CountWhite)
	b.tooBright.Set(l.TooBright)
	var shares []string
	// Beside a map of differences the shares of the reach would be taken for the map's.
	if n >= 0 && now.Results[n].Measured && sh.Show == session.ShowPicture {
		f := now.Results[n].Figures
		for _, share := range f.Reach[1:] {
			shares = append(shares, words.Share(share))
		}
		shares = append(shares, words.Share(f.Darker))
	}
	b.key.Set(l.Threshold, shares)
	b.foldLooking.Set(now.Folds.Looking)
	b.foldPins.Set(now.Folds.Pins)
	if now.Folds.Looking != b.looking || now.Folds.Pins != b.pinsOpen || b.Size().Width == 0 {
		b.looking, b.pinsOpen = now.Folds.Looking, now.Folds.Pins
		show(b.pins, b.pinsOpen)
		b.Refresh()
	}
	if b.pinsOpen {
		b.pins.update(now)
	}
}

// reveal scrolls the list of papers so that a row is in sight.
func (b *bench) reveal(row *widget.PaperRow) {
	for i, o := range b.papers.Objects {
		if o != row {
			continue
		}
		top := float32(i) * (widget.RowHeight + 2)
		room := b.scroll.Size().Height
		y := min(b.scroll.Offset.Y, top)
		y = max(y, top+widget.RowHeight-room)
		if room > 0 && y != b.scroll.Offset.Y {
			b.scroll.Refresh() // takes in rows that have just come, else the way ends before them
			b.scroll.ScrollToOffset(fyne.NewPos(0, y))
		}
	}
}

func paperHint(p session.Paper) string {
	return fmt.Sprintf("%s: white %s; black L* %s. A: the next paper.",
		strings.TrimSuffix(p.Name, "."), words.Lab(p.White()), words.Whole(p.Black().L))
}

// seen is a colour on an sRGB screen, for swatches.
func seen(c cie.Lab) color.RGBA { return raster.RGBA(space.SRGB().FromLab(c)) }

// whites are the ways to show a sheet's white, in the order of their switch.
var whites = [2]proof.White{proof.PaperWhite, proof.ScreenWhite}

// sourceName says which space the numbers are in, and who says so.
func sourceName(p session.PictureInfo) string {
	if p.Assumed == "" {
		if p.Named == "" {
			return "–"
		}
		return p.Named + " (the file says so)"
	}
	return spaceName(p.Assumed) + " (assumed) ▾"
}

// spaceName names a built-in space, or the file of a profile.
func spaceName(ref string) string {
	if s, ok := space.ByID(ref); ok {
		return s.Name
	}
	return fileName(ref)
}
