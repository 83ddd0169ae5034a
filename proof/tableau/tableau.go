// Package tableau lays finished sheets side by side on one picture, for a slide or a
// client: each on its paper's white with its legend beneath and its pins marked, a
// sentence under all, and the caution in the foot line.
//
// It computes no colour. The pictures come in as what a screen is told, and what comes
// out is for the same screen: whoever writes it embeds that screen's profile. The
// ground is neutral, so that it flatters no sheet.
package tableau

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Sheet is one finished sheet.
type Sheet struct {
	Picture *image.RGBA
	// Paper is its paper's white, which borders the picture.
	Paper color.RGBA
	// Title is its name, Legend the lines beneath.
	Title  string
	Legend []string
}

// Mark is a pin at a place given in fractions of the picture.
type Mark struct {
	Name string
	X, Y float64
}

// Desk is all that lies side by side. All pictures have one size.
type Desk struct {
	Sheets   []Sheet
	Marks    []Mark
	Sentence string
	// Foot is the last line: the caution.
	Foot string
}

// MaxSheets and MaxPixels bound a tableau: more sheets are none to be compared at a
// look, more pixels no slide.
const (
	MaxSheets = 4
	MaxPixels = 200_000_000
)

// Measures as shares of a picture's longer side.
const (
	border  = 0.03 // of paper around a picture
	gap     = 0.03
	text    = 0.02 // height (em); at least leastEm pixels
	leastEm = 11
	lead    = 1.35
)

// ground is a neutral grey, dark enough for white text (4.5 to 1).
var ground = color.RGBA{118, 118, 118, 255}

// ErrSize is what pictures of several sizes are refused with.
var ErrSize = errors.New("tableau: the pictures have not all one size")

// Draw lays the desk out.
func Draw(d Desk) (*image.RGBA, error) {
	if len(d.Sheets) == 0 || len(d.Sheets) > MaxSheets {
		return nil, fmt.Errorf("tableau: %d sheets, want 1 to %d", len(d.Sheets), MaxSheets)
	}
	size := d.Sheets[0].Picture.Bounds().Size()
	for _, s := range d.Sheets {
		if s.Picture.Bounds().Size() != size || size.X == 0 || size.Y == 0 {
			return nil, ErrSize
		}
	}
	l, err := newLayout(d, size)
	if err != nil {
		return nil, err
	}
	defer l.close()
	if float64(l.w)*float64(l.h) > MaxPixels {
		return nil, fmt.Errorf("tableau: %d by %d pixels", l.w, l.h)
	}
	img := image.NewRGBA(image.Rect(0, 0, l.w, l.h))
	draw.Draw(img, img.Bounds(), image.NewUniform(ground), image.Point{}, draw.Src)
	for i, s := range d.Sheets {
		l.sheet(img, i, s, d.Marks)
	}
	y := l.h - l.gap - l.below
	for _, line := range l.sentence {
		y += l.line
		l.text(img, l.bold, l.gap, y-l.line/4, line)
	}
	y += l.line / 2
	for _, line := range l.foot {
		y += l.line
		l.text(img, l.plain, l.gap, y-l.line/4, line)
	}
	return img, nil
}

// layout holds the measures in pixels.
type layout struct {
	size           image.Point // of a picture
	w, h           int
	columns        int
	border, gap    int
	cellW, cellH   int
	line, em       int
	below          int // height of sentence and foot
	sentence, foot []string
	legends        [][]string
	bold, plain    font.Face
}

func newLayout(d Desk, size image.Point) (*layout, error) {
	long := float64(max(size.X, size.Y))
	l := &layout{size: size, border: int(long*border) + 2, gap: int(long*gap) + 4, em: max(leastEm, int(math.Round(long*text)))}
	l.line = int(math.Ceil(float64(l.em) * lead))
	var err error
	if l.bold, err = face(gobold.TTF, l.em); err != nil {
		return nil, err
	}
	if l.plain, err = face(goregular.TTF, l.em); err != nil {
		return nil, err
	}
	l.cellW = size.X + 2*l.border
	most := 0
	for _, s := range d.Sheets {
		var lines []string
		for _, text := range s.Legend {
			lines = append(lines, wrap(l.plain, text, l.cellW)...)
		}
		l.legends = append(l.legends, lines)
		most = max(most, len(lines))
	}
	l.cellH = size.Y + 2*l.border + l.line/3 + l.line*(most+1)
	l.columns = columns(len(d.Sheets), l.cellW, l.cellH)
	rows := (len(d.Sheets) + l.columns - 1) / l.columns
	l.w = l.columns*(l.cellW+l.gap) + l.gap
	l.sentence, l.foot = wrap(l.bold, d.Sentence, l.w-2*l.gap), wrap(l.plain, d.Foot, l.w-2*l.gap)
	l.below = l.line*(len(l.sentence)+len(l.foot)) + l.line/2
	l.h = rows*(l.cellH+l.gap) + l.gap + l.below + l.gap
	return l, nil
}

func (l *layout) close() {
	l.bold.Close()
	l.plain.Close()
}

// columns returns how many sheets lie beside each other so that the whole is nearest
// to the shape of a screen, 16 to 9 (common practice, no source).
func columns(n, w, h int) int {
	best, off := 1, math.Inf(1)
	for c := 1; c <= n; c++ {
		rows := (n + c - 1) / c
		shape := float64(c*w) / float64(rows*h)
		if d := math.Abs(math.Log(shape * 9 / 16)); d < off && (n != 4 || c != 3) {
			best, off = c, d
		}
	}
	return best
}

func face(ttf []byte, em int) (font.Face, error) {
	f, err := opentype.Parse(ttf)
	if err != nil {
		return nil, fmt.Errorf("tableau: %w", err)
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: float64(em), DPI: 72, Hinting: font.HintingFull})
}

// wrap breaks a text into lines of the width.
func wrap(f font.Face, s string, width int) []string {
	var lines []string
	current := ""
	for _, word := range strings.Fields(s) {
		next := strings.TrimSpace(current + " " + word)
		if current != "" && font.MeasureString(f, next).Ceil() > width {
			lines = append(lines, current)
			next = word
		}
		current = next
	}
	if current != "" {
		lines = append(lines, current)
	}
	return lines
}

// text writes in white, which is 4.5 to 1 and more against the ground.
func (l *layout) text(img *image.RGBA, f font.Face, x, y int, s string) {
	d := font.Drawer{Dst: img, Src: image.White, Face: f, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// sheet draws one sheet with its pins and legend.
func (l *layout) sheet(img *image.RGBA, i int, s Sheet, marks []Mark) {
	x, y := l.gap+i%l.columns*(l.cellW+l.gap), l.gap+i/l.columns*(l.cellH+l.gap)
	paper := image.Rect(x, y, x+l.cellW, y+l.size.Y+2*l.border)
	draw.Draw(img, paper, image.NewUniform(s.Paper), image.Point{}, draw.Src)
	at := image.Pt(x+l.border, y+l.border)
	draw.Draw(img, image.Rectangle{at, at.Add(l.size)}, s.Picture, s.Picture.Bounds().Min, draw.Src)
	for k, m := range marks {
		l.mark(img, at.Add(image.Pt(int(m.X*float64(l.size.X)), int(m.Y*float64(l.size.Y)))), fmt.Sprint(k+1))
	}
	ty := paper.Max.Y + l.line/3 + l.line
	l.text(img, l.bold, x, ty-l.line/4, s.Title)
	for _, line := range l.legends[i] {
		ty += l.line
		l.text(img, l.plain, x, ty-l.line/4, line)
	}
}

// mark draws a ring, white in black, with its number beside: seen on any colour.
func (l *layout) mark(img *image.RGBA, c image.Point, number string) {
	r := float64(l.em) * 0.5
	wide := max(1, r/5)
	for y := int(-r - 4*wide); y <= int(r+4*wide); y++ {
		for x := int(-r - 4*wide); x <= int(r+4*wide); x++ {
			switch d := math.Abs(math.Hypot(float64(x), float64(y)) - r); {
			case d <= wide:
				img.SetRGBA(c.X+x, c.Y+y, color.RGBA{255, 255, 255, 255})
			case d <= 2*wide:
				img.SetRGBA(c.X+x, c.Y+y, color.RGBA{0, 0, 0, 255})
			}
		}
	}
	x, y := c.X+int(r+4*wide), c.Y+l.em/3
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			d := font.Drawer{Dst: img, Src: image.Black, Face: l.bold, Dot: fixed.P(x+dx, y+dy)}
			d.DrawString(number)
		}
	}
	l.text(img, l.bold, x, y, number)
}
