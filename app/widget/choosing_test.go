package widget

import (
	"fmt"
	"image"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/theme"
)

func TestSlideGoesRoundAndStopsAtItsEnds(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(theme.Neutral{})
	var told []float64
	s := NewSlide("hue", 0, 360, 1, 359, func(v float64) string { return fmt.Sprint(v) }, func(v float64) { told = append(told, v) })
	s.Round = true
	key := func(k fyne.KeyName) { s.TypedKey(&fyne.KeyEvent{Name: k}) }
	key(fyne.KeyRight)
	key(fyne.KeyRight)
	if s.Value != 1 {
		t.Errorf("two steps on from 359 is %g, want 1", s.Value)
	}
	s.Round = false
	key(fyne.KeyHome)
	key(fyne.KeyLeft)
	if s.Value != 0 || len(told) != 3 {
		t.Errorf("at the low end it is %g, told %v", s.Value, told)
	}
	s.Resize(fyne.NewSize(218, SlideHeight()))
	s.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(109, 20)}})
	if s.Value != 180 {
		t.Errorf("dragged to the middle it is %g", s.Value)
	}
}

// A drawing is painted aside for the device pixels it has; while one painting is
// under way, only the last asked for is painted after it.
func TestDrawingPaintsTheLastAskedFor(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(theme.Neutral{})
	var jobs, posts []func()
	n := 0
	d := NewDrawing(func(f func()) { posts = append(posts, f) }, func(w, h int, scale float64) (*image.RGBA, []Word) {
		n++
		img := image.NewRGBA(image.Rect(0, 0, w, h))
		img.Pix[0] = uint8(n)
		return img, []Word{{Text: "here", X: 10, Y: 10, Size: 12, Ink: Color(theme.ColorDeskInk)}}
	})
	d.Aside = func(f func()) { jobs = append(jobs, f) }
	win := test.NewTempWindow(t, d)
	win.Resize(fyne.NewSize(300, 200))
	if got := d.generate(120, 80).Bounds().Size(); got != image.Pt(120, 80) {
		t.Fatalf("before anything is painted the ground has %v", got)
	}
	d.Again()
	d.Again()
	run := func() {
		for len(jobs)+len(posts) > 0 {
			if len(jobs) > 0 {
				jobs[0]()
				jobs = jobs[1:]
				continue
			}
			posts[0]()
			posts = posts[1:]
		}
	}
	if len(jobs) != 1 {
		t.Fatalf("%d paintings run at once", len(jobs))
	}
	run()
	if n != 2 || d.Shown().Pix[0] != 2 || d.Shown().Rect.Dx() != 120 {
		t.Errorf("painted %d times, shown %v", n, d.Shown().Rect)
	}
	if len(d.Words()) != 1 {
		t.Errorf("words %v", d.Words())
	}
}

func TestTableKeepsTheChosenRowInSight(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(theme.Neutral{})
	tab := NewTable([]Column{{Head: []string{"a"}, Least: 60, Words: true}, {Head: []string{"b"}, Least: 60}})
	var rows []Row
	for i := range 20 {
		rows = append(rows, Row{Cells: []string{fmt.Sprint(i), "x"}})
	}
	picked, head := -1, -1
	tab.OnPick, tab.OnHead = func(i int) { picked = i }, func(c int) { head = c }
	win := test.NewTempWindow(t, tab)
	win.SetPadded(false)
	win.Resize(fyne.NewSize(300, 200))
	tab.SetRows(rows)
	key := func(k fyne.KeyName) { tab.TypedKey(&fyne.KeyEvent{Name: k}) }
	seen := tab.inSight()
	for range 15 {
		key(fyne.KeyDown)
	}
	if tab.Chosen != 14 || tab.top != 14-seen+1 {
		t.Errorf("row %d is chosen, the first in sight is %d of %d", tab.Chosen, tab.top, seen)
	}
	key(fyne.KeyReturn)
	key(fyne.KeyRight)
	if picked != 14 || head != 0 {
		t.Errorf("picked %d, explained column %d", picked, head)
	}
	key(fyne.KeyEnd)
	key(fyne.KeyHome)
	if tab.Chosen != 0 || tab.top != 0 {
		t.Errorf("Home chose %d", tab.Chosen)
	}
	tab.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.NewDelta(0, -10)})
	tab.Tapped(&fyne.PointEvent{Position: fyne.NewPos(10, tab.headHeight()+5)})
	if picked != 1 {
		t.Errorf("a click on the first row in sight picked %d, want 1", picked)
	}
	tab.Tapped(&fyne.PointEvent{Position: fyne.NewPos(100, 5)})
	if head != 1 {
		t.Errorf("a click on a heading explained column %d", head)
	}
}
