package session

import (
	"image"
	"math"

	"firstsheet/proof/raster"
)

// Limits of the zoom, in device pixels per picture pixel: at the lower end a
// 100-megapixel picture still is a thumbnail, at the upper one a pixel is a
// thumb's width.
const (
	MinScale = 1.0 / 256
	MaxScale = 64
)

// Placing is where a sheet and its picture lie in their cell.
type Placing struct {
	Sheet image.Rectangle // the sheet with its border, in device pixels of the cell
	Pic   image.Rectangle // the part of it that shows the picture
	Scale float64         // device pixels per picture pixel
	// X0, Y0 is where the picture's top left corner lies, in device pixels of
	// the cell. They are whole numbers, so that at scale 1 a picture pixel is
	// a device pixel.
	X0, Y0 int
}

// border is the width of a sheet's margin in device pixels.
func border(c Cell) int {
	b := int(math.Round(14 * c.Scale))
	if least := min(c.W, c.H) / 8; b > least {
		b = least
	}
	return max(b, 0)
}

// FitScale returns the scale at which a picture of w by h pixels just fits the
// cell. Small pictures are enlarged no more than eight times.
func FitScale(c Cell, w, h int) float64 {
	if w <= 0 || h <= 0 {
		return 1
	}
	b := border(c)
	rw, rh := float64(max(c.W-2*b, 1)), float64(max(c.H-2*b, 1))
	return clamp(math.Min(rw/float64(w), rh/float64(h)), MinScale, 8)
}

// Place computes where a picture of w by h pixels lies in the cell under v.
// The result is the same for every sheet, whatever it shows.
func Place(c Cell, v Viewport, w, h int) Placing {
	b := border(c)
	s := v.Scale
	cx, cy := v.CX, v.CY
	if v.Fit {
		s = FitScale(c, w, h)
		cx, cy = float64(w)/2, float64(h)/2
	}
	s = clamp(s, MinScale, MaxScale)
	pw, ph := max(int(math.Round(float64(w)*s)), 1), max(int(math.Round(float64(h)*s)), 1)
	vw, vh := max(min(pw, c.W-2*b), 1), max(min(ph, c.H-2*b), 1)
	left, top := (c.W-vw)/2, (c.H-vh)/2
	ox := clampInt(int(math.Round(float64(vw)/2-cx*s)), vw-pw, 0)
	oy := clampInt(int(math.Round(float64(vh)/2-cy*s)), vh-ph, 0)
	pic := image.Rect(left, top, left+vw, top+vh)
	return Placing{Sheet: pic.Inset(-b), Pic: pic, Scale: s, X0: left + ox, Y0: top + oy}
}

// View is the placing as the sampling of a picture takes it.
func (p Placing) View() raster.View {
	return raster.View{Visible: p.Pic, Scale: p.Scale, X0: p.X0, Y0: p.Y0}
}

// ToPicture turns a point of the cell, in device pixels, into picture pixels.
func (p Placing) ToPicture(x, y float64) (float64, float64) {
	return (x - float64(p.X0)) / p.Scale, (y - float64(p.Y0)) / p.Scale
}

// ToCell is the inverse of ToPicture.
func (p Placing) ToCell(x, y float64) (float64, float64) {
	return x*p.Scale + float64(p.X0), y*p.Scale + float64(p.Y0)
}

// zoomAt changes the scale by factor and keeps the picture point under the
// device pixel (x, y) of the cell where it is.
func zoomAt(s State, x, y, factor float64) Viewport {
	w, h := s.Picture.W, s.Picture.H
	old := Place(s.Cell, s.View, w, h)
	scale := clamp(old.Scale*factor, MinScale, MaxScale)
	fit := FitScale(s.Cell, w, h)
	if scale < fit*0.999 && scale <= 1 {
		// Smaller than the cell serves nobody: it is the whole picture again.
		return Viewport{Fit: true}
	}
	px, py := old.ToPicture(x, y)
	// The picture's visible middle is the cell's middle.
	v := Viewport{Scale: scale,
		CX: px + (float64(s.Cell.W)/2-x)/scale,
		CY: py + (float64(s.Cell.H)/2-y)/scale}
	return clampView(s.Cell, v, w, h)
}

// clampView keeps the centre such that no empty strip shows beside a picture
// that is larger than the cell.
func clampView(c Cell, v Viewport, w, h int) Viewport {
	if v.Fit {
		return v
	}
	b := border(c)
	hw := math.Min(float64(c.W-2*b)/v.Scale, float64(w)) / 2
	hh := math.Min(float64(c.H-2*b)/v.Scale, float64(h)) / 2
	v.CX = clamp(v.CX, hw, math.Max(float64(w)-hw, hw))
	v.CY = clamp(v.CY, hh, math.Max(float64(h)-hh, hh))
	return v
}

// Columns returns in how many columns n cells are set on a desk of w by h so that a
// picture of the given width to height shows largest, with gap between the cells and
// beneath each the height that a legend of the cell's width takes.
func Columns(n int, w, h, aspect, gap float64, legend func(width float64) float64) int {
	best, cols := 0.0, 1
	for c := 1; c <= n; c++ {
		rows := (n + c - 1) / c
		cw := (w - float64(c-1)*gap) / float64(c)
		ch := (h-float64(rows-1)*gap)/float64(rows) - legend(cw)
		size := math.Min(cw, ch*aspect)
		if size > best*1.001 {
			best, cols = size, c
		}
	}
	return cols
}

func clamp(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }

func clampInt(v, lo, hi int) int { return min(max(v, lo), hi) }
