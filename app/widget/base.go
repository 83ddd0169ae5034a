package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/widget"
)

// base is what all our widgets share.
type base struct {
	toolkit.BaseWidget
	me fyne.Widget
}

// ExtendBaseWidget makes w the widget that is painted.
func (b *base) ExtendBaseWidget(w fyne.Widget) {
	b.me = w
	b.BaseWidget.ExtendBaseWidget(w)
}

// Refresh has the widget drawn anew and painted. The objects that a renderer
// makes anew have never been painted, so that the toolkit can't tell by them
// which window has changed: the widget itself tells it.
func (b *base) Refresh() {
	b.BaseWidget.Refresh()
	if b.me != nil {
		canvas.Refresh(b.me)
	}
}

// drawn is a renderer that draws its objects afresh whenever size or content
// change. Our widgets are a handful of objects each, so that nothing is gained
// by moving old ones about.
//
// The toolkit forgets the renderer of a widget that was hidden for a minute and asks for
// a new one without laying it out: so a renderer keeps no size of its own, and one that
// has drawn nothing yet draws when it is asked for its objects.
type drawn struct {
	of   fyne.CanvasObject // the widget
	min  func() fyne.Size
	draw func(size fyne.Size) []fyne.CanvasObject
	size fyne.Size // that objs were drawn for
	objs []fyne.CanvasObject
}

func (d *drawn) MinSize() fyne.Size { return d.min() }

func (d *drawn) Layout(size fyne.Size) {
	if size == d.size && d.objs != nil {
		return
	}
	d.size = size
	d.objs = d.draw(size)
}

func (d *drawn) Refresh() {
	d.size = d.of.Size()
	d.objs = d.draw(d.size)
}

func (d *drawn) Objects() []fyne.CanvasObject {
	if d.objs == nil {
		d.Refresh()
	}
	return d.objs
}

func (d *drawn) Destroy() {}

// control is the behaviour of everything that is clicked: hover, hint, focus by
// Tab alone, keys passed on.
type control struct {
	base
	// Hint is a sentence that says what the control does, told through Tell
	// while the mouse or the keyboard is on it.
	Hint string
	Tell func(string)

	// OnFocus is told that the keyboard has come to it: what scrolls brings it into sight.
	OnFocus func()

	// Off is set where the control does nothing now.
	Off bool

	over, focused bool
	tap           func(x float32)
	key           func(*fyne.KeyEvent) bool
}

var (
	_ fyne.Focusable    = (*control)(nil)
	_ fyne.Tappable     = (*control)(nil)
	_ desktop.Hoverable = (*control)(nil)
	_ desktop.Keyable   = (*control)(nil)
)

func (c *control) canvas() fyne.Canvas {
	return fyne.CurrentApp().Driver().CanvasForObject(c.me)
}

// Explain sets the hint and where it is told. One that is being told is told anew.
func (c *control) Explain(hint string, tell func(string)) {
	changed := hint != c.Hint
	c.Hint, c.Tell = hint, tell
	if changed && (c.over || c.focused) {
		c.tell(true)
	}
}

func (c *control) tell(on bool) {
	if c.Tell == nil {
		return
	}
	if on {
		c.Tell(c.Hint)
	} else {
		c.Tell("")
	}
}

// Tapped implements fyne.Tappable. The keyboard goes back to the desk.
func (c *control) Tapped(e *fyne.PointEvent) {
	if cv := c.canvas(); cv != nil {
		cv.Unfocus()
	}
	if !c.Off && c.tap != nil {
		c.tap(e.Position.X)
	}
}

// MouseIn implements desktop.Hoverable.
func (c *control) MouseIn(*desktop.MouseEvent) {
	c.over = true
	c.tell(true)
	c.me.Refresh()
}

// MouseMoved implements desktop.Hoverable.
func (c *control) MouseMoved(*desktop.MouseEvent) {}

// MouseOut implements desktop.Hoverable.
func (c *control) MouseOut() {
	c.over = false
	c.tell(false)
	c.me.Refresh()
}

// FocusGained implements fyne.Focusable.
func (c *control) FocusGained() {
	c.focused = true
	c.tell(true)
	if c.OnFocus != nil {
		c.OnFocus()
	}
	c.me.Refresh()
}

// FocusLost implements fyne.Focusable.
func (c *control) FocusLost() {
	c.focused = false
	c.tell(false)
	c.me.Refresh()
}

// TypedRune implements fyne.Focusable.
func (c *control) TypedRune(rune) {}

// TypedKey implements fyne.Focusable: what the control has no use for goes to
// the desk.
func (c *control) TypedKey(e *fyne.KeyEvent) {
	if !c.Off && c.key != nil && c.key(e) {
		return
	}
	if cv := c.canvas(); cv != nil {
		if e.Name == fyne.KeyEscape {
			cv.Unfocus()
		}
		if f := cv.OnTypedKey(); f != nil {
			f(e)
		}
	}
}

// KeyDown implements desktop.Keyable.
func (c *control) KeyDown(e *fyne.KeyEvent) {
	if cv, ok := c.canvas().(desktop.Canvas); ok && cv.OnKeyDown() != nil {
		cv.OnKeyDown()(e)
	}
}

// KeyUp implements desktop.Keyable.
func (c *control) KeyUp(e *fyne.KeyEvent) {
	if cv, ok := c.canvas().(desktop.Canvas); ok && cv.OnKeyUp() != nil {
		cv.OnKeyUp()(e)
	}
}

// onPress has a click, the space bar and Return do one thing.
func (c *control) onPress(do func()) {
	c.tap = func(float32) { do() }
	c.key = func(e *fyne.KeyEvent) bool {
		if isPress(e) {
			do()
			return true
		}
		return false
	}
}

func isPress(e *fyne.KeyEvent) bool {
	return e.Name == fyne.KeySpace || e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter
}
