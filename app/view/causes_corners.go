package view

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/raster"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
)

// A photograph with the corners of the print in it, which are dragged.

// fit is where the photograph lies in the drawing: its scale, and its upper left corner.
func fit(w, h int, width, height float64) (scale, x, y float64) {
	scale = math.Min(width/float64(w), height/float64(h))
	return scale, (width - scale*float64(w)) / 2, (height - scale*float64(h)) / 2
}

// grip takes the mouse over a drawing: what is pressed, where it is dragged, and that it
// was let go.
type grip struct {
	toolkit.BaseWidget
	grab, drag func(fyne.Position)
	drop       func()
	held       bool
}

func newGrip(grab, drag func(fyne.Position), drop func()) *grip {
	g := &grip{grab: grab, drag: drag, drop: drop}
	g.ExtendBaseWidget(g)
	return g
}

// Tapped implements fyne.Tappable.
func (g *grip) Tapped(e *fyne.PointEvent) { g.grab(e.Position) }

// Dragged implements fyne.Draggable.
func (g *grip) Dragged(e *fyne.DragEvent) {
	if !g.held {
		g.held = true
		g.grab(e.Position.Subtract(e.Dragged))
	}
	g.drag(e.Position)
}

// DragEnd implements fyne.Draggable.
func (g *grip) DragEnd() {
	g.held = false
	g.drop()
}

// CreateRenderer implements fyne.Widget.
func (g *grip) CreateRenderer() fyne.WidgetRenderer {
	return toolkit.NewSimpleRenderer(container.NewWithoutLayout())
}

// cornersPlan is what the painter of a photograph paints.
type cornersPlan struct {
	levels  []raster.Pixels
	set     setup.Setup
	corners [4]register.Point
	at      int
}

// cornersPicture paints a photograph with the print's corners. It may be used from any
// goroutine.
type cornersPicture struct {
	ctx   context.Context
	looks *looks
	mu    sync.Mutex
	plan  cornersPlan
}

func (p *cornersPicture) set(plan cornersPlan) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plan = plan
}

func (p *cornersPicture) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	p.mu.Lock()
	plan := p.plan
	p.mu.Unlock()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	if len(plan.levels) == 0 {
		return img, nil
	}
	full := plan.levels[0]
	k, x, y := fit(full.W, full.H, float64(w), float64(h))
	to := image.Rect(int(x), int(y), int(x+k*float64(full.W)), int(y+k*float64(full.H)))
	look := p.looks.of(plan.set)
	if look == nil {
		return img, []widget.Word{pending("…", to, 15)}
	}
	px, err := raster.Cut(p.ctx, plan.levels, image.Rect(0, 0, full.W, full.H), max(to.Dx(), 1), max(to.Dy(), 1))
	if err != nil || layPixels(p.ctx, img, to.Min, look, px) != nil {
		return nil, nil
	}
	var said []widget.Word
	for i, c := range plan.corners {
		next := plan.corners[(i+1)%4]
		x0, y0 := x+k*c.X, y+k*c.Y
		line(img, x0, y0, x+k*next.X, y+k*next.Y, scale)
		text := fmt.Sprint(i + 1)
		word := widget.Word{Text: " " + text + " ", X: x0, Y: y0, Align: fyne.TextAlignCenter, Size: 12, Ink: color.White, Plate: color.Black}
		if i == plan.at {
			word.Ink, word.Plate, word.Bold = color.Black, color.White, true
		}
		said = append(said, word)
	}
	return img, said
}

// line draws white between black, seen on any picture.
func line(img *image.RGBA, x0, y0, x1, y1, scale float64) {
	n := int(math.Hypot(x1-x0, y1-y0)) + 1
	thick := int(math.Max(1, math.Round(scale)))
	for _, stroke := range []struct {
		half int
		ink  color.Color
	}{{thick + 1, color.Black}, {thick / 2, color.White}} {
		for i := range n + 1 {
			t := float64(i) / float64(n)
			x, y := int(x0+t*(x1-x0)), int(y0+t*(y1-y0))
			dot := image.Rect(x-stroke.half, y-stroke.half, x+stroke.half+1, y+stroke.half+1)
			draw.Draw(img, dot, image.NewUniform(stroke.ink), image.Point{}, draw.Src)
		}
	}
}
