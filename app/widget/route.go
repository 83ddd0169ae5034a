package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Break is the shape of the link into a station.
type Break uint8

// The shapes. They differ in form, not in colour.
const (
	Sound   Break = iota // a plain arrow
	Doubled              // two lines and a plus: a link too many
	Gap                  // a torn line: a link that is missing
	Crooked              // a zigzag: numbers taken for something else
)

// Stop is one station of the route line.
type Stop struct {
	Plain, Trade string
	Brief        string // Trade for a narrow place, or ""
	Link         Break
	Note         string // what is wrong, in a few words
	Ask          bool   // a click offers a choice
}

// Route draws the chain that the colours travel, as stations joined by arrows.
type Route struct {
	control
	Stops []Stop
	// Bare leaves out what is wrong in words: it is told elsewhere.
	Bare bool
	// Most is how many lines a station takes at most, plain words and trade terms
	// together; 0 is four.
	Most  int
	OnAsk func(i int)
	edges []float32 // left edges of the stations' text, for clicks
}

// NewRoute returns an empty route line.
func NewRoute(ask func(int)) *Route {
	r := &Route{OnAsk: ask}
	r.tap = func(x float32) {
		if i := r.hit(x); i >= 0 && r.Stops[i].Ask && r.OnAsk != nil {
			r.OnAsk(i)
		}
	}
	r.ExtendBaseWidget(r)
	return r
}

// Set replaces the stations.
func (r *Route) Set(stops []Stop) {
	if len(stops) == len(r.Stops) {
		same := true
		for i := range stops {
			same = same && stops[i] == r.Stops[i]
		}
		if same {
			return
		}
	}
	r.Stops = stops
	r.Refresh()
}

func (r *Route) hit(x float32) int {
	for i := len(r.edges) - 1; i >= 0; i-- {
		if i < len(r.Stops) && x >= r.edges[i] {
			return i
		}
	}
	return -1
}

// MouseMoved implements desktop.Hoverable: the hint is the station's own.
func (r *Route) MouseMoved(e *desktop.MouseEvent) {
	i := r.hit(e.Position.X)
	if i < 0 || r.Tell == nil {
		return
	}
	s := r.Stops[i]
	text := s.Plain + ": " + s.Trade
	if s.Note != "" {
		text += ". " + s.Note
	}
	if s.Ask {
		text += ". Click to change it."
	}
	r.Tell(text)
}

const (
	leastArrow, tightArrow, mostArrow = 26, 20, 96
	stopPad, tightPad                 = 7, 4 // round a station's text
)

var (
	plainStyle = fyne.TextStyle{Bold: true}
	tradeStyle = fyne.TextStyle{}
)

func plainSize() float32 { return Size(theme.SizeStation) }
func tradeSize() float32 { return Size(toolkit.SizeNameCaptionText) }

// fit is how a route is set in the room there is.
type fit struct {
	widths []float32 // of the stations' text
	arrow  float32   // length
	brief  bool      // the trade terms in few words
	plain  float32   // type size of the plain words
	pad    float32   // round a station's text
	least  float32   // the shortest arrow
}

// trade returns the trade terms of a station as they are set.
func (f fit) trade(s Stop) string {
	if f.brief && s.Brief != "" {
		return s.Brief
	}
	return s.Trade
}

// fit shares the room among the stations' text. A bare route takes fewer words, then
// smaller type, before any word is cut.
func (r *Route) fit(room float32) fit {
	f := fit{plain: plainSize(), pad: stopPad, least: leastArrow}
	if !r.Bare {
		f.widths, f.arrow, _ = r.widths(room, f)
		return f
	}
	brief := f
	brief.brief = true
	for _, try := range []fit{f, brief, {plain: tradeSize(), brief: true, pad: tightPad, least: tightArrow}} {
		var whole bool
		try.widths, try.arrow, whole = r.widths(room, try)
		if f = try; whole {
			break
		}
	}
	return f
}

// widths shares the room and returns the arrow's length, and whether no word is cut.
func (r *Route) widths(room float32, f fit) ([]float32, float32, bool) {
	n := len(r.Stops)
	if n == 0 {
		return nil, 0, true
	}
	want, least := make([]float32, n), make([]float32, n)
	var sum, sumLeast float32
	for i, s := range r.Stops {
		least[i] = width(s.Plain, f.plain, plainStyle) + 2*f.pad + 2
		w := max(least[i], width(f.trade(s), tradeSize(), tradeStyle)+2*f.pad+2)
		if s.Note != "" && !r.Bare {
			w = max(w, min(width(s.Note, tradeSize(), plainStyle)/2+24, 300)+2*f.pad+2)
		}
		want[i] = w
		sum, sumLeast = sum+w, sumLeast+least[i]
	}
	arrows := float32(n - 1)
	if free := room - sum; free >= arrows*f.least {
		if arrows == 0 {
			return want, 0, true
		}
		return want, min(free/arrows, mostArrow), true
	}
	if free := room - sumLeast - arrows*f.least; free >= 0 && r.Bare {
		// The trade terms give way before the plain words.
		for i := range want {
			want[i] = least[i] + (want[i]-least[i])*free/(sum-sumLeast)
		}
		return want, f.least, false
	}
	// Too narrow for one line each: the longest give way first, and a station
	// with something wrong gives way less.
	room -= arrows * f.least
	limit := room
	allow := func(i int) float32 {
		l := max(limit, 60)
		if r.Stops[i].Note != "" && !r.Bare {
			l *= 1.8
		}
		return min(want[i], l)
	}
	for step := 0; step < 60 && sum > room; step++ {
		limit *= 0.95
		sum = 0
		for i := range want {
			sum += allow(i)
		}
	}
	for i := range want {
		want[i] = allow(i)
	}
	return want, f.least, false
}

type stopLines struct{ plain, trade, note []string }

func (r *Route) lines(f fit) ([]stopLines, float32) {
	out := make([]stopLines, len(r.Stops))
	plainMost := 2
	if r.Most > 0 {
		plainMost = min(plainMost, r.Most-1) // the trade terms keep a line
	}
	var most float32
	for i, s := range r.Stops {
		inner := f.widths[i] - 2*f.pad
		l := stopLines{
			plain: Wrap(s.Plain, inner, f.plain, plainStyle, plainMost),
			note:  Wrap(s.Note, inner, tradeSize(), plainStyle, 2),
		}
		left := 2
		if r.Most > 0 {
			left = min(left, r.Most-len(l.plain))
		}
		l.trade = Wrap(f.trade(s), inner, tradeSize(), tradeStyle, left)
		if r.Bare {
			l.note = nil
		}
		out[i] = l
		h := float32(len(l.plain))*LineHeight(f.plain) + float32(len(l.trade)+len(l.note))*LineHeight(tradeSize())
		most = max(most, h)
	}
	return out, most
}

// LineHeight returns the height of a route of one line of plain words and one of trade
// terms.
func (r *Route) LineHeight() float32 {
	return LineHeight(plainSize()) + LineHeight(tradeSize()) + 2*stopPad
}

// HeightFor returns the height that the line takes at a width.
func (r *Route) HeightFor(w float32) float32 {
	_, h := r.lines(r.fit(w))
	return max(h+2*stopPad, r.LineHeight())
}

// CreateRenderer implements fyne.Widget.
func (r *Route) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: r, min: func() fyne.Size {
		return fyne.NewSize(400, LineHeight(plainSize())+LineHeight(tradeSize())+2*stopPad)
	}, draw: r.paint}
}

func (r *Route) paint(size fyne.Size) []fyne.CanvasObject {
	f := r.fit(size.Width)
	lines, _ := r.lines(f)
	ws, arrow := f.widths, f.arrow
	var out []fyne.CanvasObject
	r.edges = r.edges[:0]
	var x float32
	ink := Color(toolkit.ColorNameForeground)
	quiet := Color(theme.ColorQuiet)
	for i, s := range r.Stops {
		if i > 0 {
			out = append(out, Link(s.Link, x, stopPad+LineHeight(plainSize())/2, arrow, 1, ink)...)
			x += arrow
		}
		r.edges = append(r.edges, x)
		y := float32(stopPad)
		put := func(ls []string, ts float32, bold bool, c color.Color) {
			for _, l := range ls {
				out = append(out, Line(l, x+f.pad, y, ws[i]-2*f.pad, ts, bold, c))
				y += LineHeight(ts)
			}
		}
		at := len(out)
		put(lines[i].plain, f.plain, true, ink)
		put(lines[i].trade, tradeSize(), false, quiet)
		if s.Ask {
			// A thin rule under the trade terms says that a click changes them.
			rule := canvas.NewLine(quiet)
			rule.StrokeWidth = 1
			w := ws[i] - 2*f.pad
			if n := len(lines[i].trade); n > 0 {
				w = min(w, width(lines[i].trade[n-1], tradeSize(), tradeStyle))
			}
			rule.Position1, rule.Position2 = fyne.NewPos(x+f.pad, y), fyne.NewPos(x+f.pad+w, y)
			out = append(out, rule)
		}
		put(lines[i].note, tradeSize(), true, ink)
		if s.Link != Sound {
			frame := canvas.NewRectangle(color.Transparent)
			frame.StrokeColor, frame.StrokeWidth, frame.CornerRadius = ink, 2, 4
			frame.Move(fyne.NewPos(x, 2))
			frame.Resize(fyne.NewSize(ws[i], y-2+4))
			out = append(out[:at], append([]fyne.CanvasObject{frame}, out[at:]...)...)
		}
		x += ws[i]
	}
	return out
}

// Link draws an arrow of a shape, w long, its middle at height y; size is 1 on the route
// line, and in proportion to the type elsewhere.
func Link(shape Break, x, y, w, size float32, ink color.Color) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	line := func(x1, y1, x2, y2 float32) {
		l := canvas.NewLine(ink)
		l.StrokeWidth = max(2*size, 2)
		l.Position1, l.Position2 = fyne.NewPos(x1, y1), fyne.NewPos(x2, y2)
		out = append(out, l)
	}
	gap, head := 4*size, 5*size
	a, b := x+gap, x+w-gap
	m := (a + b) / 2
	tip := func() {
		line(b-head, y-head, b, y)
		line(b-head, y+head, b, y)
	}
	switch shape {
	case Doubled:
		line(a, y-2.5*size, b-3*size, y-2.5*size)
		line(a, y+2.5*size, b-3*size, y+2.5*size)
		line(b-head-2*size, y-head-2*size, b, y)
		line(b-head-2*size, y+head+2*size, b, y)
		line(m-7*size, y-13*size, m+3*size, y-13*size)
		line(m-2*size, y-18*size, m-2*size, y-8*size)
	case Gap:
		line(a, y, m-6*size, y)
		line(m+6*size, y, b, y)
		line(m-6*size, y+6*size, m-size, y-6*size)
		line(m+size, y+6*size, m+6*size, y-6*size)
	case Crooked:
		s := (b - a - 6*size) / 4
		line(a, y, a+s, y-6*size)
		line(a+s, y-6*size, a+2*s, y+6*size)
		line(a+2*s, y+6*size, a+3*s, y-6*size)
		line(a+3*s, y-6*size, b, y)
		tip()
	default:
		line(a, y, b, y)
		tip()
	}
	return out
}
