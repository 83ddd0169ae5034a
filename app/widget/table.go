package widget

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
)

// Column is a column of a table.
type Column struct {
	Head []string // its heading, a line each
	Help string   // what its figure means
	// Share is its part of the width; Least its least width.
	Share, Least float32
	Words        bool // words stand to the left, figures to the right
}

// Row is a row of a table, a text for each column.
type Row struct {
	Cells []string
	Bold  bool
}

// Table shows rows under headings. A row is chosen by the arrow keys and picked by
// Return; a click does both. The heading under the mouse, or the one that the left
// and right keys have reached, is explained. The headings stay where they are when
// the rows are scrolled.
type Table struct {
	control
	Columns  []Column
	Rows     []Row
	Chosen   int // -1 for none
	OnChoose func(row int)
	OnPick   func(row int)    // a click, or Return
	OnHead   func(column int) // -1 when none
	head     int
	top      int // the first row in sight
}

var (
	_ desktop.Hoverable = (*Table)(nil)
	_ fyne.Scrollable   = (*Table)(nil)
)

// NewTable returns an empty table.
func NewTable(columns []Column) *Table {
	t := &Table{Columns: columns, Chosen: -1, head: -1}
	t.key = func(e *fyne.KeyEvent) bool {
		switch {
		case e.Name == fyne.KeyDown:
			t.choose(min(t.Chosen+1, len(t.Rows)-1))
		case e.Name == fyne.KeyUp:
			t.choose(max(t.Chosen-1, 0))
		case e.Name == fyne.KeyHome:
			t.choose(0)
		case e.Name == fyne.KeyEnd:
			t.choose(len(t.Rows) - 1)
		case e.Name == fyne.KeyLeft:
			t.explain(max(t.head-1, 0))
		case e.Name == fyne.KeyRight:
			t.explain(min(t.head+1, len(t.Columns)-1))
		case isPress(e) && t.Chosen >= 0:
			if t.OnPick != nil {
				t.OnPick(t.Chosen)
			}
		default:
			return false
		}
		return true
	}
	t.ExtendBaseWidget(t)
	return t
}

// SetRows replaces the rows; the choice is taken back.
func (t *Table) SetRows(rows []Row) {
	t.Rows, t.Chosen, t.top = rows, -1, 0
	t.Refresh()
}

func (t *Table) choose(i int) {
	if i < 0 || i >= len(t.Rows) {
		return
	}
	t.Chosen = i
	t.scroll(min(max(t.top, i-t.inSight()+1), i))
	if t.OnChoose != nil {
		t.OnChoose(i)
	}
	t.Refresh()
}

func (t *Table) explain(c int) {
	if c == t.head {
		return
	}
	t.head = c
	if t.OnHead != nil {
		t.OnHead(c)
	}
	t.Refresh()
}

const tableRow = 30

// headHeight is the height of the headings.
func (t *Table) headHeight() float32 {
	n := 1
	for _, c := range t.Columns {
		n = max(n, len(c.Head))
	}
	return float32(n)*LineHeight(Size(toolkit.SizeNameCaptionText)) + 10
}

// inSight is how many rows there is room for.
func (t *Table) inSight() int {
	return max(int((t.BaseWidget.Size().Height-t.headHeight())/tableRow), 1)
}

func (t *Table) scroll(top int) {
	top = max(min(top, len(t.Rows)-t.inSight()), 0)
	if top != t.top {
		t.top = top
		t.Refresh()
	}
}

// Scrolled implements fyne.Scrollable.
func (t *Table) Scrolled(e *fyne.ScrollEvent) {
	switch {
	case e.Scrolled.DY < 0:
		t.scroll(t.top + 1)
	case e.Scrolled.DY > 0:
		t.scroll(t.top - 1)
	}
}

// rowAt returns the row at a height, or -1.
func (t *Table) rowAt(y float32) int {
	if y < t.headHeight() {
		return -1
	}
	i := int((y-t.headHeight())/tableRow) + t.top
	if i >= len(t.Rows) || i >= t.top+t.inSight() {
		return -1
	}
	return i
}

// Tapped implements fyne.Tappable: the table keeps the keyboard, so that the
// arrows go on from the row that was clicked.
func (t *Table) Tapped(e *fyne.PointEvent) {
	if cv := t.canvas(); cv != nil {
		cv.Focus(t)
	}
	if e.Position.Y < t.headHeight() {
		t.explain(t.columnAt(e.Position.X))
		return
	}
	if i := t.rowAt(e.Position.Y); i >= 0 {
		t.choose(i)
		if t.OnPick != nil {
			t.OnPick(i)
		}
	}
}

// MouseMoved implements desktop.Hoverable.
func (t *Table) MouseMoved(e *desktop.MouseEvent) {
	if e.Position.Y < t.headHeight() {
		t.explain(t.columnAt(e.Position.X))
	}
}

// scrollRoom is kept free at the right for the sign of where the rows are.
const scrollRoom = 14

func (t *Table) widths(room float32) []float32 {
	room -= scrollRoom
	out := make([]float32, len(t.Columns))
	var share, least float32
	for _, c := range t.Columns {
		share += c.Share
		least += c.Least
	}
	for i, c := range t.Columns {
		out[i] = c.Least
		if share > 0 {
			out[i] += max(room-least, 0) * c.Share / share
		}
	}
	return out
}

func (t *Table) columnAt(x float32) int {
	for i, w := range t.widths(t.BaseWidget.Size().Width) {
		if x < w {
			return i
		}
		x -= w
	}
	return len(t.Columns) - 1
}

// CreateRenderer implements fyne.Widget.
func (t *Table) CreateRenderer() fyne.WidgetRenderer {
	return &drawn{of: t, min: func() fyne.Size {
		var w float32
		for _, c := range t.Columns {
			w += c.Least
		}
		return fyne.NewSize(w+scrollRoom, t.headHeight()+2*tableRow)
	}, draw: t.draw}
}

func (t *Table) draw(size fyne.Size) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	cs, ts := Size(toolkit.SizeNameCaptionText), Size(toolkit.SizeNameText)
	hh := t.headHeight()
	ws := t.widths(size.Width)
	put := func(s string, x, y, w, h, text float32, bold, words bool, ink fyne.ThemeColorName) {
		l := Line(s, x+6, y+(h-LineHeight(text))/2, w-10, text, bold, Color(ink))
		if !words {
			l.Move(fyne.NewPos(x+w-6-width(l.Text, text, l.TextStyle), l.Position().Y))
		}
		out = append(out, l)
	}
	x := float32(0)
	for i, c := range t.Columns {
		if i == t.head {
			out = append(out, box(theme.ColorField, fyne.NewPos(x+1, 0), fyne.NewSize(ws[i]-2, hh-2)))
		}
		lh := LineHeight(cs)
		top := hh - 5 - float32(len(c.Head))*lh
		for k, s := range c.Head {
			put(s, x, top+float32(k)*lh, ws[i], lh, cs, i == t.head, c.Words, theme.ColorQuiet)
		}
		x += ws[i]
	}
	rule := canvas.NewLine(Color(theme.ColorLine))
	rule.Position1, rule.Position2 = fyne.NewPos(0, hh-1), fyne.NewPos(size.Width-scrollRoom, hh-1)
	out = append(out, rule)
	bottom := min(t.top+t.inSight(), len(t.Rows))
	if n := len(t.Rows); bottom-t.top < n {
		room := float32(t.inSight()) * tableRow
		out = append(out, box(theme.ColorChosen, fyne.NewPos(size.Width-5, hh+room*float32(t.top)/float32(n)),
			fyne.NewSize(4, room*float32(bottom-t.top)/float32(n))))
	}
	for r := t.top; r < bottom; r++ {
		row := t.Rows[r]
		y := hh + float32(r-t.top)*tableRow
		ink := toolkit.ColorNameForeground
		if r == t.Chosen {
			out = append(out, box(theme.ColorChosen, fyne.NewPos(0, y+1), fyne.NewSize(size.Width-scrollRoom, tableRow-2)))
			ink = theme.ColorOnChosen
		} else if r%2 == 1 {
			out = append(out, box(theme.ColorBench, fyne.NewPos(0, y+1), fyne.NewSize(size.Width-scrollRoom, tableRow-2)))
		}
		x = 0
		for i, cell := range row.Cells {
			put(cell, x, y, ws[i], tableRow, ts, row.Bold || r == t.Chosen, t.Columns[i].Words, ink)
			x += ws[i]
		}
	}
	if t.focused {
		out = append(out, ring(size))
	}
	return out
}
