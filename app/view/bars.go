package view

import (
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
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

// routeBar is the route line of the active sheet, and beside it the large switch
// with the slip beneath.
type routeBar struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	rule   *canvas.Line
	route  *widget.Route
	stops  session.Route
	sw     *widget.Choice
	slip   *widget.Press
	why    *widget.Prose // what is wrong, where the route line has no room for it
}

// narrow tells whether a window of this width sets the switch under the route
// line instead of beside it.
func narrow(w float32) bool { return w < 1400 }

// The bar has one height whatever the route: throwing the switch must not move
// the sheets.
const (
	barHigh     = 118 // beside: one line of plain words, two of trade terms, two of what is wrong
	routeRow    = 92  // above: two lines of plain words and two of trade terms
	routeRowLow = 76  // above, where the width spares a line
	routeSpares = 1180
	switchRow   = 46
	switchWidth = 290
)

func newRouteBar(h *Host) *routeBar {
	b := &routeBar{h: h, ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rule: canvas.NewLine(widget.Color(theme.ColorLine))}
	b.route = widget.NewRoute(func(i int) {
		if a := b.stops.Stations[i].Ask; a != session.AskNothing {
			h.Do(session.AskFor{Ask: a})
		}
	})
	b.route.Explain("The route that the colours travel: who converts, from what, to what.", h.Hint)
	b.sw = widget.NewChoice([]string{"As it should be", "Gone wrong"}, 0, func(i int) { h.Do(session.SetWrong{On: i == 1}) })
	b.sw.Large = true
	b.sw.Explain("The route as it should be, or with a mistake in it: the sheet shows what that does.", h.Hint)
	b.slip = widget.NewPress("", func() { slipMenu(h, b.slip) })
	b.slip.Explain("Which mistake is made when it has gone wrong.", h.Hint)
	b.why = widget.NewProse("", toolkittheme.SizeNameCaptionText, toolkittheme.ColorNameForeground, 2)
	b.why.Bold = true
	b.objs = []fyne.CanvasObject{b.ground, b.rule, b.route, b.sw, b.slip, b.why}
	b.place = b.arrange
	b.ExtendBaseWidget(b)
	return b
}

// rowAbove is the height of a route line above the switch, and the lines a station
// takes in it.
func rowAbove(w float32) (height float32, lines int) {
	if w >= routeSpares {
		return routeRowLow, 3
	}
	return routeRow, 4
}

func (b *routeBar) heightFor(w float32) float32 {
	if narrow(w) {
		h, _ := rowAbove(w)
		return h + switchRow
	}
	return max(b.route.HeightFor(w-3*pad-switchWidth)+16, barHigh)
}

func (b *routeBar) arrange(size fyne.Size) {
	b.ground.Resize(size)
	b.rule.Position1, b.rule.Position2 = fyne.NewPos(0, size.Height-1), fyne.NewPos(size.Width, size.Height-1)
	if narrow(size.Width) {
		row, lines := rowAbove(size.Width)
		b.route.Bare, b.route.Most = true, lines
		set(b.route, pad-7, 2, size.Width-2*pad+7, row)
		set(b.sw, pad, row, 264, 38)
		set(b.slip, pad+264+8, row+3, 220, 32)
		x := float32(pad + 264 + 8 + 220 + 14)
		h := b.why.HeightFor(size.Width - x - pad)
		set(b.why, x, row+(38-h)/2, size.Width-x-pad, h)
		b.why.Show()
		return
	}
	b.route.Bare, b.route.Most = false, 0
	b.why.Hide()
	set(b.route, pad-7, 8, size.Width-3*pad-switchWidth, size.Height-16)
	set(b.sw, size.Width-pad-switchWidth, 14, switchWidth, 40)
	set(b.slip, size.Width-pad-switchWidth, 14+46, switchWidth, 30)
}

// active is the sheet whose route is drawn: the one shown, held keys counted in.
func (b *routeBar) update(now session.State) {
	r := now.Results[now.Active].Route
	if now.Held != session.HeldNone && now.Peek.N > 0 {
		r = now.Peek
	}
	b.stops = r
	var stops []widget.Stop
	for i := 0; i < r.N; i++ {
		st := r.Stations[i]
		stop := stopOf(st.Station)
		stop.Ask = st.Ask != session.AskNothing
		stops = append(stops, stop)
	}
	b.route.Set(stops)
	var why []string
	for _, st := range stops {
		if st.Note != "" {
			why = append(why, st.Note)
		}
	}
	if t := strings.Join(why, "; "); t != b.why.Text {
		b.why.SetText(t)
		b.arrange(b.Size())
	}
	sh, n := now.Proof()
	wrong := 0
	if sh.Wrong {
		wrong = 1
	}
	b.sw.Set(wrong)
	b.sw.SetOff(n < 0)
	b.slip.SetText(slipNames(sh.Setup) + " ▾")
}

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
		b.Show()
	} else if now.Notice.Headline != "" {
		b.mark.Text = "i"
		if now.Notice.Failure {
			b.mark.Text = "!"
		}
		b.head.SetText(now.Notice.Headline)
		b.hint.SetText(now.Notice.Hint)
		b.stop.Hide()
		b.away.Show()
		b.Show()
	} else {
		b.Hide()
	}
	b.Refresh()
}

// sentenceBar is the one large computed sentence of the active sheet.
type sentenceBar struct {
	bar
	ground *canvas.Rectangle
	words  *widget.Prose
}

func newSentenceBar() *sentenceBar {
	b := &sentenceBar{ground: canvas.NewRectangle(theme.Desk)}
	b.words = widget.NewProse("", theme.SizeSentence, theme.ColorDeskInk, 2)
	b.words.Centre = true
	b.objs = []fyne.CanvasObject{b.ground, b.words}
	b.place = func(size fyne.Size) {
		b.ground.Resize(size)
		b.words.Type = sentenceSize(size.Width)
		h := b.words.HeightFor(size.Width - 2*pad)
		set(b.words, pad, (size.Height-h)/2-3, size.Width-2*pad, h)
	}
	b.ExtendBaseWidget(b)
	return b
}

func sentenceSize(w float32) fyne.ThemeSizeName {
	if w < 1240 {
		return toolkittheme.SizeNameSubHeadingText
	}
	return theme.SizeSentence
}

// heightFor is that of two lines, whatever the sentence: a longer one must not
// move the sheets.
func (b *sentenceBar) heightFor(w float32) float32 {
	return 2*widget.LineHeight(widget.Size(sentenceSize(w))) + 8
}

func (b *sentenceBar) update(now session.State) {
	text := now.Told().Text
	if b.words.Text != text {
		b.words.SetText(text)
		b.place(b.Size())
	}
}

// hintLine says at the foot of the window what the thing under the mouse does.
type hintLine struct {
	bar
	ground *canvas.Rectangle
	rest   string
	text   *canvas.Text
}

func newHintLine() *hintLine {
	b := &hintLine{ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rest: standing}
	b.text = widget.NewText(b.rest, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, false)
	b.objs = []fyne.CanvasObject{b.ground, b.text}
	b.place = func(size fyne.Size) {
		b.ground.Resize(size)
		b.text.Move(fyne.NewPos(pad, (size.Height-b.text.MinSize().Height)/2))
	}
	b.ExtendBaseWidget(b)
	return b
}

const standing = "A proof is only as good as the screen’s calibration and the light the print is judged in.   H: all keys"

func (b *hintLine) update(now session.State) {
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

// Set shows a hint; "" brings the standing caution back.
func (b *hintLine) Set(s string) {
	if s == "" {
		s = b.rest
	}
	size := widget.Size(toolkittheme.SizeNameCaptionText)
	s = widget.Shorten(s, b.Size().Width-2*pad, size, fyne.TextStyle{})
	if b.text.Text != s {
		b.text.Text = s
		b.text.Refresh()
	}
}
