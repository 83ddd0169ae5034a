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

// Edges are sides of what is printed.
type Edges uint8

// The sides; two that meet are a corner.
const (
	LeftEdge Edges = 1 << iota
	RightEdge
	TopEdge
	BottomEdge
)

// leastCrop is the least that is left of the picture's width and height, but for what is cut off
// already.
const leastCrop = 0.05

// Pull returns the job with edges of what is printed moved by so many millimetres of the print, to the right
// and down, within the picture; l is how the job lies now. What comes out is the chosen [Crop], which a
// sheet that is to be filled may shape anew.
func (j Job) Pull(l Layout, e Edges, right, down float64) Job {
	perMM := l.TruePPI / mmPerInch
	r := l.Crop
	pull := func(lo, hi *int, from, to int, low, high bool, by float64) {
		d, least := int(math.Round(by*perMM)), max(int(leastCrop*float64(to-from)), 1)
		if low {
			*lo = min(max(*lo+d, from), max(*hi-least, *lo))
		}
		if high {
			*hi = max(min(*hi+d, to), min(*lo+least, *hi))
		}
	}
	pull(&r.Min.X, &r.Max.X, l.Whole.Min.X, l.Whole.Max.X, e&LeftEdge != 0, e&RightEdge != 0, right)
	pull(&r.Min.Y, &r.Max.Y, l.Whole.Min.Y, l.Whole.Max.Y, e&TopEdge != 0, e&BottomEdge != 0, down)
	if r == l.Crop {
		return j
	}
	j.KeepX, j.KeepY, j.Crop = 0, 0, Crop{}
	if r != l.Whole {
		w, h := float64(l.Whole.Dx()), float64(l.Whole.Dy())
		j.Crop = Crop{float64(r.Min.X-l.Whole.Min.X) / w, float64(r.Min.Y-l.Whole.Min.Y) / h, float64(r.Dx()) / w, float64(r.Dy()) / h}
	}
	return j
}

// Pulled returns how l looks while its edges are pulled: cut as j says, at the scale and place of l.
func (l Layout) Pulled(j Job) Layout {
	mm := mmPerInch / l.TruePPI
	was := l.Crop
	l.Crop = cropped(j.Crop.whole(), l.Whole.Dx(), l.Whole.Dy())
	moved := func(r Rect) Rect {
		r.X += float64(l.Crop.Min.X-was.Min.X) * mm
		r.Y += float64(l.Crop.Min.Y-was.Min.Y) * mm
		r.W += float64(l.Crop.Dx()-was.Dx()) * mm
		r.H += float64(l.Crop.Dy()-was.Dy()) * mm
		return r
	}
	l.Picture, l.File = moved(l.Picture), moved(l.File)
	return l
}
