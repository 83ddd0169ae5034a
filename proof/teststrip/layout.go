package teststrip

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Cell is one piece to place: its size in pixels and what is written below it.
type Cell struct {
	W, H  int
	Label string
}

// Sheet is the offcut.
type Sheet struct {
	// Width and Height in millimetres.
	Width, Height float64
	// PPI is the print's resolution in pixels per inch.
	PPI float64
	// Border is what the printer leaves white at every edge, in millimetres.
	Border float64
}

// Measures of a strip, in millimetres. Own choice.
const (
	Gap       = 5.0  // between cells, room for two cut marks
	markLong  = 2.0  // of a cut mark
	markWide  = 0.15 // of a cut mark
	labelGap  = 1.0  // between a piece and its label
	labelSize = 2.3  // text height (em), about 6.5 points
	labelLead = 1.25
	mostLines = 4
)

// Limits.
const (
	MaxCells  = 400
	MaxPixels = 400e6 // a metre by half a metre at 720 ppi
)

// Placed is a cell in its place; rectangles are in pixels of the sheet.
type Placed struct {
	Tile  image.Rectangle
	Label image.Rectangle
	Lines []string // of the label
}

// Layout is a laid-out strip.
type Layout struct {
	W, H  int // pixels
	PPI   float64
	Cells []Placed // in the order they were given
	// Marks are the cut marks, filled rectangles.
	Marks []image.Rectangle

	em float64 // of labels, pixels
}

// SizeError says that a strip can't be laid out, and what could be.
type SizeError struct {
	// Asked is how many cells there are, Fit how many of them, from the first
	// on, have room.
	Asked, Fit int
	// Needs is the height in millimetres that a sheet of the same width needs
	// for all; 0 when no height helps, because a cell is too wide.
	Needs float64
	// Wide is the index of the first cell that is wider than the sheet, -1 when
	// none is, and WideMM the width in millimetres that it needs.
	Wide   int
	WideMM float64
}

func (e *SizeError) Error() string {
	if e.Wide >= 0 {
		return fmt.Sprintf("teststrip: piece %d needs a sheet %.0f mm wide", e.Wide+1, math.Ceil(e.WideMM))
	}
	return fmt.Sprintf("teststrip: %d of %d pieces fit; all need a sheet %.0f mm high", e.Fit, e.Asked, math.Ceil(e.Needs))
}

// ErrEmpty is returned for a strip without pieces, an order without pins or ways.
var ErrEmpty = errors.New("teststrip: no pieces")

func newFace(em float64) (font.Face, error) {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: em, DPI: 72, Hinting: font.HintingNone})
}

// NewLayout lays the cells out in rows, in their order, from the top left. It returns a
// *SizeError when they do not fit.
func NewLayout(cells []Cell, s Sheet) (*Layout, error) {
	if len(cells) == 0 {
		return nil, ErrEmpty
	}
	if len(cells) > MaxCells {
		return nil, fmt.Errorf("teststrip: %d pieces, more than %d", len(cells), MaxCells)
	}
	if !(s.PPI >= 36 && s.PPI <= 2880) || !(s.Width > 0 && s.Height > 0 && s.Border >= 0) {
		return nil, fmt.Errorf("teststrip: sheet of %g by %g mm with a border of %g mm at %g ppi", s.Width, s.Height, s.Border, s.PPI)
	}
	px := func(mm float64) int { return int(math.Round(mm / 25.4 * s.PPI)) }
	if w, h := s.Width/25.4*s.PPI, s.Height/25.4*s.PPI; w < 1 || h < 1 || w*h > MaxPixels {
		return nil, fmt.Errorf("teststrip: sheet of %.0f by %.0f pixels", w, h)
	}
	l := &Layout{W: px(s.Width), H: px(s.Height), PPI: s.PPI, em: labelSize / 25.4 * s.PPI}
	face, err := newFace(l.em)
	if err != nil {
		return nil, err
	}
	defer face.Close()

	// Cut marks stand outside the pieces, so half a gap is kept all round.
	edge, gap := px(s.Border+Gap/2), px(Gap)
	line := int(math.Ceil(l.em * labelLead))
	for i, c := range cells {
		if c.W <= 0 || c.H <= 0 {
			return nil, fmt.Errorf("teststrip: piece %d is %d by %d pixels", i+1, c.W, c.H)
		}
		if c.W+2*edge > l.W {
			return nil, &SizeError{Asked: len(cells), Fit: i, Wide: i, WideMM: float64(c.W)/s.PPI*25.4 + 2*(s.Border+Gap/2)}
		}
	}
	x, y, row := edge, edge, 0
	fit := -1
	for i, c := range cells {
		if x > edge && x+c.W > l.W-edge {
			x, y, row = edge, y+row+gap, 0
		}
		p := Placed{Tile: image.Rect(x, y, x+c.W, y+c.H), Lines: wrap(face, c.Label, c.W)}
		bottom := p.Tile.Max.Y
		if len(p.Lines) > 0 {
			p.Label = image.Rect(x, bottom+px(labelGap), x+c.W, bottom+px(labelGap)+line*len(p.Lines))
			bottom = p.Label.Max.Y
		}
		if bottom > l.H-edge && fit < 0 {
			fit = i
		}
		l.Cells = append(l.Cells, p)
		row = max(row, bottom-y)
		x += c.W + gap
	}
	if fit >= 0 {
		return nil, &SizeError{Asked: len(cells), Fit: fit, Needs: float64(y+row+edge) / s.PPI * 25.4, Wide: -1}
	}
	l.marks(px(markLong), max(1, px(markWide)))
	return l, nil
}

// marks puts two lines at every corner of a piece, a little outside it.
func (l *Layout) marks(long, wide int) {
	off := max(1, long/4)
	for _, c := range l.Cells {
		t := c.Tile
		below := t.Max.Y
		for _, corner := range []struct{ x, y, dx, dy int }{
			{t.Min.X, t.Min.Y, -1, -1}, {t.Max.X, t.Min.Y, 1, -1}, {t.Min.X, below, -1, 1}, {t.Max.X, below, 1, 1},
		} {
			l.Marks = append(l.Marks, span(corner.x+corner.dx*off, corner.x+corner.dx*(off+long), corner.y-wide/2, corner.y-wide/2+wide))
			if corner.dy > 0 && len(c.Lines) > 0 {
				continue // the label is there
			}
			l.Marks = append(l.Marks, span(corner.x-wide/2, corner.x-wide/2+wide, corner.y+corner.dy*off, corner.y+corner.dy*(off+long)))
		}
	}
}

func span(x0, x1, y0, y1 int) image.Rectangle { return image.Rect(x0, y0, x1, y1) }

// wrap breaks a label into at most mostLines lines of the width; a word that is
// too long, and a last line that has more to say, end in an ellipsis.
func wrap(face font.Face, label string, width int) []string {
	limit := fixed.I(width)
	shorten := func(s string) string {
		if font.MeasureString(face, s) <= limit {
			return s
		}
		r := []rune(s)
		for len(r) > 0 && font.MeasureString(face, string(r)+"…") > limit {
			r = r[:len(r)-1]
		}
		return string(r) + "…"
	}
	var lines []string
	for _, part := range strings.Split(label, "\n") {
		current := ""
		for _, word := range strings.Fields(part) {
			next := word
			if current != "" {
				next = current + " " + word
			}
			if current != "" && font.MeasureString(face, next) > limit {
				lines = append(lines, shorten(current))
				next = word
			}
			current = next
		}
		if current != "" {
			lines = append(lines, shorten(current))
		}
	}
	if len(lines) > mostLines {
		rest := strings.Join(lines[mostLines-1:], " ")
		lines = append(lines[:mostLines-1], shorten(rest))
	}
	return lines
}

// Tile is a piece in the printer's numbers: W*H*Channels, interleaved, rows from
// the top.
type Tile struct {
	W, H int
	Pix  []uint16
}

// Image is a strip in the printer's numbers, ready to be written.
type Image struct {
	W, H, Channels int
	Pix            []uint16
	PPI            float64
}

// Draw composes the strip. tiles are the pieces in the order of the cells; white
// are the numbers of bare paper, black those that labels and marks are printed
// in, a number for each channel.
func (l *Layout) Draw(tiles []Tile, white, black []uint16) (*Image, error) {
	n := len(white)
	if n == 0 || len(black) != n {
		return nil, fmt.Errorf("teststrip: white of %d and black of %d channels", n, len(black))
	}
	if len(tiles) != len(l.Cells) {
		return nil, fmt.Errorf("teststrip: %d tiles for %d cells", len(tiles), len(l.Cells))
	}
	for i, t := range tiles {
		if r := l.Cells[i].Tile; t.W != r.Dx() || t.H != r.Dy() || len(t.Pix) != t.W*t.H*n {
			return nil, fmt.Errorf("teststrip: tile %d is %d by %d with %d numbers, its cell %d by %d of %d channels", i+1, t.W, t.H, len(t.Pix), r.Dx(), r.Dy(), n)
		}
	}
	face, err := newFace(l.em)
	if err != nil {
		return nil, err
	}
	defer face.Close()

	out := &Image{W: l.W, H: l.H, Channels: n, PPI: l.PPI, Pix: make([]uint16, l.W*l.H*n)}
	for i := 0; i < len(out.Pix); i += n {
		copy(out.Pix[i:], white)
	}
	bounds := image.Rect(0, 0, l.W, l.H)
	for i, t := range tiles {
		r := l.Cells[i].Tile
		for y := range t.H {
			at := ((r.Min.Y+y)*l.W + r.Min.X) * n
			copy(out.Pix[at:at+t.W*n], t.Pix[y*t.W*n:])
		}
		out.label(face, l.Cells[i], l.em, white, black)
	}
	for _, m := range l.Marks {
		m = m.Intersect(bounds)
		for y := m.Min.Y; y < m.Max.Y; y++ {
			for x := m.Min.X; x < m.Max.X; x++ {
				copy(out.Pix[(y*l.W+x)*n:], black)
			}
		}
	}
	return out, nil
}

// label writes a cell's lines; soft edges are mixed of white and black numbers.
func (m *Image) label(face font.Face, c Placed, em float64, white, black []uint16) {
	if len(c.Lines) == 0 {
		return
	}
	box := c.Label
	mask := image.NewAlpha(image.Rect(0, 0, box.Dx(), box.Dy()))
	d := font.Drawer{Dst: mask, Src: image.Opaque, Face: face}
	step := box.Dy() / len(c.Lines)
	for i, s := range c.Lines {
		d.Dot = fixed.P(0, i*step+int(em*0.95))
		d.DrawString(s)
	}
	n := m.Channels
	for y := range box.Dy() {
		for x := range box.Dx() {
			a := float64(mask.AlphaAt(x, y).A) / 255
			if a == 0 {
				continue
			}
			at := ((box.Min.Y+y)*m.W + box.Min.X + x) * n
			for k := range n {
				w, b := float64(white[k]), float64(black[k])
				m.Pix[at+k] = uint16(math.Round(w + (b-w)*a))
			}
		}
	}
}
