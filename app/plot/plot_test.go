package plot

import (
	"image"
	"image/color"
	"math"
	"testing"
)

var (
	grey  = color.RGBA{119, 119, 119, 255}
	white = color.RGBA{255, 255, 255, 255}
	black = color.RGBA{0, 0, 0, 255}
)

func TestAxesThereAndBack(t *testing.T) {
	a := Axes{Box: image.Rect(40, 30, 440, 230), X0: -100, X1: 100, Y0: 0, Y1: 100}
	if p := a.At(-100, 0); p != (Pt{40, 230}) {
		t.Errorf("the lower left corner is at %v", p)
	}
	if p := a.At(100, 100); p != (Pt{440, 30}) {
		t.Errorf("the upper right corner is at %v", p)
	}
	x, y := a.Back(a.At(12.5, 70))
	if math.Abs(x-12.5) > 1e-9 || math.Abs(y-70) > 1e-9 {
		t.Errorf("there and back: %g, %g", x, y)
	}
	if a.Unit() != 2 {
		t.Errorf("a unit is %g pixels, want 2", a.Unit())
	}
}

// Patches are bytes: nothing is blended at their edges.
func TestFillIsExact(t *testing.T) {
	s := New(20, 10, grey)
	s.Fill(image.Rect(5, 2, 9, 6), color.RGBA{1, 2, 3, 0})
	s.Square(Pt{15, 5}, 3, white, image.Rect(0, 0, 16, 10))
	for y := range 10 {
		for x := range 20 {
			want := grey
			switch {
			case x >= 5 && x < 9 && y >= 2 && y < 6:
				want = color.RGBA{1, 2, 3, 255}
			case (x == 14 || x == 15) && y >= 4 && y < 7: // column 16 is clipped
				want = white
			}
			if got := s.Img.RGBAAt(x, y); got != want {
				t.Fatalf("pixel %d, %d is %v, want %v", x, y, got, want)
			}
		}
	}
	if s.Img.Stride != 80 || s.Img.Rect.Min != (image.Point{}) {
		t.Errorf("stride %d, origin %v: the window needs a tight image", s.Img.Stride, s.Img.Rect.Min)
	}
}

// A pattern of 4 on and 4 off at width 2 has dashes of 8 pixels.
func TestPatternLengths(t *testing.T) {
	dashes := cutUp([]Pt{{0, 0}, {30, 0}, {30, 10}}, Pattern{4, 4}, 2)
	want := [][2]float64{{0, 8}, {16, 24}, {32, 40}} // along the line, round its corner
	if len(dashes) != len(want) {
		t.Fatalf("%d dashes, want %d: %v", len(dashes), len(want), dashes)
	}
	along := func(p Pt) float64 { return p.X + p.Y }
	for i, d := range dashes {
		if math.Abs(along(d[0])-want[i][0]) > 1e-6 || math.Abs(along(d[len(d)-1])-want[i][1]) > 1e-6 {
			t.Errorf("dash %d goes from %g to %g, want %v", i, along(d[0]), along(d[len(d)-1]), want[i])
		}
	}
}

func TestLineHasInkAndRim(t *testing.T) {
	s := New(60, 40, grey)
	s.Line([]Pt{{5, 20.5}, {55, 20.5}}, false, 3, nil, white, black, 2)
	for y, want := range map[int]color.RGBA{20: white, 18: black, 23: black, 10: grey, 30: grey} {
		if got := s.Img.RGBAAt(30, y); got != want {
			t.Errorf("row %d is %v, want %v", y, got, want)
		}
	}
	// A corner does not cancel where its two arms overlap.
	s = New(60, 60, grey)
	s.Line([]Pt{{10, 50}, {30, 10}, {50, 50}}, true, 6, nil, white, black, 0)
	if got := s.Img.RGBAAt(30, 12); got != white {
		t.Errorf("the corner is %v", got)
	}
}

// Every two patterns differ at a glance: in how often the line breaks, or in the
// lengths of its dashes by a half or more.
func TestPatternsDiffer(t *testing.T) {
	type look struct{ breaks, shortest, longest float64 }
	apart := func(a, b float64) bool { return math.Max(a, b) > 1.5*math.Min(a, b) }
	var looks []look
	for _, p := range Patterns() {
		d := cutUp([]Pt{{0, 0}, {240, 0}}, p, 2)
		l := look{breaks: float64(len(d)), shortest: math.Inf(1)}
		for _, dash := range d[:max(len(d)-1, 1)] { // the last is cut by the line's end
			n := dash[len(dash)-1].X - dash[0].X
			l.shortest, l.longest = math.Min(l.shortest, n), math.Max(l.longest, n)
		}
		for i, o := range looks {
			if !apart(o.breaks, l.breaks) && !apart(o.shortest, l.shortest) && !apart(o.longest, l.longest) {
				t.Errorf("patterns %d and %d look alike: %v and %v", i, len(looks), o, l)
			}
		}
		looks = append(looks, l)
	}
}

// Lines that leave the drawing are cut off at its edge, wherever they go.
func TestOutsideIsCutOff(t *testing.T) {
	s := New(40, 40, grey)
	s.Line([]Pt{{-1e5, 20.5}, {1e5, 20.5}}, false, 3, nil, white, black, 0)
	s.Disc(Pt{-500, -500}, 10, white)
	s.Line([]Pt{{50, 50}, {60, 60}}, false, 3, nil, white, black, 1)
	if s.Img.RGBAAt(20, 20) != white || s.Img.RGBAAt(20, 30) != grey {
		t.Errorf("the line is %v, beside it %v", s.Img.RGBAAt(20, 20), s.Img.RGBAAt(20, 30))
	}
}

func TestMarks(t *testing.T) {
	s := New(60, 60, grey)
	s.Disc(Pt{30, 30}, 10, black)
	s.Ring(Pt{30, 30}, 15, 2, white, black, 0)
	s.Arrow(Pt{5, 55}, Pt{20, 55}, 6, 2, white, black, 0)
	s.Arrow(Pt{5, 5}, Pt{5, 5}, 6, 2, white, black, 0) // nowhere: nothing
	for at, want := range map[image.Point]color.RGBA{{30, 30}: black, {45, 30}: white, {30, 42}: grey, {12, 55}: white, {5, 5}: grey} {
		if got := s.Img.RGBAAt(at.X, at.Y); got != want {
			t.Errorf("pixel %v is %v, want %v", at, got, want)
		}
	}
}
