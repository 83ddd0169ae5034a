package view

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/words"
)

// bar is a strip of the window that lays out its own objects.
type bar struct {
	toolkit.BaseWidget
	objs  []fyne.CanvasObject
	place func(size fyne.Size)
	least fyne.Size
}

func (b *bar) CreateRenderer() fyne.WidgetRenderer { return &barRenderer{b} }

type barRenderer struct{ b *bar }

func (r *barRenderer) MinSize() fyne.Size           { return r.b.least }
func (r *barRenderer) Layout(size fyne.Size)        { r.b.place(size) }
func (r *barRenderer) Refresh()                     { r.b.place(r.b.Size()); canvas.Refresh(r.b) }
func (r *barRenderer) Objects() []fyne.CanvasObject { return r.b.objs }
func (r *barRenderer) Destroy()                     {}

const pad = 14 // the window's side margin

// sentenceBar is the one computed sentence, on one line. A click on it goes to the pin that
// it speaks of, or on to the next place at which the sheets differ.
type sentenceBar struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	words  *widget.Prose
	told   session.Told
	over   bool // the mouse is on it
}

var _ desktop.Hoverable = (*sentenceBar)(nil)

func newSentenceBar(h *Host) *sentenceBar {
	b := &sentenceBar{h: h, ground: canvas.NewRectangle(theme.Desk)}
	b.words = widget.NewProse("", toolkittheme.SizeNameSubHeadingText, theme.ColorDeskInk, 1)
	b.words.Centre = true
	b.objs = []fyne.CanvasObject{b.ground, b.words}
	b.place = func(size fyne.Size) {
		b.ground.Resize(size)
		b.write(size.Width - 2*pad)
		h := b.words.HeightFor(size.Width - 2*pad)
		set(b.words, pad, (size.Height-h)/2-2, size.Width-2*pad, h)
	}
	b.ExtendBaseWidget(b)
	return b
}

func (b *sentenceBar) heightFor(float32) float32 {
	return widget.LineHeight(widget.Size(toolkittheme.SizeNameSubHeadingText)) + 8
}

// write puts the sentence on its line: in smaller type where it is long, and without its
// reason, which the route shows as well, where that is too long too.
func (b *sentenceBar) write(room float32) {
	for _, text := range []string{b.told.Text, b.told.Brief} {
		for _, size := range []fyne.ThemeSizeName{toolkittheme.SizeNameSubHeadingText, toolkittheme.SizeNameText} {
			if text != "" {
				b.words.Type = size
				b.words.SetText(text)
			}
			if b.words.Fits(room) {
				return
			}
		}
	}
}

func (b *sentenceBar) update(now session.State) {
	if t := now.Told(); t != b.told {
		b.told = t
		b.words.SetText(t.Text)
		if b.over {
			b.h.Hint(t.Text)
		}
		b.place(b.Size())
		b.words.Refresh()
	}
}

// MouseIn implements desktop.Hoverable: what the line has no room for is told at the foot.
func (b *sentenceBar) MouseIn(*desktop.MouseEvent) {
	b.over = true
	b.h.Hint(b.told.Text)
}

// MouseMoved implements desktop.Hoverable.
func (b *sentenceBar) MouseMoved(*desktop.MouseEvent) {}

// MouseOut implements desktop.Hoverable.
func (b *sentenceBar) MouseOut() {
	b.over = false
	b.h.Hint("")
}

// Tapped implements fyne.Tappable.
func (b *sentenceBar) Tapped(*fyne.PointEvent) {
	b.h.Focus()
	switch {
	case b.told.Pin >= 0:
		b.h.Do(session.GoToPin{N: b.told.Pin})
	case b.h.State().DifferWords() != "":
		b.h.Do(session.FindDifference{})
	}
}

// Cursor implements desktop.Cursorable.
func (b *sentenceBar) Cursor() desktop.Cursor {
	if b.told.Pin >= 0 || b.h.State().DifferWords() != "" {
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}

// hintLine says at the foot of the window what the thing under the mouse does.
type hintLine struct {
	bar
	ground *canvas.Rectangle
	rest   string
	text   *canvas.Text
	scale  *canvas.Text // at the right end: how large the sheets show the picture
}

func newHintLine() *hintLine {
	b := &hintLine{ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rest: standing}
	b.text = widget.NewText(b.rest, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
	b.scale = widget.NewText("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
	b.objs = []fyne.CanvasObject{b.ground, b.text, b.scale}
	b.place = func(size fyne.Size) {
		b.ground.Resize(size)
		b.text.Move(fyne.NewPos(pad, (size.Height-widget.Least(b.text).Height)/2))
		least := widget.Least(b.scale)
		b.scale.Move(fyne.NewPos(size.Width-pad-least.Width, (size.Height-least.Height)/2))
	}
	b.ExtendBaseWidget(b)
	return b
}

const standing = "A proof is only as good as the screen’s calibration and the light the print is judged in.   H: all keys"

func (b *hintLine) update(now session.State) {
	if told := scaleTold(now); told != b.scale.Text {
		b.scale.Text = told
		b.place(b.Size())
		b.scale.Refresh()
	}
	rest := standing
	if !now.Cell.Exact {
		rest = fmt.Sprintf("At a scale of %.4g the window can’t set every pixel exactly; 1, 1.5 and 2 can.   ", now.Cell.Scale) + standing
	}
	if rest != b.rest {
		old := b.rest
		b.rest = rest
		if b.text.Text == old {
			b.Set("")
		}
	}
}

// scaleTold says how large the sheets show the picture.
func scaleTold(s session.State) string {
	if s.Picture.Key == 0 || s.Cell.W == 0 {
		return ""
	}
	scale := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Scale
	told := words.Share(scale)
	if scale == 1 {
		told = "1:1, a pixel of the picture is one of the screen"
	}
	if s.View.Fit {
		told = "whole picture, " + told
	}
	return told
}

// Set shows a hint; "" brings the standing caution back.
func (b *hintLine) Set(s string) {
	if s == "" {
		s = b.rest
	}
	size := widget.Size(toolkittheme.SizeNameCaptionText)
	s = widget.Shorten(s, b.Size().Width-3*pad-widget.Least(b.scale).Width, size, fyne.TextStyle{})
	if b.text.Text != s {
		b.text.Text = s
		b.text.Refresh()
	}
}
