// Package view draws the window from the session's State and sends Actions back.
// It keeps no copy of State and computes no colour.
//
// The window from top to bottom: menu, thin route line with the switch at its end, notice
// strip (only when there is something to say), row of ready-made desks, desk, the one
// sentence, bench (a low row; the rest unfolds), hint line. The pictures get the height.
// A card lies over the desk or the whole window.
package view

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// Window is the program's main window.
type Window struct {
	h      *Host
	app    fyne.App
	win    fyne.Window
	keys   *keyboard
	parts  *parts
	layout *windowLayout
	card   *openCard
	menu   *menus
	screen *wholeScreen
}

// parts are what the window is made of.
type parts struct {
	route    *routeBar
	notice   *noticeStrip
	desks    *deskRow
	desk     *desk
	sentence *sentenceBar
	bench    *bench
	hint     *hintLine
}

// New fills a window with the program. It installs menu, keys and drop, and
// follows the session from then on.
func New(a fyne.App, win fyne.Window, s *session.Session) *Window {
	w := &Window{app: a, win: win}
	w.h = &Host{Session: s, Window: win}
	w.h.hint = func(text string) { w.parts.hint.Set(text) }
	w.h.asked = func(a session.Ask) fyne.CanvasObject {
		if a == session.AskSource && w.parts.bench.groups[1].Visible() {
			return w.parts.bench.source
		}
		switch a {
		case session.AskScreen:
			return w.parts.route.sw // the screen is the last station
		case session.AskSlip:
			return w.parts.route.slip
		case session.AskPapers:
			return w.parts.bench.paper
		}
		return w.parts.route.route
	}
	w.h.sheetMenu = func() { w.parts.desk.menuByKey() }
	win.SetPadded(false)
	w.dress(s.State().Light)
	w.build()
	w.keys = newKeyboard(w.h)
	w.keys.attach(win.Canvas())
	w.menu = newMenus(w.h)
	win.SetMainMenu(w.menu.main)
	w.menu.attach(win.Canvas(), func() bool { return w.card.alone })
	menuKeys(w.h, win.Canvas())
	w.screen = &wholeScreen{win: win, post: s.Post}
	win.SetOnDropped(func(_ fyne.Position, files []fyne.URI) { w.card.dropped(files) })
	a.Lifecycle().SetOnExitedForeground(w.keys.release)
	s.Watch(w.update)
	return w
}

// Close closes the open card, waits for the work of all cards, and closes the session
// with its engine. Nothing may be drawn afterwards.
func (w *Window) Close() {
	w.card.shut()
	w.h.jobs.Wait()
	w.h.Session.Close()
}

// Host returns what cards get, for tests and for main.
func (w *Window) Host() *Host { return w.h }

func (w *Window) dress(light bool) { w.app.Settings().SetTheme(theme.Neutral{Light: light}) }

// build makes all parts afresh and shows them.
func (w *Window) build() {
	s := w.h.State()
	p := &parts{
		route:    newRouteBar(w.h),
		notice:   newNoticeStrip(w.h),
		desks:    newDeskRow(w.h),
		desk:     newDesk(w.h),
		sentence: newSentenceBar(w.h),
		bench:    newBench(w.h),
		hint:     newHintLine(),
	}
	w.parts = p
	w.layout = &windowLayout{w: w}
	w.card = newOpenCard(w)
	w.layout.ground = canvas.NewRectangle(widget.Color(theme.ColorBench))
	w.win.SetContent(container.New(w.layout, w.order()...))
	w.refresh(session.State{}, s)
}

// order is that of the window's parts, for the painter and for the Tab key: an open
// card comes before everything that it leaves in sight.
func (w *Window) order() []fyne.CanvasObject {
	p := w.parts
	if w.card.id == "" {
		return []fyne.CanvasObject{w.layout.ground, p.route, p.notice, p.desks, p.desk, p.sentence, p.bench, p.hint, w.card.box}
	}
	return []fyne.CanvasObject{w.layout.ground, p.desks, p.desk, p.sentence, p.notice, w.card.box, p.route, p.bench, p.hint}
}

// cover hides what lies under the open card, so that the Tab key does not go there, and
// all but the sheets where only they are wanted; and brings it back.
func (w *Window) cover() {
	p, open, bare := w.parts, w.card.id != "", w.layout.bare
	whole := open && w.card.whole
	show(p.desk, !open)
	for _, o := range []fyne.CanvasObject{p.desks, p.sentence} {
		show(o, !open && !bare)
	}
	for _, o := range []fyne.CanvasObject{p.route, p.hint} {
		show(o, !whole && !bare)
	}
	show(p.bench, !bare && !w.layout.covered())
	p.notice.rest = open && w.card.alone
	show(p.notice, !p.notice.rest && p.notice.heightFor(w.layout.size.Width) > 0)
	w.win.Content().(*fyne.Container).Objects = w.order()
}

// update brings the window from one state to the next.
func (w *Window) update(old, now session.State) {
	moved := old
	moved.Pointer = now.Pointer
	if moved == now {
		return // the mouse moved: nothing that is drawn depends on it
	}
	if old.Light != now.Light {
		w.card.shut()                                  // what it was doing ends with it; the new one opens it afresh
		w.win.SetContent(container.NewWithoutLayout()) // what is thrown away need not be dressed
		w.dress(now.Light)
		w.build()
	}
	if now.Ask != session.AskNothing && now.Ask != old.Ask {
		w.keys.release()
		ask(w.h, now.Ask)
		w.h.Do(session.AskFor{Ask: session.AskNothing})
	}
	if old.Bare != now.Bare {
		w.layout.bare = now.Bare
		w.cover()
		w.layout.Layout(nil, w.layout.size)
	}
	if old.Library != now.Library {
		tellUnusable(w.h)
	}
	w.refresh(old, now)
	w.screen.give(now.Bare || w.card.alone)
}

func (w *Window) refresh(old, now session.State) {
	w.parts.route.update(now)
	w.parts.notice.update(now)
	w.parts.desks.update(now)
	w.parts.sentence.update(now)
	w.parts.bench.update(now)
	w.parts.hint.update(now)
	w.layout.settle()
	w.parts.desk.update(old, now)
	w.card.update(now)
	if w.menu != nil {
		w.menu.update(now)
	}
	if t := title(now); old.Picture.Name == "" || t != title(old) {
		w.win.SetTitle(t)
	}
}

func title(s session.State) string {
	if s.Picture.Name == "" {
		return "Firstsheet"
	}
	return s.Picture.Name + " – Firstsheet"
}

// windowLayout stacks the parts; the desk gets what the others leave.
type windowLayout struct {
	w      *Window
	ground *canvas.Rectangle
	size   fyne.Size
	key    heights
	bare   bool // only the sheets
}

const (
	hintHeight = 24
	// lowWindow is the height below which the table of pins takes the place of the
	// bench's panel instead of standing above it.
	lowWindow = 880
	// leastDesk is the height below which the table of pins gives rows to the sheets.
	leastDesk = 250
	// leastCard is the height below which a card covers the bench too.
	leastCard = 460
)

// heights are those of the window's parts but the desk.
type heights struct{ route, notice, desks, sentence, bench, hint float32 }

// heights returns what the parts take at a width, in whole units, which leave no
// hairlines between them.
func (l *windowLayout) heights(width float32) heights {
	p := l.w.parts
	p.bench.low = l.size.Height < lowWindow
	whole := func(v float32) float32 { return float32(math.Ceil(float64(v))) }
	if l.bare {
		return heights{notice: whole(p.notice.heightFor(width))}
	}
	h := heights{whole(p.route.heightFor(width)), whole(p.notice.heightFor(width)), deskRowHeight,
		whole(p.sentence.heightFor(width)), 0, hintHeight}
	pins := p.bench.pins
	pins.sight = pinRows
	if p.bench.low || p.bench.more { // the pictures keep their height
		pins.sight = pinRowsLow
	}
	for {
		h.bench = whole(p.bench.heightFor(width))
		if !p.bench.pinsOpen || pins.sight == pinRowsLeast || l.left(h) >= leastDesk {
			return h
		}
		pins.sight--
	}
}

// desk returns what is left for the desk.
func (l *windowLayout) desk() float32 { return l.left(l.key) }

func (l *windowLayout) left(h heights) float32 {
	return max(l.size.Height-h.route-h.notice-h.desks-h.sentence-h.bench-h.hint, 0)
}

// covered tells whether the open card covers the bench.
func (l *windowLayout) covered() bool {
	c := l.w.card
	return c.id != "" && (c.whole || l.desk()+l.key.desks+l.key.sentence < leastCard)
}

// settle lays the parts out again where one of them now asks for another height.
func (l *windowLayout) settle() {
	if l.size.Width > 0 && l.heights(l.size.Width) != l.key {
		l.w.win.Content().Refresh()
		l.Layout(l.w.win.Content().(*fyne.Container).Objects, l.size)
	}
}

func (l *windowLayout) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	p := l.w.parts
	l.size = size
	l.key = l.heights(size.Width)
	h := l.key
	l.ground.Resize(size)
	y := float32(0)
	put := func(c fyne.CanvasObject, height float32) {
		// Moved first: the desk asks where it lies when it is resized.
		c.Move(fyne.NewPos(0, y))
		c.Resize(fyne.NewSize(size.Width, height))
		y += height
	}
	put(p.route, h.route)
	put(p.notice, h.notice)
	top := y
	put(p.desks, h.desks)
	put(p.desk, l.desk())
	p.desk.arrange(fyne.NewSize(size.Width, l.desk()))
	put(p.sentence, h.sentence)
	foot := y
	put(p.bench, h.bench)
	put(p.hint, h.hint)
	box := l.w.card.box
	switch {
	case l.w.card.alone:
		top, foot = 0, size.Height
	case l.w.card.whole:
		p.notice.Move(fyne.NewPos(0, 0)) // what is told now is not lost under the card
		top, foot = h.notice, size.Height
	case l.covered():
		foot += h.bench
	}
	box.Move(fyne.NewPos(0, top))
	box.Resize(fyne.NewSize(size.Width, foot-top))
	if on := !l.bare && !l.covered(); on != p.bench.Visible() {
		show(p.bench, on)
	}
}

// MinSize fits a screen of 1024 by 700 with the window manager's own frame.
func (l *windowLayout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(960, 600) }

// SheetOrigin returns where sheet n's cell begins on the window, in device
// pixels: what lies there is the sheet's buffer, byte for byte.
func (w *Window) SheetOrigin(n int) (x, y float64) {
	d := w.parts.desk
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(d.panes[n])
	return float64(at.X) * d.scale, float64(at.Y) * d.scale
}
