package view

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
)

// menu opens the small menu of a place on a sheet.
func (d *desk) menu(mark int, px, py float64, at fyne.Position) {
	s := d.h.State()
	var items []*fyne.MenuItem
	item := func(name string, a session.Action) {
		items = append(items, fyne.NewMenuItem(name, func() { d.h.Do(a) }))
	}
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
	items = append(items, fyne.NewMenuItemSeparator())
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
	m := toolkit.NewPopUpMenu(fyne.NewMenu("", items...), d.h.Window.Canvas())
	m.ShowAtPosition(at)
}
