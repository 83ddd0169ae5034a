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
