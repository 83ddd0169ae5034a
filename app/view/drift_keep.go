package view

import (
	"fmt"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
)

const keepWord = "Keep this reading with the paper"

// handling are the controls for the reading that is shown: its day, keeping it, putting
// it together with others of that day, taking it away.
func (d *driftLeaf) handling() []fyne.CanvasObject {
	var objs []fyne.CanvasObject
	row := container.New(layout.Abreast{Gap: 8})
	press := func(word, hint string, do func()) {
		p := widget.NewPress(word, do)
		d.explain(d.right, p, hint)
		row.Add(p)
	}
	if r := d.series[d.now]; r.ID == "" {
		day := widget.NewField("2006-01-02", nil)
		day.Text = r.Day
		day.OnLeave = func() { d.setDay(r, day.Text) }
		d.explain(d.right, day, "The day on which the page was measured, as year-month-day. It is as the file says, or the day that the file was written.")
		if r.Merged == 0 {
			objs = append(objs, layout.Row("Measured on", day))
		}
		if r.failed == "" {
			press(keepWord, "Note day, figures and every patch beside the paper’s card, as a reading of its own, to see how the paper moves over the months.", func() { d.keep(r) })
		}
		if n := d.ofDay(r.Day); n > 1 && r.Merged == 0 {
			press(fmt.Sprintf("Put the %d readings of this day together", n), "Take the mean of the readings of this day, place by place, as one reading: less noise, where they are of one sheet. They stay apart unless you ask for it.", func() { d.putTogether(r.Day, true) })
		}
		if r.Merged > 1 {
			press("Take them apart again", "Each reading of this day alone.", func() { d.putTogether(r.Day, false) })
		}
	} else {
		press("Take this reading away", "Take it out of the paper’s series. It can be brought back while the card is open.", func() { d.takeAway(r) })
	}
	if d.gone != nil {
		press("Bring the reading of "+d.gone.Date+" back", "Note it again as it was.", d.bringBack)
	}
	objs = append(objs, row)
	if d.said != "" {
		objs = append(objs, layout.Prose(d.said))
	}
	return objs
}

// ofDay counts the readings of now of a day that are not noted.
func (d *driftLeaf) ofDay(day string) (n int) {
	for i, t := range d.files.readings {
		if d.days[i] == day && !d.kept[t.Measurements] {
			n++
		}
	}
	return n
}

func (d *driftLeaf) setDay(r driftReading, day string) {
	if day == r.Day {
		return
	}
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		d.said = "‘" + day + "’ is no day as year-month-day, such as 2006-01-02."
		d.show()
		return
	}
	d.days[r.taken] = day
	d.said = ""
	d.judge(readAs(r.taken))
}

func (d *driftLeaf) putTogether(day string, on bool) {
	d.together[day] = on
	d.said = ""
	d.judge(onDay(day))
}

// keep notes a reading with the paper.
func (d *driftLeaf) keep(r driftReading) {
	id, note := d.id, chart.Noted(r.Measurements, r.Found, r.Day, r.Merged)
	var noted string
	d.h.Session.Shelve(func(s session.Shelf) (err error) {
		noted, err = s.AddReading(id, note)
		return err
	}, func(err error) {
		switch {
		case d.id != id: // it was about another paper
		case err != nil:
			d.said = "The reading is not kept. " + paperTold(err)
			d.show()
		default:
			for i, t := range d.files.readings {
				if i == r.taken || r.Merged > 1 && d.days[i] == r.Day {
					d.kept[t.Measurements] = true
				}
			}
			d.said = "The reading of " + r.Day + " is kept with the paper."
			d.judge(notedAs(noted))
		}
	})
}

func (d *driftLeaf) takeAway(r driftReading) {
	id := d.id
	var gone paper.Reading
	d.h.Session.Shelve(func(s session.Shelf) (err error) {
		gone, err = s.RemoveReading(id, r.ID)
		return err
	}, func(err error) {
		if d.id != id {
			return
		}
		if err != nil {
			d.said = "The reading is not taken away. " + paperTold(err)
			d.show()
			return
		}
		d.gone, d.said = &gone, "The reading of "+gone.Date+" was taken away."
		d.judge(nil)
	})
}

func (d *driftLeaf) bringBack() {
	id, back := d.id, *d.gone
	var noted string
	d.h.Session.Shelve(func(s session.Shelf) (err error) {
		noted, err = s.AddReading(id, back)
		return err
	}, func(err error) {
		if d.id != id {
			return
		}
		if err != nil {
			d.said = "The reading is not brought back. " + paperTold(err)
			d.show()
			return
		}
		d.gone, d.said = nil, "The reading of "+back.Date+" is back."
		d.judge(notedAs(noted))
	})
}
