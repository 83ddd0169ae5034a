package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// routeBar is the thin route line of the active sheet, with the switch and the chosen
// slip at its end.
type routeBar struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	rule   *canvas.Line
	route  *widget.Route
	stops  session.Route
	sw     *widget.Choice
	slip   *widget.Press
	slips  string // the chosen slip's name
}

// narrow tells whether a window of this width has no room for names that stand elsewhere
// too: the slip's in the route line, those of the ready-made desks.
func narrow(w float32) bool { return w < 1400 }

// The bar has one height whatever the route: throwing the switch must not move the
// sheets.
const (
	switchWidth = 250
	slipWidth   = 196
	slipNarrow  = 34
)

func newRouteBar(h *Host) *routeBar {
	b := &routeBar{h: h, ground: canvas.NewRectangle(widget.Color(theme.ColorBench)),
		rule: canvas.NewLine(widget.Color(theme.ColorLine))}
	b.route = widget.NewRoute(func(i int) {
		if a := b.stops.Stations[i].Ask; a != session.AskNothing {
			h.Do(session.AskFor{Ask: a})
		}
	})
	b.route.Bare, b.route.Most = true, 2
	b.route.Explain("The route that the colours travel: who converts, from what, to what.", h.Hint)
	b.sw = widget.NewChoice([]string{"As it should be", "Gone wrong"}, 0, func(i int) { h.Do(session.SetWrong{On: i == 1}) })
	b.sw.Explain("The route as it should be, or with a mistake in it: the sheet shows what that does (G).", h.Hint)
	b.slip = widget.NewPress("▾", func() { slipMenu(h, b.slip) })
	b.objs = []fyne.CanvasObject{b.ground, b.rule, b.route, b.sw, b.slip}
	b.place = b.arrange
	b.ExtendBaseWidget(b)
	return b
}

func (b *routeBar) heightFor(float32) float32 { return b.route.LineHeight() + 4 }

func (b *routeBar) arrange(size fyne.Size) {
	b.ground.Resize(size)
	b.rule.Position1, b.rule.Position2 = fyne.NewPos(0, size.Height-1), fyne.NewPos(size.Width, size.Height-1)
	slip := float32(slipWidth)
	if narrow(size.Width) {
		slip = slipNarrow
	}
	y := (size.Height - 32) / 2
	set(b.slip, size.Width-pad-slip, y, slip, 32)
	x := size.Width - pad - slip - 6 - switchWidth
	set(b.sw, x, y, switchWidth, 32)
	set(b.route, pad-7, 2, x-pad-6, size.Height-4)
	b.name()
}

// name writes the slip's name where there is room for it.
func (b *routeBar) name() {
	text := "▾"
	if !narrow(b.Size().Width) {
		text = b.slips + " ▾"
	}
	b.slip.SetText(text)
	b.slip.Explain("The mistake that is made when it has gone wrong: "+b.slips+". Press to choose another.", b.h.Hint)
}

// update draws the route of the active sheet: the one shown, held keys counted in.
func (b *routeBar) update(now session.State) {
	r := now.Results[now.Active].Route
	if now.Held != session.HeldNone && now.Peek.N > 0 {
		r = now.Peek
	}
	b.stops = r
	var stops []widget.Stop
	for _, st := range r.Stations[:r.N] {
		stop := stopOf(st.Station)
		stop.Ask = st.Ask != session.AskNothing
		stops = append(stops, stop)
	}
	b.route.Set(stops)
	sh, n := now.Proof()
	wrong := 0
	if sh.Wrong {
		wrong = 1
	}
	b.sw.Set(wrong)
	b.sw.SetOff(n < 0)
	b.slips = slipNames(sh.Setup)
	b.name()
}
