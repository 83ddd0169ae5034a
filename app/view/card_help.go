package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// helpCard lists every key with what it does.
func helpCard() Card {
	return Card{ID: "help", Name: "Keys and help", Key: "H", Menu: session.MenuHelp,
		Help: "this card", Build: func(h *Host) Built {
			columns := container.NewGridWithColumns(2)
			for _, menu := range session.Menus() {
				rows := []fyne.CanvasObject{widget.NewText(menu, toolkit.SizeNameSubHeadingText, toolkit.ColorNameForeground, true)}
				for _, c := range AllCommands(h) {
					if c.Menu != menu || c.Key == "" {
						continue
					}
					rows = append(rows, helpLine(KeyName(c), c.Help))
				}
				if len(rows) > 1 {
					columns.Add(container.New(stack{gap: toolkit.Padding()}, rows...))
				}
			}
			note := widget.NewProse("A letter works while no text field has the keyboard. "+
				"Held keys show something for as long as they are held. Wheel: nearer and farther at the pointer. Drag: move all sheets. "+
				"Drag a sheet’s legend onto another sheet to give that one its set-up. The right button on a sheet or a pin opens its own menu. "+
				"Tab goes from control to control, the space bar presses; a list is one stop, and arrows go through it; Escape closes what is open and takes a notice away; Ctrl Q quits. "+
				"What has no key stands in the menus.",
				toolkit.SizeNameText, theme.ColorQuiet, 6)
			return Built{Content: container.NewVScroll(container.NewVBox(container.New(proseLayout{note}, note), columns))}
		}}
}

func helpLine(key, help string) fyne.CanvasObject {
	k := widget.NewText(key, toolkit.SizeNameText, toolkit.ColorNameForeground, true)
	t := widget.NewProse(help, toolkit.SizeNameText, theme.ColorQuiet, 3)
	return container.New(&lineLayout{column: keyColumn}, k, t)
}

// lineLayout sets a word in a column of its own and a text beside it, which takes
// the height that it needs.
type lineLayout struct {
	column float32
	height float32
}

const keyColumn = 124

func (l *lineLayout) Layout(o []fyne.CanvasObject, size fyne.Size) {
	set(o[0], 0, 0, l.column, widget.Least(o[0]).Height)
	room := size.Width - l.column - layout.ScrollRoom
	set(o[1], l.column, 0, room, size.Height)
	l.height = o[1].(*widget.Prose).HeightFor(room)
}

func (l *lineLayout) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(l.column+220, max(l.height, widget.Least(o[0]).Height))
}

// proseLayout gives a paragraph the height that its width asks for.
type proseLayout struct{ p *widget.Prose }

func (l proseLayout) Layout(o []fyne.CanvasObject, size fyne.Size) {
	o[0].Resize(size.SubtractWidthHeight(16, 0)) // beside the scroll bar
	o[0].Move(fyne.NewPos(0, 0))
}

func (l proseLayout) MinSize([]fyne.CanvasObject) fyne.Size {
	w := l.p.BaseWidget.Size().Width
	if w < 200 {
		w = 600
	}
	return fyne.NewSize(200, l.p.HeightFor(w)+8)
}
