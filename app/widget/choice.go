package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// box returns a rectangle with rounded corners in a theme colour.
func box(fill fyne.ThemeColorName, pos fyne.Position, size fyne.Size) *canvas.Rectangle {
	r := canvas.NewRectangle(Color(fill))
	r.CornerRadius = 4
	r.Move(pos)
	r.Resize(size)
	return r
}

// ring returns the frame that shows where the keyboard is.
func ring(size fyne.Size) *canvas.Rectangle {
	r := canvas.NewRectangle(color.Transparent)
	r.StrokeColor, r.StrokeWidth, r.CornerRadius = Color(theme.ColorRing), 2, 4
	r.Resize(size)
	return r
}

func centred(s string, size float32, bold bool, ink color.Color, pos fyne.Position, room fyne.Size) *canvas.Text {
	t := typed(Shorten(s, room.Width-4, size, fyne.TextStyle{Bold: bold}), size, bold, ink)
	t.Alignment = fyne.TextAlignCenter
	h := LineHeight(size)
	Put(t, pos.X, pos.Y+(room.Height-h)/2, room.Width)
	return t
}

// Choice is a row of words of which one is chosen.
type Choice struct {
	control
	Items  []string
	Chosen int
	// Large draws it as the window's one large switch.
	Large bool
	// OnChosen is called when a person chose an item that was not chosen before.
	OnChosen func(int)
	// Without marks items that can't be chosen now.
	Without map[int]bool
}

// NewChoice returns a choice among items.
func NewChoice(items []string, chosen int, on func(int)) *Choice {
	c := &Choice{Items: items, Chosen: chosen, OnChosen: on}
	c.tap = func(x float32) {
		if n := len(c.Items); n > 0 {
			c.choose(min(int(x/(c.BaseWidget.Size().Width/float32(n))), n-1))
		}
	}
	c.key = func(e *fyne.KeyEvent) bool {
		switch {
		case e.Name == fyne.KeyLeft:
			c.choose(c.Chosen - 1)
		case e.Name == fyne.KeyRight:
			c.choose(c.Chosen + 1)
		case isPress(e) && len(c.Items) > 0:
			c.choose((c.Chosen + 1) % len(c.Items))
		default:
			return false
		}
		return true
	}
	c.ExtendBaseWidget(c)
	return c
}

// Set shows another item as chosen; nobody is told.
func (c *Choice) Set(chosen int) {
	if c.Chosen != chosen {
		c.Chosen = chosen
		c.Refresh()
	}
}

// SetOff makes the choice do nothing, or something again.
func (c *Choice) SetOff(off bool) {
	if c.Off != off {
		c.Off = off
		c.Refresh()
	}
}

func (c *Choice) choose(i int) {
	if i < 0 || i >= len(c.Items) || i == c.Chosen || c.Without[i] {
		return
	}
	if c.OnChosen != nil {
		c.OnChosen(i)
	}
}

func (c *Choice) textSize() float32 {
	if c.Large {
		return Size(theme.SizeStation)
	}
	return Size(toolkit.SizeNameText)
}

// CreateRenderer implements fyne.Widget.
func (c *Choice) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: c, min: func() fyne.Size {
		var w float32
		for _, s := range c.Items {
			w = max(w, width(s, c.textSize(), fyne.TextStyle{Bold: true}))
		}
		h := Size(theme.SizeControl)
		if c.Large {
			h = 40
		}
		return fyne.NewSize((w+18)*float32(len(c.Items)), h)
	}, draw: func(size fyne.Size) []fyne.CanvasObject {
		out := []fyne.CanvasObject{box(theme.ColorField, fyne.Position{}, size)}
		if c.over && !c.Off {
			out[0] = box(theme.ColorFieldOn, fyne.Position{}, size)
		}
		w := size.Width / float32(max(len(c.Items), 1))
		for i, s := range c.Items {
			pos, room := fyne.NewPos(float32(i)*w, 0), fyne.NewSize(w, size.Height)
			ink, bold := Color(toolkit.ColorNameForeground), false
			if c.Off || c.Without[i] {
				ink = Color(toolkit.ColorNameDisabled)
			}
			if i == c.Chosen {
				bold = true
				fill := theme.ColorChosen
				ink = Color(theme.ColorOnChosen)
				if c.Off {
					fill, ink = toolkit.ColorNameSelection, Color(toolkit.ColorNameForeground)
				}
				out = append(out, box(fill, pos.AddXY(2, 2), room.SubtractWidthHeight(4, 4)))
			} else if i > 0 && i-1 != c.Chosen {
				l := canvas.NewLine(Color(theme.ColorLine))
				l.Position1, l.Position2 = pos.AddXY(0, 8), pos.AddXY(0, size.Height-8)
				out = append(out, l)
			}
			out = append(out, centred(s, c.textSize(), bold, ink, pos, room))
		}
		if c.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}

// tickSide is the side of the box of a tick.
const tickSide = 20

// tickBox draws a box that is ticked or not.
func tickBox(fill fyne.ThemeColorName, at fyne.Position, on bool) []fyne.CanvasObject {
	if on {
		fill = theme.ColorChosen
	}
	frame := box(fill, at, fyne.NewSquareSize(tickSide))
	frame.StrokeWidth, frame.StrokeColor = 1, Color(theme.ColorEdge)
	out := []fyne.CanvasObject{frame}
	if !on {
		return out
	}
	for _, p := range [][4]float32{{4.5, 10.5, 8.5, 14.5}, {8.5, 14.5, 15.5, 6}} {
		l := canvas.NewLine(Color(theme.ColorOnChosen))
		l.StrokeWidth = 2
		l.Position1, l.Position2 = at.AddXY(p[0], p[1]), at.AddXY(p[2], p[3])
		out = append(out, l)
	}
	return out
}

// Toggle is a word with a box that is ticked or not.
type Toggle struct {
	control
	Text     string
	On       bool
	OnChange func(bool)
}

// NewToggle returns a toggle.
func NewToggle(text string, on bool, change func(bool)) *Toggle {
	t := &Toggle{Text: text, On: on, OnChange: change}
	t.onPress(func() {
		if t.OnChange != nil {
			t.OnChange(!t.On)
		}
	})
	t.ExtendBaseWidget(t)
	return t
}

// Set ticks or clears it; nobody is told.
func (t *Toggle) Set(on bool) {
	if t.On != on {
		t.On = on
		t.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (t *Toggle) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: t, min: func() fyne.Size {
		return fyne.NewSize(tickSide+10+width(t.Text, Size(toolkit.SizeNameText), fyne.TextStyle{}), 28)
	}, draw: func(size fyne.Size) []fyne.CanvasObject {
		fill, ink := theme.ColorField, Color(toolkit.ColorNameForeground)
		if t.over && !t.Off {
			fill = theme.ColorFieldOn
		}
		if t.Off {
			ink = Color(toolkit.ColorNameDisabled)
		}
		out := tickBox(fill, fyne.NewPos(0, (size.Height-tickSide)/2), t.On)
		ts := Size(toolkit.SizeNameText)
		out = append(out, Line(t.Text, tickSide+9, (size.Height-LineHeight(ts))/2, size.Width-tickSide-9, ts, false, ink))
		if t.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}

// Press is a button.
type Press struct {
	control
	Text    string
	Quiet   bool // drawn without a field until the mouse is on it
	OnPress func()
}

// NewPress returns a button.
func NewPress(text string, press func()) *Press {
	p := &Press{Text: text, OnPress: press}
	p.onPress(func() {
		if p.OnPress != nil {
			p.OnPress()
		}
	})
	p.ExtendBaseWidget(p)
	return p
}

// NewQuiet returns a button that shows its field only under the mouse.
func NewQuiet(text string, press func()) *Press {
	p := NewPress(text, press)
	p.Quiet = true
	return p
}

// SetText replaces the word on it.
func (p *Press) SetText(s string) {
	if p.Text != s {
		p.Text = s
		p.Refresh()
	}
}

// SetOff makes the button do nothing, or something again.
func (p *Press) SetOff(off bool) {
	if p.Off != off {
		p.Off = off
		p.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (p *Press) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: p, min: func() fyne.Size {
		return fyne.NewSize(width(p.Text, Size(toolkit.SizeNameText), fyne.TextStyle{})+22, Size(theme.SizeControl)-2)
	}, draw: func(size fyne.Size) []fyne.CanvasObject {
		var out []fyne.CanvasObject
		switch {
		case p.over && !p.Off:
			out = append(out, box(theme.ColorFieldOn, fyne.Position{}, size))
		case !p.Quiet:
			out = append(out, box(theme.ColorField, fyne.Position{}, size))
		}
		ink := Color(toolkit.ColorNameForeground)
		if p.Off {
			ink = Color(toolkit.ColorNameDisabled)
		}
		out = append(out, centred(p.Text, Size(toolkit.SizeNameText), false, ink, fyne.Position{}, size))
		if p.focused {
			out = append(out, ring(size))
		}
		return out
	}}
}
