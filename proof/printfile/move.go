package printfile

import "math"

// Push returns the job with the print moved on its sheet by so many millimetres, to the
// right and down, but no further than the margins; l is how the job lies now. A print
// that is larger than what the margins leave stays in their middle.
func (j Job) Push(l Layout, right, down float64) Job {
	if j.Sheet.None() {
		return j
	}
	within := func(v, inside, file float64) float64 {
		room := math.Max(inside-file, 0) / 2
		return math.Min(math.Max(v, -room), room)
	}
	j.ShiftX = within(j.ShiftX+right, l.Inside.W, l.File.W)
	j.ShiftY = within(j.ShiftY+down, l.Inside.H, l.File.H)
	return j
}

// Slide returns the job with the picture moved under its frame by so many millimetres of
// the print, to the right and down, as far as there is more of the picture; l is how the
// job lies now. Where the sheet's shape cuts the picture that cut moves, else the chosen
// [Crop].
func (j Job) Slide(l Layout, right, down float64) Job {
	perMM := l.TruePPI / mmPerInch
	right, down = right*perMM, down*perMM // in the picture's pixels
	if j.Size.By == FillSheet {
		keep := func(at, by float64, room int) float64 {
			if room == 0 {
				return at
			}
			return math.Min(math.Max(at-2*by/float64(room), -1), 1)
		}
		j.KeepX = keep(j.KeepX, right, l.Chosen.Dx()-l.Crop.Dx())
		j.KeepY = keep(j.KeepY, down, l.Chosen.Dy()-l.Crop.Dy())
		return j
	}
	c := j.Crop.whole()
	c.X = math.Min(math.Max(c.X-right/float64(l.Whole.Dx()), 0), 1-c.W)
	c.Y = math.Min(math.Max(c.Y-down/float64(l.Whole.Dy()), 0), 1-c.H)
	if c.whole() != (Crop{0, 0, 1, 1}) {
		j.Crop = c
	}
	return j
}

// Cuts reports whether there is more of the picture than is printed.
func (l Layout) Cuts() bool { return l.Crop != l.Whole }

// WholePicture is where all of the picture would lie, what is cut off included.
func (l Layout) WholePicture() Rect {
	mm := mmPerInch / l.TruePPI
	return Rect{
		X: l.Picture.X - float64(l.Crop.Min.X-l.Whole.Min.X)*mm,
		Y: l.Picture.Y - float64(l.Crop.Min.Y-l.Whole.Min.Y)*mm,
		W: float64(l.Whole.Dx()) * mm, H: float64(l.Whole.Dy()) * mm,
	}
}
