package view

import (
	"fmt"
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/lesson"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// fiveAt is where the lesson in five pages stands.
type fiveAt struct {
	page, view int
	figures    bool
}

// within keeps the place among the pages that there are.
func (a fiveAt) within(f lesson.Five) fiveAt {
	a.page = min(a.page, max(len(f.Pages)-1, 0))
	if len(f.Pages) > 0 {
		a.view = min(a.view, len(f.Pages[a.page].Views)-1)
	}
	return a
}

// inFive tells whether one of the five pages is shown.
func (v *lessonView) inFive() bool { return !v.long && v.lesson != nil && len(v.lesson.Five.Pages) > 0 }

// fivePage is the page that is shown, and its view.
func (v *lessonView) fivePage() (lesson.Page, lesson.View) {
	p := v.lesson.Five.Pages[v.five.page]
	return p, p.Views[v.five.view]
}

// fiveSetups are all set-ups that the pages show, in the order of the pages.
func fiveSetups(f lesson.Five) []setup.Setup {
	var out []setup.Setup
	for _, p := range f.Pages {
		for _, w := range p.Views {
			for _, x := range w.Prints {
				if !slices.Contains(out, x.Setup) {
					out = append(out, x.Setup)
				}
			}
		}
	}
	return out
}

// turnFive turns by pages; of a page whose views come in turn, by views first.
func (v *lessonView) turnFive(by int) {
	pages, at := v.lesson.Five.Pages, v.five
	switch views := len(pages[at.page].Views); {
	case by == 1 && pages[at.page].InTurn && at.view < views-1:
		at.view++
	case by == -1 && pages[at.page].InTurn && at.view > 0:
		at.view--
	default:
		at.page, at.view = min(max(at.page+by, 0), len(pages)-1), 0
		if by < 0 && at.page < v.five.page && by > -allPages && pages[at.page].InTurn {
			at.view = len(pages[at.page].Views) - 1
		}
		if at.page == v.five.page && by > 0 {
			at.view = v.five.view // no page comes after the last
		}
	}
	if at != v.five || v.flip {
		v.five, v.flip = at, false
		v.show()
	}
}

// blinkFive shows the next view in place, or where there is one the other order of its
// pictures.
func (v *lessonView) blinkFive() {
	if p, _ := v.fivePage(); len(p.Views) > 1 {
		v.five.view = (v.five.view + 1) % len(p.Views)
	} else {
		v.flip = !v.flip
	}
	v.show()
}

// askFigures shows the figures of the pages, or takes them away.
func (v *lessonView) askFigures() {
	if v.inFive() {
		v.five.figures = !v.five.figures
		v.show()
	}
}

// ownPicture is told that another picture has been opened: it is shown with the mistake
// of the pages before it.
func (v *lessonView) ownPicture() {
	if v.lesson == nil || len(v.lesson.Five.Pages) == 0 {
		return
	}
	v.keep, v.asked = v.lesson.Five.Step.Setup, false
	v.five = fiveAt{page: len(v.lesson.Five.Pages) - 1, figures: v.five.figures}
	v.lesson, v.scenes, v.rewritten = nil, nil, nil
}

// prints are the view's pictures in the order they are shown.
func (v *lessonView) prints(w lesson.View) []lesson.Print {
	if !v.flip {
		return w.Prints
	}
	out := slices.Clone(w.Prints)
	slices.Reverse(out)
	return out
}

// hangPrints hangs pictures side by side.
func (v *lessonView) hangPrints(list []lesson.Print, u, x, y, w, h float32) []fyne.CanvasObject {
	sc := v.scene()
	for _, p := range list {
		sc.sheets = append(sc.sheets, lessonSheet{p.Setup, session.Typeset(p.Caption), p.Rewritten, p.Look})
	}
	return v.hang(sc, u, x, y, w, h)
}

// Parts of the type size that the five pages are set in.
const (
	saySize, largeSay, leastSay = 1.9, 1.5, 1.15 // the large sentence, as large as its lines allow
	moreSize                    = 1.0
	routeSize, leastRoute       = 1.2, 0.9 // route lines against those of the long form: as large as pictures leave room
	leastType                   = 0.6      // all type of a page of routes against the usual, in a low window
	titleSize                   = 0.95
	figureSize                  = 0.78
	footSize                    = 0.6
	markPart                    = 1.5 // the height of the page mark
)

// keysTold is what a presenter has to know, told before anything is shown.
const keysTold = "→ goes on, ← back, Space or B blinks, N numbers, L the long form, O your picture, Esc closes"

// drawFive draws one of the five pages.
func (v *lessonView) drawFive(t *setter, u float32, size fyne.Size) []fyne.CanvasObject {
	p, w := v.fivePage()
	foot := v.drawFoot(t, p, u, size)
	room := fyne.NewSize(size.Width, size.Height-foot)
	switch {
	case len(p.Routes) > 0:
		return v.drawRoutes(t, p, w, u, room)
	case slices.ContainsFunc(w.Prints, func(x lesson.Print) bool { return x.Told != "" }):
		return v.drawTold(t, p, w, u, room)
	}
	return v.drawPicture(t, p, w, u, room)
}

// drawFoot sets a page's caution beside the page mark, and returns the height of both.
func (v *lessonView) drawFoot(t *setter, p lesson.Page, u float32, size fyne.Size) float32 {
	mark, h := v.markSize(size)
	said := p.Foot
	if v.five == (fiveAt{figures: v.five.figures}) {
		said = keysTold
	}
	if said == "" {
		return h
	}
	ts := max(u*footSize, 12)
	width := size.Width - mark - 2*u
	tall := max(h, textHeight(said, width, ts, false, 3)+u*0.5)
	t.text(session.Typeset(said), u, size.Height-tall+u*0.15, width, ts, false, theme.ColorQuiet, 3)
	return tall
}

// say sets the large sentence and what goes with it, as large as a number of lines
// allows, and returns the height; it only measures where t is nil.
func (v *lessonView) setSay(t *setter, p lesson.Page, w lesson.View, x, y, width, u float32, lines int) float32 {
	from := y
	if t == nil {
		t = &setter{}
	}
	if title := p.Title; v.five.page > 0 {
		if p.Asks {
			title += ": O opens one, or drop it here"
		}
		y += t.text(title, x, y, width, u*titleSize, false, theme.ColorQuiet, 1)
	}
	said := session.Typeset(w.Say)
	y += t.text(said, x, y, width, fitted(said, width, u, lines), true, toolkittheme.ColorNameForeground, lines)
	for _, more := range w.More {
		y += u*0.12 + t.text(session.Typeset(more), x, y+u*0.12, width, u*moreSize, false, toolkittheme.ColorNameForeground, 3)
	}
	return y - from
}

// fitted is the size of a sentence: the largest at which it takes no more than so many
// lines, but one line where that is still large.
func fitted(s string, width, u float32, lines int) float32 {
	fits := func(size float32, n int) bool {
		return len(widget.Wrap(s, width, u*size, fyne.TextStyle{Bold: true}, n+1)) <= n
	}
	n := lines
	if fits(largeSay, 1) {
		n = 1
	}
	size := float32(saySize)
	for size > leastSay && !fits(size, n) {
		size -= 0.05
	}
	return u * size
}

// drawPicture shows a picture as large as the words beneath it allow.
func (v *lessonView) drawPicture(t *setter, p lesson.Page, w lesson.View, u float32, size fyne.Size) []fyne.CanvasObject {
	// One height for all views, so that the picture stays where it is.
	var text float32
	for _, other := range p.Views {
		text = max(text, v.setSay(nil, p, other, u, 0, size.Width-2*u, u, 2))
	}
	text += u * 0.6
	h := size.Height - text
	v.setSay(t, p, w, u, h+u*0.3, size.Width-2*u, u, 2)
	width := v.drawFigures(t, p, u, 0, h, size.Width)
	return v.hangPrints(v.prints(w), u, 0, 0, width, h)
}

// drawFigures sets the figures on the right, where they are asked for, and returns the
// width that is left.
func (v *lessonView) drawFigures(t *setter, p lesson.Page, u, y, h, width float32) float32 {
	if !v.five.figures {
		return width
	}
	left := width * 0.56
	v.setFigures(t, p, u, left+u, y+u*0.6, width-left-2*u, h-u*0.6)
	return left
}

func (v *lessonView) setFigures(t *setter, p lesson.Page, u, x, y, w, h float32) {
	foot := y + h
	ts := u * figureSize
	for _, line := range p.Figures {
		y += t.text(session.Typeset(line), x, y, w, ts, false, toolkittheme.ColorNameForeground, 6) + u*0.3
	}
	t.pinLines(p.Rows, x, y, w, foot-y, ts*0.92, func(r lesson.Row) (string, color.Color, color.Color) {
		told := r.Change.Sentence()
		if !r.Change.Same() {
			told += ", " + words.DeltaE00(r.Change.DeltaE00)
		}
		return told, raster.RGBA(r.Right.Screen), raster.RGBA(r.Wrong.Screen)
	})
}

// drawTold shows prints side by side, each with what is to be seen in it.
func (v *lessonView) drawTold(t *setter, p lesson.Page, w lesson.View, u float32, size fyne.Size) []fyne.CanvasObject {
	y := u*0.6 + v.setSay(t, p, w, u, u*0.6, size.Width-2*u, u, 2) + u*0.4
	h := size.Height - y
	width := v.drawFigures(t, p, u, y, h, size.Width)
	list := v.prints(w)
	col := width / float32(len(list))
	ts := u * moreSize
	var told float32
	for _, x := range list {
		told = max(told, textHeight(x.Told, col-1.5*u, ts, true, 5))
	}
	for i, x := range list {
		t.text(session.Typeset(x.Told), float32(i)*col+u, y+h-told, col-1.5*u, ts, true, toolkittheme.ColorNameForeground, 5)
	}
	return v.hangPrints(list, u, 0, y, width, h-told-u*0.3)
}

// drawRoutes shows the routes one under the other, each with the colour at its end, as
// large as leaves room for the pictures; in a low window all type gives way to them.
func (v *lessonView) drawRoutes(t *setter, p lesson.Page, w lesson.View, u float32, size fyne.Size) []fyne.CanvasObject {
	set := func(t *setter, u, part float32) float32 {
		width := size.Width - 2*u
		y := u*0.6 + v.setSay(t, p, w, u, u*0.6, width, u, 2) + u*0.5
		return y + setRoutes(t, p.Routes, u, y, width, part)
	}
	part, least := float32(routeSize), u*leastType
	for part > leastRoute && size.Height-set(nil, u, part) < u*9 {
		part -= 0.1
	}
	for u > least && size.Height-set(nil, u, part) < u*6 {
		u *= 0.96
	}
	y := set(t, u, part)
	h := size.Height - y
	return v.hangPrints(v.prints(w), u, 0, y, v.drawFigures(t, p, u, y, h, size.Width), h)
}

// setRoutes sets routes at a part of the type size and returns their height; it only
// measures where t is nil.
func setRoutes(t *setter, list []lesson.Told, u, y, width, part float32) float32 {
	from := y
	if t == nil {
		t = &setter{}
	}
	lh := widget.LineHeight(u)
	for _, r := range list {
		t.text(r.Title, u, y, width/2, u, true, toolkittheme.ColorNameForeground, 1)
		cw := widget.Measure(r.Colour, u, fyne.TextStyle{Bold: true}).Width
		t.right(r.Colour, u, y, width, u, true, toolkittheme.ColorNameForeground)
		t.box(u+width-cw-u*4.6, y+lh*0.08, u*4, lh*0.84, raster.RGBA(r.Screen), widget.Color(theme.ColorLine), 1)
		y += lh + u*0.15
		line := routeLine{stopsOf(r.Route), -1, u * part}
		h := line.height(width)
		line.set(t, u, y, width, h)
		y += h + u*0.6
	}
	return y - from
}

// markSize is the size of the page mark on a page.
func (v *lessonView) markSize(page fyne.Size) (w, h float32) {
	u := unit(page)
	return u * 8.5, u * markPart
}

// markPage sets the page mark.
func (v *lessonView) markPage() {
	number := ""
	if v.inFive() {
		number = fmt.Sprintf("%d / %d", v.five.page+1, len(v.lesson.Five.Pages))
	}
	v.mark.Set(v.five.figures, number)
}
