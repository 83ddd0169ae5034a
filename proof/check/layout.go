package check

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof/register"
	"firstsheet/proof/space"
)

// Page is a size of paper.
type Page struct {
	ID, Name string
	// W and H are in millimetres.
	W, H float64
	// scale is how much larger all is drawn than on A4.
	scale float64
}

// Pages returns the sizes that the sheet comes in.
func Pages() []Page {
	return []Page{
		{"a4", "A4", 210, 297, 1},                // ISO 216
		{"a3plus", "A3+", 329, 483, 1.5},         // the trade's size, no standard
		{"letter", "Letter", 215.9, 279.4, 0.97}, // 8.5 by 11 inches
	}
}

// PageByID returns the page of that ID, and whether there is one.
func PageByID(id string) (Page, bool) {
	for _, p := range Pages() {
		if strings.EqualFold(p.ID, id) {
			return p, true
		}
	}
	return Page{}, false
}

// The design, in units: millimetres on A4. Its origin is the middle of the first
// round mark, its far corner that of the last; x runs to the right, y down.
const (
	designW, designH = 184.0, 252.0

	patchW, patchH = 7.5, 9.0
	columns        = 24
	gap            = 5.0 // between rows: the row's name, and bare paper
	top            = 20.0
)

// marks are the middles of the round marks: the four corners, the upper left one
// having a second beside it that tells which way is up.
func marks() [5]register.Point {
	return [5]register.Point{{X: 0, Y: 0}, {X: designW, Y: 0}, {X: designW, Y: designH}, {X: 0, Y: designH}, {X: secondMark, Y: 0}}
}

// A mark is a black disc in a white ring in a black ring, so that a line through it
// crosses black, white, black, white, black as 1, 1, 2, 1, 1.
const (
	markRadius = 3.6
	secondMark = 12.0
)

// rect is a part of the design in units.
type rect struct{ x, y, w, h float64 }

func (r rect) middle() register.Point { return register.Point{X: r.x + r.w/2, Y: r.y + r.h/2} }

// rows says which group begins in which row.
var rows = [Groups]int{Greys: 0, Casts: 1, Blacks: 2, Whites: 2, Hues: 3, Memories: 5}

// place returns where patch number n of a group lies.
func place(g Group, n int) rect {
	left := (designW - columns*patchW) / 2
	if g == Whites {
		n += columns / 2
	}
	row, column := rows[g]+n/columns, n%columns
	w := patchW
	if g == Memories { // fewer and wider
		w = patchW * columns / float64(len(memories))
	}
	return rect{left + float64(column)*w, top + float64(row)*(patchH+gap), w, patchH}
}

// bare returns spots of bare paper spread over the sheet, for the light to be read
// by: in the gaps between the rows, right of their names, and beside the pictures.
func bare() []rect {
	var out []rect
	for row := range rowCount {
		y := top + float64(row)*(patchH+gap) - gap + 1
		for _, x := range []float64{60, 90, 120, 150, 178} {
			out = append(out, rect{x, y, 5, gap - 2})
		}
	}
	for y := ramps().y - 2.5; y < lower().y+lower().h; y += 20 {
		out = append(out, rect{-3, y, 3, 3}, rect{designW, y, 3, 3})
	}
	return out
}

const rowCount = 6

// ramps is where the gradients lie, lower the lines and the picture.
func ramps() rect {
	y := top + rowCount*(patchH+gap)
	return rect{2, y, designW - 4, 46}
}

func lower() rect {
	r := ramps()
	y := r.y + r.h + 4
	return rect{2, y, designW - 4, designH - 10 - y}
}

// Options say how a sheet is drawn. The zero value is an A4 sheet at 300 ppi with
// 8 bits in sRGB.
type Options struct {
	Page  string // an ID of Pages; "" is a4
	PPI   float64
	Depth int
	Space space.Space
}

// Sheet is a check sheet that can be drawn.
type Sheet struct {
	Page    Page
	PPI     float64
	Depth   int // 8 or 16
	Space   space.Space
	Patches []Patch
	W, H    int // pixels
}

// Resolutions are those that the sheet is made for: its finest lines are one pixel
// wide, which tells nothing after resampling.
func Resolutions() []float64 { return []float64{300, 360} }

// New lays a sheet out. The error says which option is not one.
func New(o Options) (*Sheet, error) {
	s := &Sheet{PPI: o.PPI, Depth: o.Depth, Space: o.Space}
	if o.Page == "" {
		o.Page = "a4"
	}
	var ok bool
	if s.Page, ok = PageByID(o.Page); !ok {
		return nil, fmt.Errorf("check: page %q: it must be a4, a3plus or letter", o.Page)
	}
	if s.PPI == 0 {
		s.PPI = 300
	}
	if s.PPI != 300 && s.PPI != 360 {
		return nil, fmt.Errorf("check: %g ppi: it must be 300 or 360", s.PPI)
	}
	if s.Depth == 0 {
		s.Depth = 8
	}
	if s.Depth != 8 && s.Depth != 16 {
		return nil, fmt.Errorf("check: %d bits: it must be 8 or 16", s.Depth)
	}
	if s.Space == (space.Space{}) {
		s.Space = space.SRGB()
	}
	s.Patches = Patches(s.Space)
	s.W, s.H = int(math.Round(s.Page.W/25.4*s.PPI)), int(math.Round(s.Page.H/25.4*s.PPI))
	return s, nil
}

// toPage returns where a point of the design lies on the page, in millimetres.
func (s *Sheet) toPage(p register.Point) register.Point {
	k := s.Page.scale
	return register.Point{X: (s.Page.W-designW*k)/2 + p.X*k, Y: (s.Page.H-designH*k)/2 + p.Y*k}
}

// places returns where the patches lie, in their order.
func places(patches []Patch) []rect {
	var counts [Groups]int
	out := make([]rect, len(patches))
	for i, p := range patches {
		out[i] = place(p.Group, counts[p.Group])
		counts[p.Group]++
	}
	return out
}
