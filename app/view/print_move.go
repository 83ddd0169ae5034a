package view

import (
	"fyne.io/fyne/v2"

	"firstsheet/proof/printfile"
)

// printMove moves the print on its sheet, the picture in its frame, or the edges of what is printed, by
// the mouse and by the arrow keys. A drag is shown at once and becomes the job when the mouse lets go.
type printMove struct {
	v   *printView
	job *printfile.Job // while it is dragged

	pulled printfile.Edges  // those that are dragged, 0 for the print
	held   printfile.Edges  // the one that the arrow keys pull, 0 for the print
	from   printfile.Layout // how it lay when edges were taken
	way    [2]float64       // how far they were dragged since, in millimetres
}

// slides tells whether the picture moves in its frame: where a sheet is filled nothing else
// can, and else where that is chosen and something is cut off.
func (m *printMove) slides() bool {
	return m.v.print != nil && m.slidesIn(m.v.print.Job(), m.v.print.Layout())
}

func (m *printMove) slidesIn(j printfile.Job, l printfile.Layout) bool {
	return l.Cuts() && (j.Size.By == printfile.FillSheet || m.v.form.kept.Slides)
}

// moved returns a job with what moves moved by millimetres, and how that lies.
func (m *printMove) moved(j printfile.Job, right, down float64) (printfile.Job, printfile.Layout, bool) {
	px := m.v.print.Source().Picture
	l, err := printfile.Lay(j, px.W, px.H)
	if err != nil {
		return j, l, false
	}
	if m.slidesIn(j, l) {
		j = j.Slide(l, right, down)
	} else {
		j = j.Push(l, right, down)
	}
	l, err = printfile.Lay(j, px.W, px.H)
	return j, l, err == nil
}

// drag follows the mouse.
func (m *printMove) drag(dx, dy float64) {
	v := m.v
	v.picture.mu.Lock()
	perMM := v.picture.perMM
	v.picture.mu.Unlock()
	if v.print == nil || perMM == 0 {
		return
	}
	s := v.picture.now()
	if m.pulled != 0 {
		m.way[0], m.way[1] = m.way[0]+dx/perMM, m.way[1]+dy/perMM
		j := v.of.job.Pull(m.from, m.pulled, m.way[0], m.way[1])
		l := m.from.Pulled(j)
		m.job, s.moved, s.pulls = &j, &l, true
	} else {
		j := v.of.job
		if m.job != nil {
			j = *m.job
		}
		j, l, ok := m.moved(j, dx/perMM, dy/perMM)
		if !ok {
			return
		}
		m.job, s.moved = &j, &l
	}
	v.picture.set(s)
	v.sheet.Again()
}

// drop makes what was dragged the job.
func (m *printMove) drop() {
	m.pulled = 0
	if m.job == nil {
		return
	}
	j := *m.job
	m.job = nil
	m.take(j)
}

// take puts a place into the card's job; all else of that stays as it is.
func (m *printMove) take(from printfile.Job) {
	j := m.v.h.State().Print
	j.ShiftX, j.ShiftY, j.KeepX, j.KeepY, j.Crop = from.ShiftX, from.ShiftY, from.KeepX, from.KeepY, from.Crop
	m.v.form.set("", j)
}

// printStep is how far an arrow key moves, in millimetres.
const printStep = 1.0

// typed moves by the arrow keys; Home puts all back into the middle.
func (m *printMove) typed(e *fyne.KeyEvent) bool {
	if m.v.print == nil {
		return false
	}
	var right, down float64
	switch e.Name {
	case fyne.KeyLeft:
		right = -printStep
	case fyne.KeyRight:
		right = printStep
	case fyne.KeyUp:
		down = -printStep
	case fyne.KeyDown:
		down = printStep
	case fyne.KeyHome:
		j := m.v.of.job
		if m.slides() {
			j.KeepX, j.KeepY = 0, 0
			j.Crop.X, j.Crop.Y = (1-j.Crop.W)/2, (1-j.Crop.H)/2
			if j.Crop.W == 0 {
				j.Crop = printfile.Crop{}
			}
		} else {
			j.ShiftX, j.ShiftY = 0, 0
		}
		m.take(j)
		return true
	case fyne.KeyX:
		m.hold()
		return true
	default:
		return false
	}
	if m.held != 0 {
		return m.pullHeld(right, down)
	}
	// The job, not the print: that is made anew between two strokes.
	j, _, ok := m.moved(m.v.of.job, right, down)
	if ok {
		m.take(j)
	}
	return true
}
