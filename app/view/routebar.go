package view

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

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
