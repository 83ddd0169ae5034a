package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"firstsheet/app/theme"
)

// PageMark is the faint mark at the foot of a projected page: a small switch and the
// page's number, both set from the right.
type PageMark struct {
	control
	Text   string // what the switch is for
	On     bool
	Number string
	// OnSwitch is called when a person turns the switch.
	OnSwitch func()
}

// NewPageMark returns a mark.
func NewPageMark(text string, on func()) *PageMark {
	m := &PageMark{Text: text, OnSwitch: on}
	turn := func() {
		if m.OnSwitch != nil {
			m.OnSwitch()
		}
	}
	m.tap = func(float32) { turn() }
	m.key = func(e *fyne.KeyEvent) bool {
		if isPress(e) {
			turn()
			return true
		}
		return false
	}
	m.ExtendBaseWidget(m)
	return m
}

// Set tells it the page.
func (m *PageMark) Set(on bool, number string) {
	if m.On != on || m.Number != number {
		m.On, m.Number = on, number
		m.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (m *PageMark) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: m, min: func() fyne.Size { return fyne.NewSize(80, 16) }, draw: m.paint}
}

func (m *PageMark) paint(size fyne.Size) []fyne.CanvasObject {
	ts := max(size.Height*0.41, 12)
	lh := LineHeight(ts)
	ink := Color(theme.ColorQuiet)
	var out []fyne.CanvasObject
	x := size.Width - ts*1.6
	put := func(s string) {
		w := width(s, ts, fyne.TextStyle{})
		x -= w
		t := canvas.NewText(s, ink)
		t.TextSize = ts
		Put(t, x, (size.Height-lh)/2, w)
		out = append(out, t)
	}
	put(m.Number)
	x -= ts * 1.6
	put(m.Text)
	d := ts * 0.7
	x -= d * 1.6
	c := canvas.NewCircle(color.Transparent)
	c.StrokeColor, c.StrokeWidth = ink, 1.5
	if m.On {
		c.FillColor = ink
	}
	c.Move(fyne.NewPos(x, (size.Height-d)/2))
	c.Resize(fyne.NewSize(d, d))
	out = append(out, c)
	if m.focused {
		out = append(out, ring(size))
	}
	return out
}
