package view

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
)

// menuByKey opens the active sheet's menu, with what there is for the chosen pin.
func (d *desk) menuByKey() {
	s := d.h.State()
	x, y := float64(d.cell.Width)*d.scale/2, float64(d.cell.Height)*d.scale/2
	px, py := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).ToPicture(x, y)
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(d).Add(d.cellAt[s.Active])
	d.menu(s.Pin, px, py, at.AddXY(d.cell.Width/2-60, d.cell.Height/4))
}

// menu opens the small menu of a place on a sheet.
func (d *desk) menu(mark int, px, py float64, at fyne.Position) {
	s := d.h.State()
	head := func(text string) offer { return offer{Item: widget.Item{Text: text, Head: true}} }
	var lines []offer
	item := func(name string, a session.Action) { lines = append(lines, doing(d.h, name, a)) }
	if mark >= 0 {
		d.h.Do(session.ChoosePin{N: mark})
		item("Name this pin…", session.AskFor{Ask: session.AskPinName})
		item("Read a wider circle", session.WidenPin{N: mark, Factor: 1.5})
		item("Read a narrower circle", session.WidenPin{N: mark, Factor: 1 / 1.5})
		item("Pull this pin out", session.DeletePin{N: mark})
	} else {
		item("Put a pin here", session.PutPin{X: px, Y: py})
		item("Each pixel, here", session.OneToOne{X: math.Max(px, 0), Y: math.Max(py, 0)})
		item("Fit the whole picture", session.Fit{})
	}
	lines = append(lines, head(fmt.Sprintf("Sheet %d", s.Active+1)))
	sh := s.Sheets[s.Active]
	if !sh.IsProof() {
		item("Make this sheet a proof", session.SetOriginal{})
	} else {
		item("Make this sheet the original", session.SetOriginal{On: true})
	}
	if sh.Show == session.ShowDifference {
		item("Show the sheet itself", session.SetShow{Show: session.ShowPicture, Against: -1})
	} else if sh.IsProof() {
		item("Difference from the original", session.SetShow{Show: session.ShowDifference, Against: -1})
	}
	for n := 0; n < s.Count; n++ {
		if n != s.Active && sh.Observed == 0 && s.Sheets[n].Observed == 0 {
			item(fmt.Sprintf("Difference from sheet %d", n+1), session.SetShow{Show: session.ShowDifference, Against: n})
		}
	}
	if s.Count < session.MaxSheets {
		item("Lay another sheet beside", session.AddSheet{})
	}
	if s.Count > 1 {
		item("Take this sheet away", session.RemoveSheet{N: s.Active})
	}
	openMenuAt(d.h, at, lines)
}
