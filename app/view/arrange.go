package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
)

// How the window's parts and the cards are set: the small things that several of them
// use.

func heading(s string) *canvas.Text {
	return widget.NewText(s, toolkittheme.SizeNameSubHeadingText, toolkittheme.ColorNameForeground, true)
}

// freeLayout calls a function to lay out a group.
type freeLayout struct {
	least fyne.Size
	place func(size fyne.Size)
}

func (l freeLayout) Layout(_ []fyne.CanvasObject, size fyne.Size) { l.place(size) }
func (l freeLayout) MinSize([]fyne.CanvasObject) fyne.Size        { return l.least }

func set(o fyne.CanvasObject, x, y, w, h float32) {
	o.Move(fyne.NewPos(x, y))
	o.Resize(fyne.NewSize(w, h))
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// rowsLayout stacks rows of equal height.
type rowsLayout struct{}

func (rowsLayout) Layout(o []fyne.CanvasObject, size fyne.Size) {
	for i, c := range o {
		set(c, 0, float32(i)*(widget.RowHeight+2), size.Width, widget.RowHeight)
	}
}

func (rowsLayout) MinSize(o []fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(150, float32(len(o))*(widget.RowHeight+2))
}
