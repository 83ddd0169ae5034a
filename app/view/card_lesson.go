package view

import (
	"cmp"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/lesson"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// lessonCard is the workshop's lesson.
func lessonCard() Card {
	return Card{ID: session.LessonCard, Name: "Lesson: why prints go wrong", Key: "L", Ctrl: true, Place: Projected,
		Help:  "a lesson for a room, full screen: five pages on the mistake that shows most on this picture and paper; L there: all mistakes, with a handout",
		Build: func(h *Host) Built { return newLesson(h).built() }}
}

// scene is one page of the lesson's long form: a step, and for a mistake one of three views of
// it: as it should be, gone wrong in the same place, both side by side.
type scene struct {
	step  int
	phase phase
}

type phase uint8

const (
	phaseOnly  phase = iota // steps that have one page
	phaseRight              // the mistake to come, still as it should be
	phaseWrong              // gone wrong, in the same place
	phasePair               // side by side, with the pins and advice
)

// lessonView is the open card. All its fields belong to the drawing goroutine.
type lessonView struct {
	h      *Host
	work   *work
	making *lane
	files  *writing

	of     lessonOf
	lesson *lesson.Lesson
	scenes []scene
	at     int
	flip   bool // the other one in place, until the page is turned
	say    string

	long  bool        // the long form, in place of the five pages
	five  fiveAt      // where in the five pages
	keep  setup.Setup // whose slips are shown of a picture of one's own too
	asked bool        // they were asked for

	levels, rewritten []raster.Pixels // the picture, and in another space's numbers

	looks    *looks
	pictures *lessonPictures

	content *fyne.Container
	page    *page
	mark    *widget.PageMark
	picture *widget.Drawing
	foot    *fyne.Container
	back    *widget.Press
	next    *widget.Press
	blink   *widget.Press
	print   *widget.Press
	hint    *widget.Prose
}

func newLesson(h *Host) *lessonView {
	v := &lessonView{h: h, work: h.newWork()}
	v.making = v.work.lane()
	on := h.State().Lesson
	v.keep, v.asked, v.five.page = on.Slip, on.Slip.Slips != "", on.Page
	v.looks = newLooks(v.work, v.came, func(err error) { v.tell("A picture can’t be shown. " + session.Explain(err, "").Headline) })
	v.pictures = &lessonPictures{ctx: v.work.ctx, looks: v.looks}
	v.picture = widget.NewDrawing(h.Session.Post, v.pictures.paint)
	v.picture.Ground = theme.Desk
	v.picture.OnTap = func(float64, float64) { v.turn(1) }
	v.page = newPage(fyne.NewSize(860, 480), v.draw)
	v.mark = widget.NewPageMark("numbers", v.askFigures)
	v.hint = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.files = newWriting(v.work, v.hint.SetText, func() { v.foot.Refresh() })
	v.back = widget.NewPress("Back", func() { v.turn(-1) })
	v.next = widget.NewPress("Next", func() { v.turn(1) })
	v.blink = widget.NewPress("Blink  (B)", func() { v.blinkNow() })
	v.print = widget.NewPress("Handout…  (P)", func() { v.askHandout() })
	v.back.Explain("The page before: ←, Page Up, or the clicker’s back.", v.tell)
	v.next.Explain("The next page: →, Page Down, or the clicker’s forward; a click on the picture does it too.", v.tell)
	v.blink.Explain("The other picture in the same place, and back: Space, B or full stop, which is a clicker’s black-screen button.", v.tell)
	v.print.Explain("A PDF for the participants, a page for each mistake, or single pictures to show elsewhere.", v.tell)
	v.tell("")
	return v
}

const lessonFoot = "→ or a clicker turns the page, ← goes back, Home starts anew, Space or B blinks between right and wrong in place, L goes back to the five pages, F fills the screen or not, P writes the handout. Esc closes."

// tell explains a control in the card's own foot line; while something is being
// written that line is taken.
func (v *lessonView) tell(s string) {
	if !v.files.busy() {
		v.hint.SetText(cmp.Or(s, lessonFoot))
	}
}

func (v *lessonView) built() Built {
	v.foot = container.New(freeLayout{fyne.NewSize(600, 34), func(s fyne.Size) {
		x := s.Width
		for _, b := range []*widget.Press{v.next, v.blink, v.back, v.print, v.files.halt} {
			if b.Visible() {
				w := b.MinSize().Width
				x -= w
				set(b, x, (s.Height-32)/2, w, 32)
				x -= 8
			}
		}
		h := v.hint.HeightFor(x - 8)
		set(v.hint, 0, (s.Height-h)/2, x-8, h)
	}}, v.hint, v.files.halt, v.print, v.back, v.blink, v.next)
	v.content = container.New(freeLayout{fyne.NewSize(860, 520), func(s fyne.Size) {
		show(v.foot, v.long)
		show(v.mark, !v.long)
		if !v.long {
			set(v.page, 0, 0, s.Width, s.Height)
			w, h := v.markSize(s)
			set(v.mark, s.Width-w, s.Height-h, w, h)
			return
		}
		const foot, edge = 38, 20
		set(v.page, edge, 14, s.Width-2*edge, s.Height-foot-6-2*14)
		set(v.foot, edge, s.Height-foot-14, s.Width-2*edge, foot)
	}}, v.page, v.foot, v.mark)
	return Built{Content: v.content, Update: v.update, Key: v.typed, Close: v.work.close}
}

// typed are the keys of the lesson, alike in both forms; a clicker sends Page Down and
// Page Up, and B or a full stop for its black screen.
func (v *lessonView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyRight, fyne.KeyPageDown, fyne.KeyReturn, fyne.KeyEnter, fyne.KeyDown:
		v.turn(1)
	case fyne.KeyLeft, fyne.KeyPageUp, fyne.KeyBackspace, fyne.KeyUp:
		v.turn(-1)
	case fyne.KeyHome:
		v.turn(-allPages)
	case fyne.KeyEnd:
		v.turn(allPages)
	case fyne.KeySpace, fyne.KeyB, fyne.KeyPeriod:
		v.blinkNow()
	case fyne.KeyN:
		v.askFigures()
	case fyne.KeyL:
		v.setLong(!v.long)
	case fyne.KeyO:
		v.h.Do(session.AskFor{Ask: session.AskPicture})
	case fyne.KeyP:
		v.setLong(true) // its foot line tells how far it is
		v.askHandout()
	case fyne.KeyF:
		v.h.Window.SetFullScreen(!v.h.Window.FullScreen())
	default:
		return false
	}
	return true
}

// allPages is more pages than a lesson has.
const allPages = 1 << 20

// setLong goes from one form of the lesson to the other.
func (v *lessonView) setLong(on bool) {
	if v.long != on {
		v.long, v.flip = on, false
		v.arrange()
	}
}

// arrange lays out and draws everything anew.
func (v *lessonView) arrange() {
	v.content.Layout.Layout(v.content.Objects, v.content.Size())
	v.show()
	canvas.Refresh(v.content)
}

// turn goes forward or back by pages, as far as there are some.
func (v *lessonView) turn(by int) {
	if v.inFive() {
		v.turnFive(by)
		return
	}
	to := min(max(v.at+by, 0), max(len(v.scenes)-1, 0))
	if to != v.at || v.flip {
		v.at, v.flip = to, false
		v.show()
	}
}

func (v *lessonView) blinkNow() {
	if v.inFive() {
		v.blinkFive()
		return
	}
	if len(v.scenes) > 0 {
		v.flip = !v.flip
		v.show()
	}
}

// update makes the lesson anew where it would say something else.
func (v *lessonView) update(now session.State) {
	if now.Picture.Key == 0 {
		v.message("No picture is open yet. Close this card and open one, or take the demo picture: the lesson speaks of its colours.")
		return
	}
	if of := newLessonOf(now); of != v.of {
		if v.of.picture != 0 && of.picture != v.of.picture {
			v.ownPicture()
		}
		v.of = of
		v.make(now)
	}
}

// message shows a sentence in place of the lesson.
func (v *lessonView) message(s string) {
	if v.say != s || v.lesson != nil {
		v.say, v.lesson, v.scenes = s, nil, nil
		v.show()
	}
}

// make has the lesson worked out.
func (v *lessonView) make(now session.State) {
	pic := v.h.Session.Store().Picture(now.Picture.Key)
	if pic == nil || len(pic.Levels) == 0 {
		v.making.drop()
		v.message("The picture is no longer open.")
		return
	}
	v.levels = pic.Levels
	if v.lesson == nil {
		v.message("The lesson is being worked out …")
	}
	engine, m := v.h.Session.Engine(), v.of.material(v.h, pic, now)
	m.Keep, m.Asked = v.keep, v.asked
	m.Papers, m.Spaces = paperIDs(v.h, v.keep.Other), spaceIDs(v.keep.Reads)
	v.making.start(func(j job) func() {
		progress := func(done float64) {
			j.post(func() {
				if v.lesson == nil {
					v.message("The lesson is being worked out … " + words.Share(done))
				}
			})
		}
		var l *lesson.Lesson
		var rewritten []raster.Pixels
		var err error
		if m.Pins, err = telling(j, engine, pic, m.Pins); err == nil {
			l, err = lesson.New(j, engine, m, progress)
		}
		if err == nil && l.Five.Rewritten.ID != "" {
			rewritten, err = l.Five.Rewritten.Levels(j, engine, pic.Levels)
		}
		return func() {
			if err != nil {
				v.message("This lesson can’t be given. " + session.Explain(err, now.Picture.Path).Headline)
				return
			}
			v.take(pic, l, rewritten)
		}
	})
}

// take shows a lesson from its beginning, or at the same step as the one before it.
func (v *lessonView) take(pic *session.Picture, l *lesson.Lesson, rewritten []raster.Pixels) {
	was, ph := "", phaseOnly
	if v.lesson != nil && v.at < len(v.scenes) {
		var s lesson.Step
		s, ph = v.step()
		was = s.Title
	}
	v.lesson, v.say, v.scenes, v.at, v.flip = l, "", nil, 0, false
	v.rewritten = rewritten
	v.five = v.five.within(l.Five)
	for i, s := range l.Steps {
		if s.Kind == lesson.Mistake {
			v.scenes = append(v.scenes, scene{i, phaseRight}, scene{i, phaseWrong}, scene{i, phasePair})
		} else {
			v.scenes = append(v.scenes, scene{i, phaseOnly})
		}
	}
	for i, s := range v.scenes {
		if was != "" && l.Steps[s.step].Title == was && s.phase == ph {
			v.at = i
		}
	}
	v.looks.forget()
	v.arrange()
	list := fiveSetups(l.Five)
	list = append(list, l.Right.Original(), l.Right)
	for _, s := range l.Mistakes() {
		list = append(list, s.Setup)
	}
	// First coarse ones, so that the next page is ready, then fine ones.
	v.looks.want(pic, list, proof.Good, proof.Fine)
}

// came has the picture painted anew where it shows what has become ready.
func (v *lessonView) came(s setup.Setup) {
	if v.pictures.shows(s) {
		v.picture.Again()
	}
}

// show draws the page anew.
func (v *lessonView) show() {
	before := v.picture.Size()
	v.page.Refresh()
	v.markPage()
	if v.picture.Size() == before {
		v.picture.Again() // of another size it is painted anew of itself
	}
}

// step returns the step and view on the page.
func (v *lessonView) step() (lesson.Step, phase) {
	s := v.scenes[v.at]
	return v.lesson.Steps[s.step], s.phase
}

// number is the number of the page, and of how many.
func (v *lessonView) number() string { return fmt.Sprintf("%d / %d", v.at+1, len(v.scenes)) }
