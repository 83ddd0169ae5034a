package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// deskRow is the row above the sheets: the ready-made desks drawn small, and what is done
// with a desk most.
type deskRow struct {
	bar
	h      *Host
	ground *canvas.Rectangle
	desks  []*widget.DeskButton
	ids    []string
	does   []*widget.Press
}

const deskRowHeight = 38

// quick are the commands that stand in the row, by their IDs, with their short names.
func quick() [][2]string {
	return [][2]string{{"differ", "Where do they differ?"}, {"open", "Open…"}, {"savesheet", "Save…"}, {"card-print", "Print this…"}}
}

func newDeskRow(h *Host) *deskRow {
	r := &deskRow{h: h, ground: canvas.NewRectangle(theme.Desk)}
	r.objs = []fyne.CanvasObject{r.ground}
	byID := map[string]session.Command{}
	for _, c := range AllCommands(h) {
		byID[c.ID] = c
	}
	for _, d := range session.Desks() {
		c := byID["desk-"+d.ID]
		b := widget.NewDeskButton(d.Sheets, d.Name, func() { h.Do(c.Act(h.State())) })
		b.Explain(d.Name+": "+d.Help+" "+KeyName(c)+".", h.Hint)
		r.desks, r.ids = append(r.desks, b), append(r.ids, d.ID)
		r.objs = append(r.objs, b)
	}
	for _, q := range quick() {
		c, ok := byID[q[0]]
		if !ok {
			continue
		}
		p := widget.NewPress(q[1], func() { h.Do(c.Act(h.State())) })
		help := c.Help
		if key := KeyName(c); key != "" {
			help += " (" + key + ")"
		}
		p.Explain(help, h.Hint)
		r.does = append(r.does, p)
		r.objs = append(r.objs, p)
	}
	r.place = r.arrange
	r.ExtendBaseWidget(r)
	return r
}

func (r *deskRow) arrange(size fyne.Size) {
	r.ground.Resize(size)
	const gap, high = 6, 30
	y := (size.Height - high) / 2
	right := size.Width - pad
	for i := len(r.does) - 1; i >= 0; i-- {
		w := r.does[i].MinSize().Width
		right -= w
		set(r.does[i], right, y, w, high)
		right -= gap
	}
	named := r.fits(right - pad)
	x := float32(pad)
	for _, b := range r.desks {
		b.Set(b.Chosen, named)
		w := b.Width(named)
		set(b, x, y, w, high)
		x += w + gap
	}
}

// fits tells whether the desks have room for their names.
func (r *deskRow) fits(room float32) bool {
	for _, b := range r.desks {
		room -= b.Width(true) + 6
	}
	return room > 0
}

func (r *deskRow) update(now session.State) {
	for i, b := range r.desks {
		b.Set(now.Desk == r.ids[i], b.Named)
	}
}
