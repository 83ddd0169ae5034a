package view

import (
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/lesson"
	"firstsheet/proof/raster"
	"firstsheet/proof/words"
)

// draw sets the page's type and places its picture.
func (v *lessonView) draw(size fyne.Size) []fyne.CanvasObject {
	t := &setter{}
	u := unit(size)
	if size.Width < 10 {
		return nil
	}
	there := v.lesson != nil && len(v.scenes) > 0
	v.off(!there)
	v.pictures.set(pictureScene{})
	if !there {
		t.text(v.say, u, u, size.Width*0.9, u*1.2, false, toolkittheme.ColorNameForeground, 6)
		return t.objs
	}
	if v.inFive() {
		return append(v.drawFive(t, u, size), t.objs...)
	}
	s, ph := v.step()
	y := v.drawHead(t, s, u, size)
	var body []fyne.CanvasObject
	switch {
	case s.Kind == lesson.Station:
		body = v.drawStation(t, s, u, y, size)
	case s.Kind == lesson.Mistake && ph == phasePair:
		body = v.drawPair(t, s, u, y, size)
	case s.Kind == lesson.Mistake:
		body = v.drawInPlace(t, s, ph, u, y, size)
	case s.Kind == lesson.Cannot:
		drawCannot(t, s, u, y, size)
	case s.Kind == lesson.Summary:
		v.drawSummary(t, s, u, y, size)
	}
	return append(t.objs, body...)
}

// off makes the controls that need a lesson rest.
func (v *lessonView) off(off bool) {
	for _, b := range []*widget.Press{v.back, v.next, v.blink, v.print} {
		if b.Off != off {
			b.Off = off
			b.Refresh()
		}
	}
}

// drawHead sets title, place in the lesson and number of the page, and returns where
// the body begins.
func (v *lessonView) drawHead(t *setter, s lesson.Step, u float32, size fyne.Size) float32 {
	number := v.number()
	nw := widget.Measure(number, u*0.75, fyne.TextStyle{}).Width
	t.right(number, size.Width-nw-2, u*0.4, nw+2, u*0.75, false, theme.ColorQuiet)
	tw := min(widget.Measure(s.Title, u*1.5, fyne.TextStyle{Bold: true}).Width+u, size.Width*0.62)
	t.text(s.Title, 0, 0, tw, u*1.5, true, toolkittheme.ColorNameForeground, 1)
	t.text(s.Place, tw, u*0.55, size.Width-tw-nw-u, u*0.7, false, theme.ColorQuiet, 1)
	return widget.LineHeight(u*1.5) + u*0.2
}

// place puts the page's picture where it belongs.
func (v *lessonView) place(u, x, y, w, h float32) []fyne.CanvasObject {
	return v.hang(v.compose(), u, x, y, w, h)
}

// hang hangs a scene of pictures on the page.
func (v *lessonView) hang(sc pictureScene, u, x, y, w, h float32) []fyne.CanvasObject {
	sc.size = max(u*0.7, 13)
	v.pictures.set(sc)
	// Whole units, so that a picture that is replaced by another does not move.
	set(v.picture, whole(x), whole(y), whole(w), whole(h))
	return []fyne.CanvasObject{v.picture}
}

func (v *lessonView) drawStation(t *setter, s lesson.Step, u, y float32, size fyne.Size) []fyne.CanvasObject {
	r := routeLine{stopsOf(s.Route), s.At, u}
	h := r.height(size.Width)
	r.set(t, 0, y, size.Width, h)
	y += h + u*0.6
	left := size.Width * 0.5
	out := v.place(u, 0, y, left, size.Height-y)
	x, w := left+u*0.9, size.Width-left-u*0.9
	bottom := size.Height - widget.LineHeight(u*0.68)*1.16*min(float32(len(s.Rows)), 4)
	for i, line := range slices.Concat(s.Lead, s.Notes) {
		ts := u
		if i > 0 {
			ts = u * 0.82
		}
		h := textHeight(line, w, ts, false, 4)
		if y+h > bottom {
			break
		}
		y += t.text(line, x, y, w, ts, i == 0, toolkittheme.ColorNameForeground, 4) + u*0.45
	}
	t.pinLines(s.Rows, x, y, w, size.Height-y, u*0.68, func(r lesson.Row) (string, color.Color, color.Color) {
		c := r.Right.Screen
		if s.Original {
			c = r.Right.OnScreen
		}
		return r.Figures, raster.RGBA(c), nil
	})
	return out
}

// drawMistaken sets the route line of a mistake, or of the right way, and returns where
// it ends. It has one height, right or wrong, so that the picture stays in its place when
// it goes wrong.
func (v *lessonView) drawMistaken(t *setter, s lesson.Step, isRight bool, u, y float32, size fyne.Size) float32 {
	right, wrong := routeLine{stopsOf(v.lesson.Plan.Route()), -1, u}, routeLine{stopsOf(s.Route), -1, u}
	h := max(right.height(size.Width), wrong.height(size.Width))
	shown := wrong
	if isRight {
		shown = right
	}
	shown.set(t, 0, y, size.Width, h)
	return y + h + u*0.5
}

// drawInPlace shows one print: as it should be, or gone wrong in the same place.
func (v *lessonView) drawInPlace(t *setter, s lesson.Step, ph phase, u, y float32, size fyne.Size) []fyne.CanvasObject {
	isRight := (ph == phaseRight) != v.flip
	y = v.drawMistaken(t, s, isRight, u, y, size)
	foot := widget.LineHeight(u*1.05) * 3
	out := v.place(u, 0, y, size.Width, size.Height-y-foot-u*0.3)
	say := s.Lead[0]
	if isRight {
		say = "So it should be. The next page shows ‘" + s.Name + "’"
		if s.Chosen != "" {
			say += ", " + s.Chosen
		}
		say += ": watch " + words.The(v.lesson.Pins[0]) + "."
	}
	t.text(say, 0, size.Height-foot, size.Width, u*1.05, true, toolkittheme.ColorNameForeground, 3)
	return out
}

// drawPair shows both prints side by side, with the pins and advice.
func (v *lessonView) drawPair(t *setter, s lesson.Step, u, y float32, size fyne.Size) []fyne.CanvasObject {
	y = v.drawMistaken(t, s, false, u, y, size)
	pics := (size.Height - y) * 0.54
	out := v.place(u, 0, y, size.Width, pics)
	y += pics + u*0.5
	leftW := size.Width * 0.6
	t.pinLines(s.Rows, 0, y, leftW, size.Height-y, u*0.68, func(r lesson.Row) (string, color.Color, color.Color) {
		told := r.Change.Sentence()
		if !r.Change.Same() {
			told = "ΔE00 " + words.Whole(r.Change.DeltaE00) + ":  " + told
		}
		return told, raster.RGBA(r.Right.Screen), raster.RGBA(r.Wrong.Screen)
	})
	x, w := leftW+u, size.Width-leftW-u
	for _, a := range [][2]string{{"How to recognise it on paper", s.Recognise}, {"How to prevent it", s.Prevent}} {
		y += t.text(a[0], x, y, w, u*0.72, true, toolkittheme.ColorNameForeground, 1)
		most := max(int((size.Height-y)/widget.LineHeight(u*0.72)), 1)
		y += t.text(a[1], x, y, w, u*0.72, false, toolkittheme.ColorNameForeground, min(most, 5)) + u*0.4
	}
	return out
}

func drawCannot(t *setter, s lesson.Step, u, y float32, size fyne.Size) {
	for _, line := range s.Lead {
		h := textHeight(line, size.Width*0.92, u, false, 3)
		if y+h > size.Height {
			break
		}
		y += t.text(line, 0, y, size.Width*0.92, u, false, toolkittheme.ColorNameForeground, 3) + u*0.6
	}
}
