package widget

import (
	"image/color"
	"strings"
	"time"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Item is a line of a list.
type Item struct {
	Text  string
	Note  string // at the right end, where there is room for all of it
	Under string // on lines of its own beneath, small: a second rank, or why it can't be chosen
	// White and Black draw a swatch of a paper before the text; nil for none.
	White, Black color.Color
	Folder       bool // a folder's sign before the text
	Head         bool // a heading over what follows
	Off          bool // can't be chosen
	Set          bool // it is what is set now
	Deep         bool // belongs to the item above
}

func (i Item) takes() bool { return !i.Head && !i.Off }

// List is a column of items that scrolls. It is one stop of the Tab key: the arrows,
// Home, End and the page keys move inside it, Return takes an item, and what the keyboard
// is on is always in sight.
type List struct {
	control
	// OnMove is told the item that the keyboard or a click has come to, OnTake the one that
	// is taken: by Return or the space bar, by a click, or by two where Twice is set.
	OnMove func(int)
	OnTake func(int)
	Twice  bool
	// Letters go to the next item that begins with them where Seek is set, and to OnRune
	// where that is; else they are the desk's keys.
	Seek   bool
	OnRune func(rune)

	items  []Item
	at     int // -1 for none
	under  int // the mouse is over it, or -1
	offset float32
	tops   []float32 // where each item begins, and where the last ends
	width  float32   // that tops are for

	typed     string
	typedLast time.Time
	tapLast   time.Time
	tapped    int
	barred    bool // the scroll bar is being dragged
}

var (
	_ fyne.Scrollable = (*List)(nil)
	_ fyne.Draggable  = (*List)(nil)
)

// NewList returns an empty list.
func NewList(take func(int)) *List {
	l := &List{OnTake: take, at: -1, under: -1, tapped: -1}
	l.key = l.typedKey
	l.ExtendBaseWidget(l)
	return l
}

const (
	// ItemHeight is the height of an item of one line.
	ItemHeight = 30
	listPad    = 6
	barRoom    = 12
	// twiceWithin is how soon a second click on an item must come to take it.
	twiceWithin = 400 * time.Millisecond
	// typedWithin is how soon a letter must come to be part of the word before it.
	typedWithin = time.Second
)

// SetItems replaces the items; the keyboard is on item at, -1 for none.
func (l *List) SetItems(items []Item, at int) {
	l.items, l.at, l.tops, l.typed, l.tapped, l.under = items, at, nil, "", -1, -1
	l.settle()
	l.reveal()
	l.Refresh()
}

// Items returns the items.
func (l *List) Items() []Item { return l.items }

// At returns the item that the keyboard is on, or -1.
func (l *List) At() int { return l.at }

// Go puts the keyboard on an item, and brings it into sight.
func (l *List) Go(i int) {
	if i < -1 || i >= len(l.items) {
		return
	}
	if l.at != i {
		l.at = i
		l.reveal()
		l.Refresh()
	}
}

// Step goes on by so many items that can be chosen, as far as there are some.
func (l *List) Step(by int) {
	step := 1
	if by < 0 {
		step, by = -1, -by
	}
	at, last := l.at, l.at
	if at < 0 && step < 0 {
		at = len(l.items)
	}
	for by > 0 {
		at += step
		if at < 0 || at >= len(l.items) {
			break
		}
		if l.items[at].takes() {
			last = at
			by--
		}
	}
	l.move(last)
}

func (l *List) move(i int) {
	if i == l.at || i < 0 || i >= len(l.items) || !l.items[i].takes() {
		l.reveal()
		l.Refresh()
		return
	}
	l.at = i
	l.reveal()
	if l.OnMove != nil {
		l.OnMove(i)
	}
	l.Refresh()
}

// Take takes the item that the keyboard is on.
func (l *List) Take() {
	if l.at >= 0 && l.at < len(l.items) && l.items[l.at].takes() && l.OnTake != nil {
		l.OnTake(l.at)
	}
}

func (l *List) typedKey(e *fyne.KeyEvent) bool {
	page := max(int(l.BaseWidget.Size().Height/ItemHeight)-1, 1)
	switch {
	case e.Name == fyne.KeyDown:
		l.Step(1)
	case e.Name == fyne.KeyUp:
		l.Step(-1)
	case e.Name == fyne.KeyPageDown:
		l.Step(page)
	case e.Name == fyne.KeyPageUp:
		l.Step(-page)
	case e.Name == fyne.KeyHome:
		l.Step(-len(l.items))
	case e.Name == fyne.KeyEnd:
		l.Step(len(l.items))
	case e.Name == fyne.KeySpace && (l.OnRune != nil || l.typed != "" && time.Since(l.typedLast) < typedWithin):
		// a space within what is typed
	case isPress(e):
		l.Take()
	default:
		return len(e.Name) == 1 && (l.Seek || l.OnRune != nil) // typed, and no key of the desk
	}
	return true
}

// FocusGained implements fyne.Focusable.
func (l *List) FocusGained() {
	l.reveal()
	l.control.FocusGained()
}

// TypedRune implements fyne.Focusable.
func (l *List) TypedRune(r rune) {
	if l.OnRune != nil {
		l.OnRune(r)
		return
	}
	if !l.Seek {
		return
	}
	if time.Since(l.typedLast) > typedWithin {
		l.typed = ""
	}
	if l.typed == "" && r == ' ' {
		return
	}
	l.typed, l.typedLast = l.typed+string(unicode.ToLower(r)), time.Now()
	from := max(l.at, 0)
	if len([]rune(l.typed)) == 1 {
		from = l.at + 1
	}
	for k := range l.items {
		i := (from + k) % len(l.items)
		if l.items[i].takes() && strings.HasPrefix(strings.ToLower(l.items[i].Text), l.typed) {
			l.move(i)
			return
		}
	}
}

// Tapped implements fyne.Tappable: the list keeps the keyboard.
func (l *List) Tapped(e *fyne.PointEvent) {
	if cv := l.canvas(); cv != nil {
		cv.Focus(l.me.(fyne.Focusable))
	}
	i := l.itemAt(e.Position.Y)
	if i < 0 || !l.items[i].takes() {
		return
	}
	again := i == l.tapped && time.Since(l.tapLast) < twiceWithin
	l.tapped, l.tapLast = i, time.Now()
	l.move(i)
	if !l.Twice || again {
		l.Take()
	}
}

// MouseMoved implements desktop.Hoverable.
func (l *List) MouseMoved(e *desktop.MouseEvent) {
	if i := l.itemAt(e.Position.Y); i != l.under {
		l.under = i
		l.Refresh()
	}
}

// MouseOut implements desktop.Hoverable.
func (l *List) MouseOut() {
	l.under = -1
	l.control.MouseOut()
}

// Scrolled implements fyne.Scrollable.
func (l *List) Scrolled(e *fyne.ScrollEvent) { l.scroll(l.offset - e.Scrolled.DY*3) }

// Dragged implements fyne.Draggable: the bar at the right end is pulled.
func (l *List) Dragged(e *fyne.DragEvent) {
	size := l.BaseWidget.Size()
	if !l.barred && e.Position.X-e.Dragged.DX < size.Width-barRoom-4 {
		return
	}
	l.barred = true
	if h := l.high(); h > size.Height {
		l.scroll(l.offset + e.Dragged.DY*h/size.Height)
	}
}

// DragEnd implements fyne.Draggable.
func (l *List) DragEnd() { l.barred = false }

func (l *List) scroll(to float32) {
	to = max(min(to, l.high()-l.BaseWidget.Size().Height), 0)
	if to != l.offset {
		l.offset = to
		l.Refresh()
	}
}

// reveal brings what the keyboard is on into sight, with its heading where it is the first.
func (l *List) reveal() {
	room := l.BaseWidget.Size().Height
	l.settle()
	if l.at < 0 || l.at >= len(l.items) || room <= 0 {
		l.offset = max(min(l.offset, l.high()-room), 0)
		return
	}
	top := l.tops[l.at]
	for i := l.at - 1; i >= 0 && l.items[i].Head; i-- {
		top = l.tops[i]
	}
	l.offset = min(l.offset, top)
	l.offset = max(l.offset, l.tops[l.at+1]-room)
	l.offset = max(min(l.offset, l.high()-room), 0)
}

// settle finds where each item begins, at the width that there is.
func (l *List) settle() {
	w := l.BaseWidget.Size().Width
	if l.tops != nil && w == l.width {
		return
	}
	l.width = w
	l.tops = make([]float32, 0, len(l.items)+1)
	y := float32(0)
	cs := LineHeight(Size(toolkit.SizeNameCaptionText))
	for _, it := range l.items {
		l.tops = append(l.tops, y)
		y += ItemHeight
		if n := len(l.underLines(it)); n > 0 {
			y += float32(n)*cs - 2
		}
	}
	l.tops = append(l.tops, y)
}

func (l *List) high() float32 {
	l.settle()
	return l.tops[len(l.items)]
}

// HeightFor is the height of all items at a width.
func (l *List) HeightFor(w float32) float32 {
	h := float32(0)
	for _, it := range l.items {
		h += ItemHeight
		if n := len(l.linesUnder(it, w)); n > 0 {
			h += float32(n)*LineHeight(Size(toolkit.SizeNameCaptionText)) - 2
		}
	}
	return h
}

func (l *List) indent(it Item) float32 {
	x := float32(listPad + 4)
	if it.White != nil || it.Folder {
		x += 36
	}
	if it.Deep {
		x += 18
	}
	return x
}

func (l *List) underLines(it Item) []string { return l.linesUnder(it, l.width) }

func (l *List) linesUnder(it Item, w float32) []string {
	if it.Under == "" || w <= 0 {
		return nil
	}
	return Wrap(it.Under, w-l.indent(it)-listPad-barRoom, Size(toolkit.SizeNameCaptionText), fyne.TextStyle{}, 4)
}

func (l *List) itemAt(y float32) int {
	l.settle()
	y += l.offset
	for i := range l.items {
		if y >= l.tops[i] && y < l.tops[i+1] {
			return i
		}
	}
	return -1
}

// CreateRenderer implements fyne.Widget.
func (l *List) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: l, min: func() fyne.Size { return fyne.NewSize(160, 2*ItemHeight) }, draw: l.draw}
}

func (l *List) draw(size fyne.Size) []fyne.CanvasObject {
	if size.Width != l.width {
		l.tops = nil
		l.reveal()
	}
	l.settle()
	var out []fyne.CanvasObject
	w := size.Width
	if h := l.high(); h > size.Height+0.5 {
		w -= barRoom
		long := max(size.Height*size.Height/h, 20)
		at := (size.Height - long) * l.offset / (h - size.Height)
		bar := box(theme.ColorEdge, fyne.NewPos(size.Width-7, at), fyne.NewSize(6, long))
		out = append(out, bar)
	}
	for i := range l.items {
		top, foot := l.tops[i]-l.offset, l.tops[i+1]-l.offset
		// Whole items alone: the toolkit would draw over the list's edge.
		if top < -0.5 || foot > size.Height+0.5 {
			continue
		}
		out = append(out, l.item(i, top, w, foot-top)...)
	}
	if l.focused {
		out = append(out, ring(size))
	}
	return out
}

// item draws item i at a height.
func (l *List) item(i int, y, w, h float32) []fyne.CanvasObject {
	it := l.items[i]
	ts, cs := Size(toolkit.SizeNameText), Size(toolkit.SizeNameCaptionText)
	if it.Head {
		return []fyne.CanvasObject{Line(it.Text, listPad, y+ItemHeight-LineHeight(cs)-3, w-2*listPad, cs, true, Color(theme.ColorQuiet))}
	}
	var out []fyne.CanvasObject
	ink, quiet := Color(toolkit.ColorNameForeground), Color(theme.ColorQuiet)
	field := func(name fyne.ThemeColorName) {
		out = append(out, box(name, fyne.NewPos(1, y+1), fyne.NewSize(w-2, h-2)))
	}
	switch {
	case it.Set:
		field(theme.ColorChosen)
		ink = Color(theme.ColorOnChosen)
		quiet = ink
	case it.Off:
		ink = quiet
	case i == l.under && l.over, i == l.at && l.focused:
		field(theme.ColorFieldOn)
	}
	if i == l.at && !it.Off {
		mark := ring(fyne.NewSize(w-4, h-4))
		mark.StrokeWidth = 1
		if it.Set {
			mark.StrokeColor = ink
		}
		mark.Move(fyne.NewPos(2, y+2))
		out = append(out, mark)
	}
	x := l.indent(it)
	switch {
	case it.White != nil:
		out = append(out, paperSwatch(it.White, it.Black, x-36, y)...)
	case it.Folder:
		out = append(out, folderSign(x-34, y, quiet)...)
	}
	room := w - x - listPad
	note := width(it.Note, cs, fyne.TextStyle{})
	n := Line(it.Text, x, y+(ItemHeight-LineHeight(ts))/2, room, ts, it.Set, ink)
	if tw := width(n.Text, ts, n.TextStyle); it.Note != "" && tw+12+note <= room {
		out = append(out, Line(it.Note, w-listPad-note-2, y+(ItemHeight-LineHeight(cs))/2+1, note+2, cs, false, quiet))
	}
	out = append(out, n)
	for k, s := range l.underLines(it) {
		out = append(out, Line(s, x, y+ItemHeight-4+float32(k)*LineHeight(cs), room, cs, false, quiet))
	}
	return out
}

// paperSwatch is a paper's white with its black on it.
func paperSwatch(white, black color.Color, x, y float32) []fyne.CanvasObject {
	sw := canvas.NewRectangle(white)
	sw.StrokeColor, sw.StrokeWidth = Color(theme.ColorEdge), 1
	sw.Move(fyne.NewPos(x, y+5))
	sw.Resize(fyne.NewSize(28, ItemHeight-10))
	bl := canvas.NewRectangle(black)
	bl.Move(fyne.NewPos(x+15, y+9))
	bl.Resize(fyne.NewSize(9, ItemHeight-18))
	return []fyne.CanvasObject{sw, bl}
}

// folderSign is a folder drawn small.
func folderSign(x, y float32, ink color.Color) []fyne.CanvasObject {
	tab := canvas.NewRectangle(ink)
	tab.Move(fyne.NewPos(x, y+8))
	tab.Resize(fyne.NewSize(9, 4))
	body := canvas.NewRectangle(ink)
	body.CornerRadius = 1
	body.Move(fyne.NewPos(x, y+10))
	body.Resize(fyne.NewSize(20, 12))
	return []fyne.CanvasObject{tab, body}
}
