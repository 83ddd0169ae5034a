package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// noticeStrip is a sentence of the program, with what to do about it.
type noticeStrip struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	mark   *canvas.Text
	head   *widget.Prose
	hint   *widget.Prose
	away   *widget.Press
	stop   *widget.Press
	shown  session.Notice
	busy   string
	rest   bool // a card has the screen to itself: what is told waits
}

func newNoticeStrip(h *Host) *noticeStrip {
	b := &noticeStrip{h: h, ground: canvas.NewRectangle(widget.Color(theme.ColorGroup))}
	b.mark = widget.NewText("!", toolkittheme.SizeNameHeadingText, toolkittheme.ColorNameForeground, true)
	b.mark.Alignment = fyne.TextAlignCenter
	b.head = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	b.head.Bold = true
	b.hint = widget.NewProse("", toolkittheme.SizeNameText, theme.ColorQuiet, 3)
	b.away = widget.NewPress("Understood", func() { h.Do(session.DismissNotice{}) })
	b.stop = widget.NewPress("Stop", func() { h.Session.StopLoading() })
	b.objs = []fyne.CanvasObject{b.ground, b.mark, b.head, b.hint, b.away, b.stop}
	b.place = b.arrange
	b.ExtendBaseWidget(b)
	b.Hide()
	return b
}

func (b *noticeStrip) text(w float32) float32 { return w - 2*pad - 40 - 130 }

func (b *noticeStrip) heightFor(w float32) float32 {
	if b.shown.Headline == "" && b.busy == "" {
		return 0
	}
	h := b.head.HeightFor(b.text(w))
	if b.hint.Text != "" {
		h += b.hint.HeightFor(b.text(w))
	}
	return max(h, 32) + 16
}

func (b *noticeStrip) arrange(size fyne.Size) {
	b.ground.Resize(size)
	b.mark.Move(fyne.NewPos(pad, 4))
	b.mark.Resize(fyne.NewSize(24, 34))
	w := b.text(size.Width)
	hh := b.head.HeightFor(w)
	y := float32(8)
	if b.hint.Text == "" {
		y = (size.Height - hh) / 2
	}
	b.head.Move(fyne.NewPos(pad+36, y))
	b.head.Resize(fyne.NewSize(w, hh))
	b.hint.Move(fyne.NewPos(pad+36, y+hh))
	b.hint.Resize(fyne.NewSize(w, b.hint.HeightFor(w)))
	for _, p := range []*widget.Press{b.away, b.stop} {
		p.Move(fyne.NewPos(size.Width-pad-120, (size.Height-30)/2))
		p.Resize(fyne.NewSize(120, 30))
	}
}

func (b *noticeStrip) update(now session.State) {
	busy := ""
	if now.Loading.Path != "" || now.Loading.Demo {
		busy = "Opening " + fileName(now.Loading.Path) + " …"
		if now.Picture.Key == 0 && now.Loading.Demo {
			busy = "" // the first start: the desk itself says that it is being laid
		}
	}
	if now.Notice == b.shown && busy == b.busy {
		return
	}
	b.shown, b.busy = now.Notice, busy
	if busy != "" {
		b.mark.Text = "…"
		b.head.SetText(busy)
		b.hint.SetText("")
		b.away.Hide()
		b.stop.Show()
		show(b, !b.rest)
	} else if now.Notice.Headline != "" {
		b.mark.Text = "i"
		if now.Notice.Failure {
			b.mark.Text = "!"
		}
		b.head.SetText(now.Notice.Headline)
		b.hint.SetText(now.Notice.Hint)
		b.stop.Hide()
		b.away.Show()
		show(b, !b.rest)
	} else {
		b.Hide()
	}
	b.Refresh()
}
