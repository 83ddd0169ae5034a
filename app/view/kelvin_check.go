package view

import (
	"fmt"
	"image"
	"image/color"
	"sync/atomic"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/light"
)

// checkLeaf is the check by eye: patches of exact bytes, and questions what is seen of
// them.
type checkLeaf struct {
	h     *Host
	patch *widget.Drawing
	greys atomic.Pointer[light.Greys] // nil until they are known; the painter reads them

	dark, pale         *widget.Choice
	darkSeen, paleSeen int // the first field that is seen, -1 for not told
	darkTold, paleTold *widget.Prose
	linesTold          *widget.Prose
}

func newCheckLeaf(h *Host, w *work, foot *footer) *checkLeaf {
	l := &checkLeaf{h: h, darkSeen: -1, paleSeen: -1, darkTold: prose("", 3), paleTold: prose("", 3), linesTold: prose("", 3)}
	l.patch = w.drawing(l.paint)
	ask := func(steps []uint8, c **widget.Choice, seen *int, help string) {
		names := []string{}
		for i := range steps {
			names = append(names, fmt.Sprint(i+1))
		}
		*c = widget.NewChoice(append(names, "none"), -1, func(i int) { *seen = i; (*c).Set(i); l.tell() })
		(*c).Explain(help, foot.tell)
	}
	ask(light.DarkSteps(), &l.dark, &l.darkSeen, "The first field of the dark row that you can tell from the black round it, counted from the left.")
	ask(light.PaleSteps(), &l.pale, &l.paleSeen, "The first field of the light row that you can tell from the white round it, counted from the left.")
	l.tell()
	return l
}

func (l *checkLeaf) box() *fyne.Container {
	askDark, askPale := prose("First field you see in the dark row", 1), prose("First field you see in the light row", 1)
	greys := prose("Greys: every field has one number for red, green and blue. If one looks tinted beside the others, the calibration is off there.", 3)
	return container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const gap = 28
		told := proseHeight(3)
		low := 62 + told + 6 + told
		set(l.patch, 0, 0, s.Width, max(s.Height-low-12, 120))
		y := max(s.Height-low, 132)
		w := (s.Width - gap) / 2
		for i, o := range [2][4]fyne.CanvasObject{{askDark, l.dark, l.darkTold, greys}, {askPale, l.pale, l.paleTold, l.linesTold}} {
			x := float32(i) * (w + gap)
			set(o[0], x, y, w, 22)
			set(o[1], x, y+24, w, 32)
			set(o[2], x, y+62, w, told)
			set(o[3], x, y+62+told+6, w, told)
		}
	}}, l.patch, askDark, askPale, l.dark, l.pale, l.darkTold, l.paleTold, greys, l.linesTold)
}

func (l *checkLeaf) turned()                     { l.patch.Again() }
func (l *checkLeaf) typed(e *fyne.KeyEvent) bool { return false }
func (l *checkLeaf) follow(session.State)        {}

// know takes over what the screen's greys are, nil for not known.
func (l *checkLeaf) know(g *light.Greys) {
	l.greys.Store(g)
	l.patch.Again()
	l.tell()
}

func (l *checkLeaf) tell() {
	paper, black := "", 0.0
	if p, _, ok := proofPaper(l.h); ok && p.Facts != nil {
		paper, black = p.Name, p.Black().L
	}
	g := l.greys.Load()
	l.darkTold.SetText(darkText(g, l.darkSeen, paper, black))
	l.paleTold.SetText(paleText(g, l.paleSeen))
	l.linesTold.SetText(linesText(g))
}

const greysUnknown = "Its lightness is known when the profile is measured out."

// darkText says what it means that seen is the first step from black that is seen.
func darkText(g *light.Greys, seen int, paper string, black float64) string {
	steps := light.DarkSteps()
	end := steps[len(steps)-1]
	switch {
	case seen < 0:
		return "Dim the room, look straight at the screen, and count from the left."
	case g == nil:
		return greysUnknown
	case seen == len(steps):
		return fmt.Sprintf("All up to byte %d (L* %.1f) is one black to you. Shadows can’t be judged on this screen: raise its black, or keep light off it.", end, g.L[end])
	}
	lightness := g.L[steps[seen]]
	s := fmt.Sprintf("You tell byte %d (L* %.1f by the profile) from black; what is darker looks alike to you.", steps[seen], lightness)
	switch {
	case paper == "":
	case lightness < black:
		s += fmt.Sprintf(" %s’s black is L* %.1f: this screen shows you more of the shadows than that paper holds.", paper, black)
	default:
		s += fmt.Sprintf(" %s’s black is L* %.1f: its deepest shadows can’t be judged here.", paper, black)
	}
	return s
}

// paleText says the same of the steps from white.
func paleText(g *light.Greys, seen int) string {
	steps := light.PaleSteps()
	end := steps[len(steps)-1]
	switch {
	case seen < 0:
		return "White fields on white: count from the left."
	case g == nil:
		return greysUnknown
	case seen == len(steps):
		return fmt.Sprintf("All from byte %d (L* %.1f) on is one white to you: the screen’s contrast is set too high, or light falls on it.", end, g.L[end])
	}
	lightness := g.L[steps[seen]]
	return fmt.Sprintf("You tell byte %d (L* %.1f) from white. Highlights that differ by less than %.1f in L* look alike to you.", steps[seen], lightness, 100-lightness)
}

func linesText(g *light.Greys) string {
	if g == nil {
		return "Lines: they are drawn when the profile is measured out."
	}
	return fmt.Sprintf("Lines: from a few steps back they and the even grey between (byte %d, half the light by the profile) look equally bright. "+
		"If not, the screen does not do what its profile says.", g.Half)
}

// eyePatches is the check being painted with exact bytes.
type eyePatches struct {
	*plot.Sheet
	w     int
	scale float64
	words []widget.Word
}

// paint paints four bands from top to bottom, the dark one as far from the white one as
// can be.
func (l *checkLeaf) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	p := &eyePatches{plot.New(w, h, color.RGBA{A: 255}), w, scale, nil}
	band := h / 4
	p.steps(0, band, 0, 72, light.DarkSteps())
	p.steps(3*band, h, 255, 170, light.PaleSteps())
	p.ramp(band, 2*band)
	var half uint8
	if g := l.greys.Load(); g != nil {
		half = g.Half
	}
	p.lines(2*band, 3*band, half)
	return p.Img, p.words
}

// bytes fills a rectangle with a grey.
func (p *eyePatches) bytes(x0, y0, x1, y1 int, v uint8) {
	p.Fill(image.Rect(x0, y0, x1, y1), grey(v))
}

func grey(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }

// steps paints fields on a ground, with their numbers where there is room.
func (p *eyePatches) steps(top, bottom int, ground, ink uint8, levels []uint8) {
	p.bytes(0, top, p.w, bottom, ground)
	cell := p.w / len(levels)
	foot := int(20 * p.scale)
	if bottom-top < 3*foot { // too low for numbers
		foot = 0
	}
	room := bottom - top - foot
	side := max(min(cell*6/10, room*8/10), 4)
	for i, v := range levels {
		x, y := i*cell+(cell-side)/2, top+(room-side)/2+foot/5
		p.bytes(x, y, x+side, y+side, v)
		if foot > 0 {
			p.words = append(p.words, widget.Word{Text: fmt.Sprint(i + 1), X: float64(x + side/2), Y: float64(bottom) - 10*p.scale,
				Align: fyne.TextAlignCenter, Size: 12, Ink: grey(ink)})
		}
	}
}

// ramp paints greys from dark to light without a gap.
func (p *eyePatches) ramp(top, bottom int) {
	const greys = 15
	for i := range greys {
		p.bytes(i*p.w/greys, top, (i+1)*p.w/greys, bottom, uint8(16+i*16))
	}
}

// lines paints rows of black and white in turn beside an even grey of the same luminance
// by the profile; a half of 0 leaves them out.
func (p *eyePatches) lines(top, bottom int, half uint8) {
	p.bytes(0, top, p.w, bottom, half)
	if half == 0 {
		return
	}
	for y := top; y < bottom; y++ {
		v := uint8(255 * ((y - top) % 2))
		for i := range 4 {
			x := p.w*(2*i)/8 + p.w/16
			p.bytes(x, y, x+p.w/8, y+1, v)
		}
	}
}
