package teststrip

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"runtime"
	"strings"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// Order is what a strip is to hold.
type Order struct {
	Numbers raster.Pixels // the picture's, at full size
	Pins    []pin.Pin
	Ways    []Way
	Paper   *proof.Profile
	// Width and Height of a piece in millimetres. A piece is of the picture's own
	// pixels, one for each pixel of the print.
	Width, Height float64
	Sheet         Sheet
}

// Piece is one piece of the strip.
type Piece struct {
	Pin  string
	Way  Way
	From image.Rectangle // in the picture
}

// Label is what stands under a piece.
func (p Piece) Label() string {
	s := p.Pin + "\n" + p.Way.Intent.Short()
	if len(p.Way.Plan.Conversions) == 0 {
		s = p.Pin
	}
	if p.Way.Mistake != "" {
		s += "\n" + p.Way.Mistake
	}
	return s
}

// Pieces lists the pieces: every pin by every way, one pin after the other.
func (o Order) Pieces() []Piece {
	px := func(mm float64) int { return int(math.Round(mm / 25.4 * o.Sheet.PPI)) }
	w, h := min(px(o.Width), o.Numbers.W), min(px(o.Height), o.Numbers.H)
	var out []Piece
	for _, p := range o.Pins {
		x := min(max(int(p.X*float64(o.Numbers.W))-w/2, 0), o.Numbers.W-w)
		y := min(max(int(p.Y*float64(o.Numbers.H))-h/2, 0), o.Numbers.H-h)
		for _, way := range o.Ways {
			out = append(out, Piece{Pin: p.Name, Way: way, From: image.Rect(x, y, x+w, y+h)})
		}
	}
	return out
}

// Lay lays the pieces out. The error is ErrEmpty, a *SizeError or one that
// names the measure that can't be.
func (o Order) Lay() (*Layout, []Piece, error) {
	pieces := o.Pieces()
	if len(pieces) == 0 {
		return nil, nil, ErrEmpty
	}
	cells := make([]Cell, len(pieces))
	for i, p := range pieces {
		cells[i] = Cell{W: p.From.Dx(), H: p.From.Dy(), Label: p.Label()}
	}
	if l := o.grouped(cells); l != nil {
		return l, pieces, nil
	}
	l, err := NewLayout(cells, o.Sheet)
	return l, pieces, err
}

// grouped lays the pieces out so that all of one pin lie in one row, where there is
// room for that; nil where there is not.
func (o Order) grouped(cells []Cell) *Layout {
	n := len(o.Ways)
	wide := float64(cells[0].W) / o.Sheet.PPI * 25.4
	edges := 2*o.Sheet.Border + Gap
	columns := int((o.Sheet.Width - edges + Gap) / (wide + Gap))
	if n < 2 || columns < n {
		return nil
	}
	columns -= columns % n
	narrow := o.Sheet
	// Half a millimetre is for the rounding to pixels.
	narrow.Width = min(float64(columns)*(wide+Gap)-Gap+edges+0.5, o.Sheet.Width)
	l, err := NewLayout(cells, narrow)
	if err != nil {
		return nil
	}
	l.W = int(math.Round(o.Sheet.Width / 25.4 * o.Sheet.PPI))
	return l
}

// Explain turns an error of Lay into a sentence that says what would fit.
func (o Order) Explain(err error) string {
	var size *SizeError
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrEmpty):
		return "Choose at least one pin, one intent, and the pieces as they should be or a mistake."
	case errors.As(err, &size) && size.Wide >= 0:
		return fmt.Sprintf("A piece needs an offcut at least %.0f mm wide; this one is %.0f.%s", math.Ceil(size.WideMM), o.Sheet.Width, o.smaller())
	case errors.As(err, &size):
		return fmt.Sprintf("%d of %d pieces fit. All need an offcut %.0f mm high; this one is %.0f.%s", size.Fit, size.Asked, math.Ceil(size.Needs), o.Sheet.Height, o.smaller())
	}
	return "This strip can’t be laid out: " + strings.TrimPrefix(err.Error(), "teststrip: ") + "."
}

// smaller says at which size of pieces, of the same shape, all of them fit.
func (o Order) smaller() string {
	const least, step = 4.0, 1.0 // millimetres; smaller pieces show nothing
	for w := math.Floor(o.Width - step); w >= least; w -= step {
		try := o
		try.Width, try.Height = w, math.Round(o.Height*w/o.Width)
		if try.Height < least {
			break
		}
		if _, _, err := try.Lay(); err == nil {
			return fmt.Sprintf(" Pieces of %.0f by %.0f mm would all fit.", try.Width, try.Height)
		}
	}
	return " No smaller size of pieces helps: choose fewer."
}

// Make computes the strip's numbers by the exact chain. progress may be nil.
func (o Order) Make(ctx context.Context, e setup.Chains, progress func(float64)) (*Image, error) {
	l, pieces, err := o.Lay()
	if err != nil {
		return nil, err
	}
	white, black, err := ends(o.Paper)
	if err != nil {
		return nil, err
	}
	tiles := make([]Tile, len(pieces))
	for i, p := range pieces {
		if tiles[i], err = o.tile(ctx, e, p); err != nil {
			return nil, err
		}
		if progress != nil {
			progress(float64(i+1) / float64(len(pieces)))
		}
	}
	return l.Draw(tiles, white, black)
}

// ends are the numbers of bare paper and of the labels' black.
func ends(p *proof.Profile) (white, black []uint16, err error) {
	if n := p.Channels(); n != 1 && n != 3 && n != 4 {
		return nil, nil, &proof.PlanError{Reason: fmt.Sprintf("%s has %d channels, and a print file holds 1, 3 or 4", p.Name(), n)}
	}
	for _, v := range p.Bare() {
		white = append(white, uint16(v*65535))
		black = append(black, 65535-uint16(v*65535))
	}
	if p.ColorSpace() == icc.SpaceCMYK {
		black = []uint16{0, 0, 0, 65535} // black ink alone: fine type stays sharp
	}
	return white, black, nil
}

// tile sends a piece's pixels through its way, one core a strip of rows.
func (o Order) tile(ctx context.Context, e setup.Chains, p Piece) (Tile, error) {
	c, err := e.Chain(p.Way.Plan)
	if err != nil {
		return Tile{}, err
	}
	defer c.Close()
	w, h, n := p.From.Dx(), p.From.Dy(), o.Paper.Channels()
	t := Tile{W: w, H: h, Pix: make([]uint16, w*h*n)}
	workers := min(runtime.GOMAXPROCS(0), h)
	failed := make([]error, workers)
	var group sync.WaitGroup
	for k := range workers {
		group.Go(func() {
			src := make([]float64, 0, w*o.Numbers.Channels)
			for y := h * k / workers; y < h*(k+1)/workers; y++ {
				if ctx.Err() != nil {
					return
				}
				src = src[:0]
				for x := range w {
					src = o.Numbers.At(src, p.From.Min.X+x, p.From.Min.Y+y)
				}
				device, err := c.Device(src)
				if err != nil {
					failed[k] = err
					return
				}
				for i, v := range device {
					t.Pix[y*w*n+i] = uint16(math.Round(v * 65535))
				}
			}
		})
	}
	group.Wait()
	return t, cmp.Or(ctx.Err(), errors.Join(failed...))
}
