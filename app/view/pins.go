package view

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
	"firstsheet/proof/words"
)

// pinTable shows every pin with its colour on every sheet side by side.
type pinTable struct {
	bar
	h      *Host
	head   *canvas.Text
	lch    bool
	form   *widget.Press
	mark   *widget.Press
	name   *widget.Press
	find   *widget.Press
	wider  *widget.Press
	closer *widget.Press
	pull   *widget.Press
	heads  [session.MaxSheets]*canvas.Text
	rows   *fyne.Container
	scroll *container.Scroll
	stack  *pinRowsLayout
	empty  *widget.Prose
	list   []*widget.PinRow
	n      int
	high   float32 // of all rows
	pin    int     // the chosen pin when it was last brought into sight
	pins   int     // how many there were then
	sight  int     // rows of one line in sight
}

const (
	pinHead      = 32
	pinRows      = 8 // rows of one line in sight
	pinRowsLow   = 6 // the same in a low window
	pinRowsLeast = 3 // where the sheets would be too small beside more
)

func newPinTable(h *Host) *pinTable {
	t := &pinTable{h: h, head: heading("Pins"), stack: &pinRowsLayout{width: 300}}
	t.form = widget.NewQuiet("as L*C*h", func() {
		t.lch = !t.lch
		t.form.SetText(map[bool]string{false: "as L*C*h", true: "as L*a*b*"}[t.lch])
		t.update(h.State())
	})
	t.form.Explain("Lightness, chroma and hue, or lightness, a* and b*.", h.Hint)
	t.mark = widget.NewQuiet("mark", func() { h.Do(session.PutPin{X: float64(h.State().Picture.W) / 2, Y: float64(h.State().Picture.H) / 2}) })
	t.mark.Explain("Put a pin in the middle; M puts it where the pointer is, and it can be dragged.", h.Hint)
	t.find = widget.NewQuiet("propose", func() { h.Do(session.ProposePins{}) })
	t.find.Explain("Put pins on the picture’s own key colours: vivid, skin-like, neutral, darkest and lightest with texture (Ctrl K).", h.Hint)
	t.name = widget.NewQuiet("name…", func() {
		if h.State().Pin >= 0 {
			h.Do(session.AskFor{Ask: session.AskPinName})
		}
	})
	t.name.Explain("Give the chosen pin a name.", h.Hint)
	radius := func(f float64) func() {
		return func() { h.Do(session.WidenPin{N: h.State().Pin, Factor: f}) }
	}
	t.wider = widget.NewQuiet("wider", radius(1.5))
	t.wider.Explain("The chosen pin reads the mean of a wider circle.", h.Hint)
	t.closer = widget.NewQuiet("narrower", radius(1/1.5))
	t.closer.Explain("The chosen pin reads the mean of a narrower circle.", h.Hint)
	t.pull = widget.NewQuiet("pull out", func() {
		if s := h.State(); s.Pin >= 0 {
			h.Do(session.DeletePin{N: s.Pin})
		}
	})
	t.pull.Explain("Take the chosen pin away (Backspace).", h.Hint)
	t.empty = widget.NewProse("No pins yet. Point at a colour that matters and press M, or have the program propose some: Ctrl K.", toolkittheme.SizeNameText, theme.ColorQuiet, 2)
	t.rows = container.New(t.stack)
	t.scroll = container.NewVScroll(t.rows)
	t.objs = []fyne.CanvasObject{t.head, t.form, t.mark, t.find, t.name, t.wider, t.closer, t.pull, t.empty, t.scroll}
	for i := range t.heads {
		t.heads[i] = widget.NewText("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
		t.objs = append(t.objs, t.heads[i])
	}
	t.place = t.arrange
	t.ExtendBaseWidget(t)
	return t
}

// pinRowsLayout stacks rows, each as high as its sentences need at the width.
type pinRowsLayout struct{ width float32 }

func (l *pinRowsLayout) Layout(o []fyne.CanvasObject, size fyne.Size) {
	y := float32(0)
	for _, c := range o {
		h := c.(*widget.PinRow).HeightFor(size.Width)
		set(c, 0, y, size.Width, h)
		y += h
	}
}

func (l *pinRowsLayout) MinSize(o []fyne.CanvasObject) fyne.Size {
	h := float32(0)
	for _, c := range o {
		h += c.(*widget.PinRow).HeightFor(l.width)
	}
	return fyne.NewSize(300, h)
}

func (t *pinTable) height() float32 {
	return pinHead + 18 + float32(t.sight)*widget.PinRowHeight + 8
}

func (t *pinTable) arrange(size fyne.Size) {
	set(t.head, 0, 5, 60, 24)
	x := size.Width
	for _, p := range []*widget.Press{t.form, t.pull, t.closer, t.wider, t.name, t.find, t.mark} {
		w := p.MinSize().Width
		x -= w + 2
		set(p, x, 2, w, 28)
	}
	count := max(t.h.State().Count, 1)
	w := (size.Width - widget.PinNameWidth - 12) / float32(count)
	for i := range t.heads {
		set(t.heads[i], widget.PinNameWidth+float32(i)*w+34, pinHead, w-34, 18)
	}
	t.stack.width = size.Width
	set(t.scroll, 0, pinHead+18, size.Width, size.Height-pinHead-18-8)
	set(t.empty, 0, pinHead+24, size.Width, 22)
}

func (t *pinTable) update(now session.State) {
	if t.n != now.Count {
		t.n = now.Count
		t.Refresh()
	}
	t.updateHeads(now)
	show(t.empty, now.NumPins == 0)
	for len(t.list) < now.NumPins {
		n := len(t.list)
		r := widget.NewPinRow(func() { t.h.Do(session.ChoosePin{N: n}) })
		r.OnArrow = func(by int) { t.step(n, by) }
		r.OnFocus = func() { t.reveal(n) }
		t.list = append(t.list, r)
		t.rows.Add(r)
	}
	for len(t.list) > now.NumPins {
		last := len(t.list) - 1
		t.rows.Remove(t.list[last])
		t.list = t.list[:last]
	}
	var high float32
	for i, r := range t.list {
		cells := make([]widget.PinCell, now.Count)
		for n := range cells {
			cells[n] = t.cell(now, n, i)
		}
		radius := fmt.Sprintf("radius %.0f px", session.PinRadius(now.Picture, now.Pins[i]))
		r.Set(now.Pins[i].Name, radius, cells, i == now.Pin)
		r.Explain("This pin reads a circle of "+radius+". Press to choose it; drag its mark on a sheet to move it.", t.h.Hint)
		r.Passed = i != min(max(now.Pin, 0), now.NumPins-1)
		high += r.HeightFor(t.stack.width)
	}
	if high != t.high { // a sentence has become longer or shorter
		t.high = high
		t.rows.Refresh()
		t.scroll.Refresh()
		if r, ok := t.h.Window.Canvas().Focused().(*widget.PinRow); ok {
			t.reveal(slices.Index(t.list, r)) // the keyboard stays in sight
		}
	}
	if now.Pin != t.pin || now.NumPins != t.pins {
		t.pin, t.pins = now.Pin, now.NumPins
		t.reveal(now.Pin)
	}
}

// step chooses another pin and takes the keyboard there.
func (t *pinTable) step(from, by int) {
	to := min(max(from+by, 0), len(t.list)-1)
	t.h.Do(session.ChoosePin{N: to})
	if to < len(t.list) {
		t.h.Window.Canvas().Focus(t.list[to])
	}
}

// reveal scrolls the table so that a pin's row is in sight.
func (t *pinTable) reveal(pin int) {
	if pin < 0 || pin >= len(t.list) || t.scroll.Size().Height <= 0 {
		return
	}
	t.rows.Resize(fyne.NewSize(t.scroll.Size().Width, t.high)) // takes in rows that have just come
	top := float32(0)
	for _, r := range t.list[:pin] {
		top += r.HeightFor(t.stack.width)
	}
	foot := top + t.list[pin].HeightFor(t.stack.width)
	y := max(min(t.scroll.Offset.Y, top), foot-t.scroll.Size().Height)
	if y != t.scroll.Offset.Y {
		t.scroll.ScrollToOffset(fyne.NewPos(0, y))
	}
}

// updateHeads puts each sheet's title over its column, as long a one as there is room for.
func (t *pinTable) updateHeads(now session.State) {
	store := t.h.Session.Store()
	for i := range t.heads {
		text := ""
		if i < now.Count {
			room := t.heads[i].Size().Width - 8
			for _, title := range []string{sheetTitle(store, now.Sheets[i]), shortTitle(store, now.Sheets[i])} {
				text = fmt.Sprintf("%d  %s", i+1, title)
				if cut := widget.Shorten(text, room, t.heads[i].TextSize, t.heads[i].TextStyle); cut != text {
					text = cut // the shorter title is tried, and cut where even that is too long
					continue
				}
				break
			}
		}
		if t.heads[i].Text != text {
			t.heads[i].Text = text
			t.heads[i].Refresh()
		}
	}
}

// cell is what a pin says of sheet n.
func (t *pinTable) cell(now session.State, n, pin int) widget.PinCell {
	v := now.Values[n][pin]
	if !v.Known {
		return widget.PinCell{Figures: "…", Patch: theme.Desk}
	}
	c := widget.PinCell{Patch: raster.RGBA(v.Screen), Figures: t.figures(v.Counted), Words: v.Words}
	if !now.Sheets[n].IsProof() {
		return c
	}
	c.Figures += fmt.Sprintf(" · ΔE00 %.1f", v.DeltaE00)
	if v.Darker {
		c.Figures += " · darker than this paper"
	} else if v.Reach >= now.Looking.Threshold {
		c.Figures += fmt.Sprintf(" · out of reach %.1f", v.Reach)
	}
	return c
}

func (t *pinTable) figures(c cie.Lab) string {
	if t.lch {
		return words.LCh(c)
	}
	return words.Lab(c)
}
