package widget

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Slide is a quantity on a scale: its name and value above, a track with a knob
// beneath. Arrow keys move it by a step, Page up and Page down by ten, Home and
// End to the ends.
type Slide struct {
	control
	Text         string
	Low, High    float64
	Step         float64
	Value        float64
	Round        bool // the scale goes round, as hue does
	Format       func(float64) string
	OnChange     func(float64)
	OnChangeDone func(float64) // when the mouse lets go or a key was pressed; nil for none
}

var _ fyne.Draggable = (*Slide)(nil)

// NewSlide returns a slide.
func NewSlide(text string, low, high, step, value float64, format func(float64) string, change func(float64)) *Slide {
	s := &Slide{Text: text, Low: low, High: high, Step: step, Value: value, Format: format, OnChange: change}
	s.tap = func(x float32) { s.at(x); s.done() }
	s.key = func(e *fyne.KeyEvent) bool {
		v := s.Value
		switch e.Name {
		case fyne.KeyLeft, fyne.KeyDown:
			v -= s.Step
		case fyne.KeyRight, fyne.KeyUp:
			v += s.Step
		case fyne.KeyPageDown:
			v -= 10 * s.Step
		case fyne.KeyPageUp:
			v += 10 * s.Step
		case fyne.KeyHome:
			v = s.Low
		case fyne.KeyEnd:
			v = s.High
		default:
			return false
		}
		s.change(v)
		s.done()
		return true
	}
	s.ExtendBaseWidget(s)
	return s
}

// Set shows another value; nobody is told.
func (s *Slide) Set(v float64) {
	if s.Value != v {
		s.Value = v
		s.Refresh()
	}
}

func (s *Slide) change(v float64) {
	if s.Round && (v < s.Low || v > s.High) {
		v = s.Low + math.Mod(math.Mod(v-s.Low, s.High-s.Low)+s.High-s.Low, s.High-s.Low)
	}
	v = math.Min(math.Max(v, s.Low), s.High)
	v = s.Low + math.Round((v-s.Low)/s.Step)*s.Step
	if v == s.Value {
		return
	}
	s.Value = v
	if s.OnChange != nil {
		s.OnChange(v)
	}
	s.Refresh()
}

func (s *Slide) done() {
	if s.OnChangeDone != nil {
		s.OnChangeDone(s.Value)
	}
}

const knob = 9 // half the knob's width

func (s *Slide) at(x float32) {
	if room := s.BaseWidget.Size().Width - 2*knob; room > 0 {
		f := math.Min(math.Max(float64((x-knob)/room), 0), 1)
		s.change(s.Low + f*(s.High-s.Low))
	}
}

// Dragged implements fyne.Draggable.
func (s *Slide) Dragged(e *fyne.DragEvent) {
	if !s.Off {
		s.at(e.Position.X)
	}
}

// DragEnd implements fyne.Draggable.
func (s *Slide) DragEnd() { s.done() }

// SlideHeight is a slide's height.
func SlideHeight() float32 { return LineHeight(Size(toolkit.SizeNameText)) + 26 }

// CreateRenderer implements fyne.Widget.
func (s *Slide) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: s, min: func() fyne.Size { return fyne.NewSize(160, SlideHeight()) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			ts := Size(toolkit.SizeNameText)
			h := LineHeight(ts)
			value := s.Format(s.Value)
			vw := width(value, ts, fyne.TextStyle{Bold: true})
			ink := Color(toolkit.ColorNameForeground)
			name := Line(s.Text, 0, 0, size.Width-vw-10, ts, false, ink)
			val := Line(value, size.Width-vw, 0, vw, ts, true, ink)
			y := h + 13
			track := box(theme.ColorField, fyne.NewPos(0, y-4), fyne.NewSize(size.Width, 8))
			track.StrokeWidth, track.StrokeColor = 1, Color(theme.ColorEdge)
			f := float32((s.Value - s.Low) / (s.High - s.Low))
			x := knob + f*(size.Width-2*knob)
			k := canvas.NewRectangle(Color(theme.ColorChosen))
			k.CornerRadius, k.StrokeWidth, k.StrokeColor = 4, 2, Color(theme.ColorGroup)
			k.Resize(fyne.NewSize(2*knob, 20))
			k.Move(fyne.NewPos(x-knob, y-10))
			out := []fyne.CanvasObject{name, val, track, k}
			if s.focused {
				r := ring(fyne.NewSize(size.Width, 26))
				r.Move(fyne.NewPos(0, h))
				out = append(out, r)
			}
			return out
		}}
}
