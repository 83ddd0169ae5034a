package view

import (
	"fmt"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/paper"
	"firstsheet/proof/words"
)

// paperHead shows a paper's name on its own white, with its own black.
func paperHead(p session.Paper) fyne.CanvasObject {
	ground := canvas.NewRectangle(seen(p.White()))
	ground.StrokeColor, ground.StrokeWidth = widget.Color(theme.ColorLine), 1
	ink := canvas.NewRectangle(seen(p.Black()))
	name := canvas.NewText("", seen(p.Black()))
	name.TextSize, name.TextStyle.Bold = 28, true
	return container.New(freeLayout{fyne.NewSize(300, 84), func(s fyne.Size) {
		w := min(s.Width, 560)
		set(ground, 0, 0, w, 84)
		set(ink, 20, 20, 44, 44)
		name.Text = widget.Shorten(p.Name, w-100, name.TextSize, name.TextStyle)
		set(name, 84, (84-widget.Least(name).Height)/2, w-100, widget.Least(name).Height)
	}}, ground, ink, name)
}

// factColumn takes the longest name of a fact.
const factColumn = 150

// factLine is a fact with what it means beneath.
func factLine(f words.Fact) fyne.CanvasObject {
	k := widget.NewText(f.Name, toolkittheme.SizeNameText, theme.ColorQuiet, false)
	return container.New(layout.Labelled{Column: factColumn, Top: true}, k, container.New(&layout.Flow{}, layout.Prose(f.Value), layout.Caption(f.Means)))
}

// readingsShown is the list of a paper's kept readings, the latest first.
func readingsShown(list []paper.Reading, err error) []fyne.CanvasObject {
	if err != nil {
		return []fyne.CanvasObject{heading("Kept readings"), layout.Caption("They can’t be read. " + paperTold(err))}
	}
	if len(list) == 0 {
		return nil
	}
	rows := [][]string{{"day", "patches", "mean ΔE00", "95 of 100", "largest", "light"}}
	for _, r := range slices.Backward(list) {
		rows = append(rows, []string{r.Date, fmt.Sprint(r.Patches), plain(r.Mean), plain(r.P95), plain(r.Max), r.Condition})
	}
	return []fyne.CanvasObject{heading("Kept readings"), layout.NewGrid([]float32{1.4, 0.9, 1.1, 1.1, 0.9, 0.7}, 1, rows)}
}

// readReadings reads what verifications were kept of a paper and has them shown.
func readReadings(l *lane, id string, show func([]fyne.CanvasObject)) {
	l.start(func(job) func() {
		list, err := l.work.h.Session.Engine().Readings(id)
		return func() { show(readingsShown(list, err)) }
	})
}

// strong is a paragraph that is read first.
func strong(s string) *widget.Prose {
	p := widget.NewProse(s, toolkittheme.SizeNameSubHeadingText, toolkittheme.ColorNameForeground, 6)
	p.Bold = true
	return p
}
