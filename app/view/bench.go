package view

import (
	"cmp"
	"image/color"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// bench is the lower part of the window: one low row with paper, intent, compensation and
// white, and above it, on demand, the table of pins and a panel with the papers, the
// picture's numbers and the ways of looking.
type bench struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	rule   *canvas.Line

	// The low row.
	paper             *widget.Press
	intent            *widget.Choice
	comp              *widget.Toggle
	white             *widget.Choice
	idle              *canvas.Text // why compensation does nothing, where there is room
	said              string       // the same whole
	foldMore, foldPin *widget.Toggle

	// What unfolds.
	pins   *pinTable
	groups [3]*fyne.Container // papers, numbers, looking
	lines  [3]*canvas.Line    // above the row, and between the groups

	library int
	chosen  string // the paper whose line was last brought into sight
	papers  *widget.List
	seek    *widget.Field // shown where there are many papers
	sought  string
	ids     []string // of the papers in the list, "" for a heading

	notes  *widget.Prose
	source *widget.Press

	overlays  []overlaySwitch
	limit     *widget.Choice
	count     *widget.Toggle
	tooBright *widget.Toggle
	key       *widget.BandKey

	more, pinsOpen bool
	low            bool // the window is too low for table and panel together
}

// overlaySwitch is the switch of an overlay.
type overlaySwitch struct {
	id     string
	toggle *widget.Toggle
}

const (
	rowHeight   = 46  // the low row
	panelHeight = 230 // the groups: six papers are seen
	panelLow    = 200 // in a low window: five
	headRow     = 30
)

func newBench(h *Host) *bench {
	b := &bench{h: h, ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rule: canvas.NewLine(widget.Color(theme.ColorLine)), library: -1}
	b.pins = newPinTable(h)
	b.makeRow()
	b.makePapers()
	b.makeNumbers()
	b.makeLooking()
	b.objs = []fyne.CanvasObject{b.ground, b.rule, b.pins}
	for i := range b.lines {
		b.lines[i] = canvas.NewLine(widget.Color(theme.ColorLine))
		b.objs = append(b.objs, b.lines[i])
	}
	for _, g := range b.groups {
		b.objs = append(b.objs, g)
	}
	b.objs = append(b.objs, b.paper, b.intent, b.comp, b.white, b.idle, b.foldMore, b.foldPin)
	b.place = b.arrange
	b.ExtendBaseWidget(b)
	b.unfold()
	return b
}

// unfold shows what is unfolded: in a low window the table of pins or the panel.
func (b *bench) unfold() {
	panel := b.more && !(b.low && b.pinsOpen)
	show(b.pins, b.pinsOpen)
	for _, g := range b.groups {
		show(g, panel)
	}
	show(b.lines[0], panel || b.pinsOpen)
	show(b.lines[1], panel)
	show(b.lines[2], panel)
}

func (b *bench) heightFor(float32) float32 {
	h := float32(rowHeight)
	if b.pinsOpen {
		h += b.pins.height() + 4
	}
	if b.more && !(b.low && b.pinsOpen) {
		h += b.panel()
	}
	return h
}

func (b *bench) arrange(size fyne.Size) {
	b.unfold()
	b.ground.Resize(size)
	across := func(l *canvas.Line, y float32) {
		l.Position1, l.Position2 = fyne.NewPos(0, y), fyne.NewPos(size.Width, y)
	}
	across(b.rule, 0)
	y := float32(0)
	if b.pinsOpen {
		set(b.pins, pad, 4, size.Width-2*pad, b.pins.height())
		y += b.pins.height() + 4
	}
	if b.groups[0].Visible() {
		b.arrangePanel(size.Width, y+6)
		y += b.panel()
	}
	across(b.lines[0], y)
	b.arrangeRow(size.Width, y+(rowHeight-32)/2)
}

// panel is how high the groups are.
func (b *bench) panel() float32 {
	if b.low {
		return panelLow
	}
	return panelHeight
}

// arrangePanel sets the groups side by side.
func (b *bench) arrangePanel(width, y float32) {
	const gap = 28
	w := width - 2*pad - 2*gap
	ws := [3]float32{w * 0.3, w * 0.27, w * 0.43}
	x := float32(pad)
	for i, g := range b.groups {
		set(g, x, y, ws[i], b.panel()-12)
		x += ws[i] + gap
		if i < 2 {
			l := b.lines[i+1]
			l.Position1, l.Position2 = fyne.NewPos(x-gap/2, y+4), fyne.NewPos(x-gap/2, y+b.panel()-18)
		}
	}
}

// arrangeRow sets the low row: what decides the print from the left, what unfolds at the
// right, and between them why compensation does nothing, if there is room.
func (b *bench) arrangeRow(width, y float32) {
	gap := float32(8)
	if !narrow(width) {
		gap = 16
	}
	right := width - pad
	for _, t := range []*widget.Toggle{b.foldMore, b.foldPin} {
		w := t.MinSize().Width + 2
		right -= w
		set(t, right, y+1, w, 30)
		right -= gap
	}
	x := float32(pad)
	put := func(o fyne.CanvasObject, w float32) {
		set(o, x, y, w, 32)
		x += w + gap
	}
	room := right - x - b.comp.MinSize().Width - 3*gap
	put(b.paper, min(max(room*0.18, 112), 230))
	put(b.intent, min(max(room*0.5, 300), 420))
	put(b.comp, b.comp.MinSize().Width+2)
	put(b.white, min(max(right-x, 120), 250))
	size := widget.Size(toolkittheme.SizeNameCaptionText)
	b.idle.Text = widget.Shorten(b.said, right-x, size, fyne.TextStyle{})
	b.idle.Move(fyne.NewPos(x, y+(32-widget.Least(b.idle).Height)/2))
	show(b.idle, right-x > 90 && b.said != "")
	b.idle.Refresh()
}

func (b *bench) update(now session.State) {
	sh, n := now.Proof()
	b.updatePapers(now, sh)
	b.updateConversion(now, sh, n)
	b.updateLooking(now, sh, n)
	b.foldMore.Set(now.Folds.Looking)
	b.foldPin.Set(now.Folds.Pins)
	if now.Folds.Looking != b.more || now.Folds.Pins != b.pinsOpen || b.Size().Width == 0 {
		b.more, b.pinsOpen = now.Folds.Looking, now.Folds.Pins
		b.unfold()
		b.Refresh()
	}
	if b.pinsOpen {
		b.pins.update(now)
	}
}

func (b *bench) updatePapers(now session.State, sh session.Sheet) {
	if b.library == now.Library && b.chosen == sh.Paper && b.sought == b.seek.Text {
		return
	}
	moved := b.chosen != sh.Paper
	b.library, b.chosen, b.sought = now.Library, sh.Paper, b.seek.Text
	all := b.h.Session.Store().Papers()
	items, ids := paperItems(b.h.Session.Store(), sh.Paper, b.sought)
	at := slices.Index(ids, sh.Paper)
	if !moved {
		at = min(b.papers.At(), len(items)-1)
	}
	b.ids = ids
	show(b.seek, len(all) >= seekFrom || b.sought != "")
	b.papers.SetItems(items, at)
}

func (b *bench) updateConversion(now session.State, sh session.Sheet, n int) {
	b.paper.SetText(paperName(b.h.Session.Store(), sh.Paper) + " ▾")
	b.intent.Set(int(sh.Intent))
	// The route that is shown decides: a slip can leave compensation out.
	b.comp.Set(sh.BPC && !(n >= 0 && sh.Wrong && leftOut(now.Results[n].Route)))
	said, notes := "", ""
	if n >= 0 {
		said, notes = now.Results[n].Route.Idle, now.Results[n].Route.Note
	}
	if said != "" {
		said = "Compensation " + said
	}
	if said != b.said {
		b.said = said
		b.arrange(b.Size())
	}
	b.comp.Explain(cmp.Or(said, compensationHelp)+" (C)", b.h.Hint)
	if notes = strings.TrimSpace(strings.Join([]string{words.Stop(said), notes}, " ")); b.notes.Text != notes {
		b.notes.SetText(notes)
		b.groups[1].Refresh()
	}
	b.white.Set(slices.Index(whites[:], sh.White))
	b.source.SetText(sourceName(now.Picture))
}

// leftOut tells whether a route leaves compensation out by mistake.
func leftOut(r session.Route) bool {
	for _, s := range r.Stations[:r.N] {
		if s.Fault == proof.LeftOut {
			return true
		}
	}
	return false
}

func (b *bench) updateLooking(now session.State, sh session.Sheet, n int) {
	l := now.Looking
	for _, o := range b.overlays {
		o.toggle.Set(l.Overlays.Has(o.id))
	}
	if i := slices.Index(limits[:], l.Threshold); i >= 0 {
		b.limit.Set(i)
	}
	lies, _ := b.h.Session.Store().Paper(sh.Paper)
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
}

// limits are where the reach bands may begin, in ΔE00, in the order of their switch.
var limits = [4]float64{1, 2, 4, 8}

// seen is a colour on an sRGB screen, for swatches.
func seen(c cie.Lab) color.RGBA { return raster.RGBA(space.SRGB().FromLab(c)) }

// whites are the ways to show a sheet's white, in the order of their switch.
var whites = [2]proof.White{proof.PaperWhite, proof.ScreenWhite}
