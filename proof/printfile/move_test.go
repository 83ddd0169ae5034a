package printfile

import (
	"image"
	"math"
	"testing"

	"firstsheet/proof/setup"
)

// lay lays a job out for a picture of 3000 by 2000 pixels.
func layMoved(t *testing.T, j Job) Layout {
	t.Helper()
	l, err := Lay(j, 3000, 2000)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A print is moved by what it is pushed, up to the margins.
func TestPush(t *testing.T) {
	j := Usual(setup.Usual("pearl"))
	j.Size = Size{LongEdge, 150}
	j.Sheet, _ = ParseSheet("A4")
	j.Sheet.Margins = Even(10)
	was := layMoved(t, j)
	moved := j.Push(was, 12.5, -7)
	if got := layMoved(t, moved).File; math.Abs(got.X-was.File.X-12.5) > 1e-9 || math.Abs(got.Y-was.File.Y+7) > 1e-9 {
		t.Errorf("from %v to %v", was.File, got)
	}
	far := j.Push(was, 1000, 1000)
	if got := layMoved(t, far); math.Abs(got.File.X+got.File.W-(got.Inside.X+got.Inside.W)) > 1e-9 || math.Abs(got.File.Y+got.File.H-(got.Inside.Y+got.Inside.H)) > 1e-9 {
		t.Errorf("pushed far: %v in %v", got.File, got.Inside)
	}
	j.Sheet = Sheet{}
	if j.Push(layMoved(t, j), 5, 5) != j {
		t.Error("without a sheet there is nothing to move on")
	}
}

// The picture slides under its frame by what it is moved, in millimetres of the print.
func TestSlide(t *testing.T) {
	j := Usual(setup.Usual("pearl"))
	j.Size.By = FillSheet
	j.Sheet, _ = ParseSheet("200x200mm") // 2000 by 2000 pixels of 3000 by 2000: 0.1 mm each
	l := layMoved(t, j)
	if l.Crop != image.Rect(500, 0, 2500, 2000) || !l.Cuts() {
		t.Fatalf("in the middle %v", l.Crop)
	}
	j = j.Slide(l, 20, 30) // to the right by 200 pixels; down there is no more
	if l = layMoved(t, j); l.Crop != image.Rect(300, 0, 2300, 2000) || j.KeepY != 0 {
		t.Errorf("slid by 20 mm: %v", l.Crop)
	}
	if w := l.WholePicture(); math.Abs(w.X+30) > 1e-9 || math.Abs(w.W-300) > 1e-9 || w.H != l.Picture.H {
		t.Errorf("the whole picture lies at %v", w)
	}
	if j = j.Slide(l, -500, 0); layMoved(t, j).Crop.Max.X != 3000 {
		t.Errorf("slid far: %v", layMoved(t, j).Crop)
	}

	j.Size, j.KeepX = Size{LongEdge, 200}, 0
	if j.Slide(layMoved(t, j), 20, 0) != j {
		t.Error("the whole picture has nowhere to slide")
	}
	j.Crop = Crop{0.25, 0.25, 0.5, 0.5} // 1500 pixels in 200 mm
	l = layMoved(t, j)
	j = j.Slide(l, -20, 1000)
	if l = layMoved(t, j); l.Crop != image.Rect(900, 0, 2400, 1000) {
		t.Errorf("a chosen crop slides to %v", l.Crop)
	}
}

// Edges are pulled by millimetres of the print, within the picture; what comes out is a crop that lies where
// it was drawn while it was pulled.
func TestPull(t *testing.T) {
	j := Usual(setup.Usual("pearl"))
	j.Size, j.Sheet = Size{LongEdge, 300}, Sheet{} // 0.1 mm a pixel
	l := layMoved(t, j)
	for _, c := range []struct {
		edges       Edges
		right, down float64
		want        image.Rectangle
	}{
		{LeftEdge, 50, 20, image.Rect(500, 0, 3000, 2000)},
		{RightEdge | BottomEdge, -100, -50, image.Rect(0, 0, 2000, 1500)},
		{TopEdge | LeftEdge, -10, 10, image.Rect(0, 100, 3000, 2000)},
		{RightEdge, 40, 0, l.Whole},
		{LeftEdge, 1e6, 0, image.Rect(2850, 0, 3000, 2000)},
		{BottomEdge, 0, -1e6, image.Rect(0, 0, 3000, 100)},
	} {
		k := j.Pull(l, c.edges, c.right, c.down)
		if got := layMoved(t, k).Crop; got != c.want {
			t.Errorf("edges %b by %g, %g: %v, want %v", c.edges, c.right, c.down, got, c.want)
		}
		if c.want == l.Whole && k.Crop != (Crop{}) {
			t.Errorf("all of it is a crop of %+v", k.Crop)
		}
		drawn := l.Pulled(k)
		want := Rect{X: l.Picture.X + float64(c.want.Min.X)/10, Y: l.Picture.Y + float64(c.want.Min.Y)/10, W: float64(c.want.Dx()) / 10, H: float64(c.want.Dy()) / 10}
		if got := drawn.Picture; math.Abs(got.X-want.X)+math.Abs(got.Y-want.Y)+math.Abs(got.W-want.W)+math.Abs(got.H-want.H) > 1e-6 || drawn.Crop != c.want {
			t.Errorf("edges %b: drawn at %v, want %v", c.edges, got, want)
		}
	}
	// What was cut off comes back.
	k := j.Pull(l, LeftEdge, 50, 0)
	l = layMoved(t, k) // 300 mm are 2500 pixels now
	if k = k.Pull(l, LeftEdge, -1000, 0); k.Crop != (Crop{}) {
		t.Errorf("pulled back: %+v", k.Crop)
	}
}
