package view

import (
	"fmt"
	"image/color"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

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
	sh, n := now.Proof()
	b.updatePapers(now, sh)
	b.updateConversion(now, sh, n)
	b.updateLooking(now, sh, n)
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

func (b *bench) updatePapers(now session.State, sh session.Sheet) {
	if b.library != now.Library {
		b.library = now.Library
		b.papers.RemoveAll()
		clear(b.rows)
		for _, p := range b.h.Session.Store().Papers() {
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
}

func (b *bench) updateConversion(now session.State, sh session.Sheet, n int) {
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
