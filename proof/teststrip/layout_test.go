package teststrip

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"strings"
	"testing"
)

// cells are n pieces of 30 by 20 mm at 300 ppi.
func cells(n int) []Cell {
	var out []Cell
	for i := range n {
		out = append(out, Cell{354, 236, fmt.Sprintf("%d shirt\npearl, relative colorimetric, compensation on", i+1)})
	}
	return out
}

// a strip cut off an A4 sheet: 210 by 80 mm.
var offcut = Sheet{Width: 210, Height: 80, PPI: 300, Border: 4}

func TestLayout(t *testing.T) {
	l, err := NewLayout(cells(10), offcut)
	if err != nil {
		t.Fatal(err)
	}
	// 210 and 80 mm at 300 ppi are 2480 and 945 pixels (mm / 25.4 * ppi).
	if l.W != 2480 || l.H != 945 {
		t.Errorf("%d by %d pixels, want 2480 by 945", l.W, l.H)
	}
	// (210 - 13 + 5) / (30 + 5) = 5.8: five in a row.
	if l.Cells[4].Tile.Min.Y != l.Cells[0].Tile.Min.Y || l.Cells[5].Tile.Min.Y == l.Cells[0].Tile.Min.Y {
		t.Errorf("rows %v, %v, %v", l.Cells[0].Tile, l.Cells[4].Tile, l.Cells[5].Tile)
	}
	// The printer's border stays free, with the marks inside the sheet.
	border := 47 // 4 mm at 300 ppi
	free := image.Rect(border, border, l.W-border, l.H-border)
	for i, c := range l.Cells {
		if c.Tile.Dx() != 354 || c.Tile.Dy() != 236 {
			t.Errorf("cell %d is %v", i, c.Tile)
		}
		if !c.Tile.In(free) || !c.Label.In(free) || c.Label.Min.Y < c.Tile.Max.Y || len(c.Lines) < 2 {
			t.Errorf("cell %d: tile %v, label %v of %q, free %v", i, c.Tile, c.Label, c.Lines, free)
		}
		for j, d := range l.Cells[:i] {
			for _, a := range []image.Rectangle{c.Tile, c.Label} {
				for _, b := range []image.Rectangle{d.Tile, d.Label} {
					if a.Overlaps(b) {
						t.Errorf("cells %d and %d overlap: %v %v", i, j, a, b)
					}
				}
			}
		}
	}
	for _, m := range l.Marks {
		if !m.In(free) {
			t.Errorf("mark %v is outside %v", m, free)
		}
		for i, c := range l.Cells {
			if m.Overlaps(c.Tile) || m.Overlaps(c.Label) {
				t.Errorf("mark %v is on cell %d", m, i)
			}
		}
	}
}

func TestTooMany(t *testing.T) {
	_, err := NewLayout(cells(13), offcut)
	var e *SizeError
	if !errors.As(err, &e) || e.Asked != 13 || e.Fit != 10 || e.Wide != -1 {
		t.Fatalf("13 cells: %v", err)
	}
	if !strings.Contains(err.Error(), "10 of 13 pieces fit") {
		t.Errorf("%q", err)
	}
	// What it asks for is enough, and a millimetre less is not.
	tall := offcut
	tall.Height = math.Ceil(e.Needs)
	if _, err := NewLayout(cells(13), tall); err != nil {
		t.Errorf("on %g mm: %v", tall.Height, err)
	}
	tall.Height = math.Floor(e.Needs) - 1
	if _, err := NewLayout(cells(13), tall); err == nil {
		t.Errorf("13 cells fit on %g mm", tall.Height)
	}
	// What it says fits does fit.
	if _, err := NewLayout(cells(13)[:e.Fit], offcut); err != nil {
		t.Errorf("%d cells: %v", e.Fit, err)
	}
	_, err = NewLayout([]Cell{{100, 100, ""}, {2600, 100, "wide"}}, offcut)
	if !errors.As(err, &e) || e.Wide != 1 || math.Abs(e.WideMM-(2600.0/300*25.4+13)) > 0.01 {
		t.Errorf("a cell wider than the sheet: %v (%+v)", err, e)
	}
}

func TestLayoutFailures(t *testing.T) {
	if _, err := NewLayout(nil, offcut); !errors.Is(err, ErrEmpty) {
		t.Errorf("no cells: %v", err)
	}
	for _, s := range []Sheet{{}, {210, 70, 0, 4}, {210, 70, math.NaN(), 4}, {-1, 70, 300, 4}, {210, 70, 300, -1}, {1e6, 1e6, 300, 4}, {math.Inf(1), 70, 300, 0}} {
		if _, err := NewLayout(cells(1), s); err == nil {
			t.Errorf("sheet %+v is taken", s)
		}
	}
	if _, err := NewLayout([]Cell{{0, 5, ""}}, offcut); err == nil {
		t.Error("an empty piece is taken")
	}
	if _, err := NewLayout(cells(MaxCells+1), offcut); err == nil {
		t.Error("too many pieces are taken")
	}
}

func TestDraw(t *testing.T) {
	cs := cells(7)
	cs[3].Label = ""
	l, err := NewLayout(cs, offcut)
	if err != nil {
		t.Fatal(err)
	}
	white, black := []uint16{65535, 65000, 64000}, []uint16{100, 0, 300}
	var tiles []Tile
	for i, c := range cs {
		tile := Tile{W: c.W, H: c.H, Pix: make([]uint16, c.W*c.H*3)}
		for k := range tile.Pix {
			tile.Pix[k] = uint16(9000*i + k%7000)
		}
		tiles = append(tiles, tile)
	}
	m, err := l.Draw(tiles, white, black)
	if err != nil {
		t.Fatal(err)
	}
	if m.W != l.W || m.H != l.H || m.Channels != 3 || len(m.Pix) != l.W*l.H*3 || m.PPI != 300 {
		t.Fatalf("image %d by %d by %d", m.W, m.H, m.Channels)
	}
	// Every pixel is of a tile, exactly, or of a label, a mark, or bare paper.
	owner := make([]int8, l.W*l.H) // 0 paper, 1 tile, 2 label, 3 mark
	paint := func(r image.Rectangle, k int8) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				owner[y*l.W+x] = k
			}
		}
	}
	for i, c := range l.Cells {
		paint(c.Tile, 1)
		paint(c.Label, 2)
		for y := range c.Tile.Dy() {
			for x := range c.Tile.Dx() * 3 {
				if got, want := m.Pix[((c.Tile.Min.Y+y)*l.W+c.Tile.Min.X)*3+x], tiles[i].Pix[y*c.Tile.Dx()*3+x]; got != want {
					t.Fatalf("tile %d at %d, %d: %d, want %d", i, x/3, y, got, want)
				}
			}
		}
		dark := 0
		for y := c.Label.Min.Y; y < c.Label.Max.Y; y++ {
			for x := c.Label.Min.X; x < c.Label.Max.X; x++ {
				if m.Pix[(y*l.W+x)*3+1] < 20000 {
					dark++
				}
			}
		}
		if (c.Label.Empty()) != (i == 3) || i != 3 && (dark < 300 || dark > c.Label.Dx()*c.Label.Dy()/3) {
			t.Errorf("label %d: %v with %d dark pixels", i, c.Label, dark)
		}
	}
	for _, r := range l.Marks {
		paint(r, 3)
	}
	for i, k := range owner {
		p := m.Pix[i*3 : i*3+3]
		if k == 0 && (p[0] != white[0] || p[1] != white[1] || p[2] != white[2]) {
			t.Fatalf("bare paper at %d, %d is %v", i%l.W, i/l.W, p)
		}
		if k == 3 && (p[0] != black[0] || p[1] != black[1] || p[2] != black[2]) {
			t.Fatalf("a mark at %d, %d is %v", i%l.W, i/l.W, p)
		}
	}
	if dir := os.Getenv("FIRSTSHEET_SEE"); dir != "" {
		rgb := image.NewRGBA(image.Rect(0, 0, m.W, m.H))
		for i := range m.W * m.H {
			rgb.SetRGBA(i%m.W, i/m.W, color.RGBA{uint8(m.Pix[3*i] >> 8), uint8(m.Pix[3*i+1] >> 8), uint8(m.Pix[3*i+2] >> 8), 255})
		}
		f, err := os.Create(dir + "/strip.png")
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := png.Encode(f, rgb); err != nil {
			t.Fatal(err)
		}
	}
}

func TestDrawFailures(t *testing.T) {
	l, err := NewLayout(cells(1), offcut)
	if err != nil {
		t.Fatal(err)
	}
	ok := Tile{354, 236, make([]uint16, 354*236*3)}
	w := []uint16{1, 2, 3}
	for name, call := range map[string]func() error{
		"no tiles":       func() error { _, err := l.Draw(nil, w, w); return err },
		"wrong size":     func() error { _, err := l.Draw([]Tile{{353, 236, ok.Pix}}, w, w); return err },
		"wrong numbers":  func() error { _, err := l.Draw([]Tile{{354, 236, ok.Pix[1:]}}, w, w); return err },
		"no white":       func() error { _, err := l.Draw([]Tile{ok}, nil, nil); return err },
		"other channels": func() error { _, err := l.Draw([]Tile{ok}, w, w[:2]); return err },
	} {
		if call() == nil {
			t.Errorf("%s: drawn", name)
		}
	}
	if _, err := l.Draw([]Tile{ok}, w, w); err != nil {
		t.Error(err)
	}
}

func TestWrap(t *testing.T) {
	face, err := newFace(27)
	if err != nil {
		t.Fatal(err)
	}
	defer face.Close()
	for _, c := range []struct {
		label string
		width int
		lines int
	}{{"", 300, 0}, {"shirt", 300, 1}, {"a\nb", 300, 2}, {"one two three four five six seven eight nine ten eleven twelve", 150, 4}, {"Donaudampfschifffahrt", 100, 1}, {"x", 1, 1}} {
		lines := wrap(face, c.label, c.width)
		if len(lines) != c.lines {
			t.Errorf("%q in %d: %q", c.label, c.width, lines)
		}
	}
	if got := wrap(face, "Donaudampfschifffahrt", 100); !strings.HasSuffix(got[0], "…") {
		t.Errorf("a long word is %q", got)
	}
}
