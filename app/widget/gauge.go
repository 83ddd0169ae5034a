package widget

import (
	"fyne.io/fyne/v2"

	"firstsheet/app/theme"
)

// Gauge is a bar that fills as work goes on.
type Gauge struct {
	base
	Done float64 // 0 to 1
}

// NewGauge returns an empty gauge.
func NewGauge() *Gauge {
	g := &Gauge{}
	g.ExtendBaseWidget(g)
	return g
}

// Set shows how much is done.
func (g *Gauge) Set(done float64) {
	if g.Done != done {
		g.Done = done
		g.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (g *Gauge) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: g, min: func() fyne.Size { return fyne.NewSize(60, 12) }, draw: func(size fyne.Size) []fyne.CanvasObject {
		out := []fyne.CanvasObject{box(theme.ColorField, fyne.Position{}, size)}
		if w := size.Width * float32(min(max(g.Done, 0), 1)); w >= 4 {
			out = append(out, box(theme.ColorChosen, fyne.Position{}, fyne.NewSize(w, size.Height)))
		}
		return out
	}}
}
