package view

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/handout"
	"firstsheet/proof/lesson"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// lessonCard is the workshop's lesson.
func lessonCard() Card {
	return Card{ID: "lesson", Name: "Lesson: why prints go wrong", Key: "L", Ctrl: true, Place: WholeWindow,
		Help: "a lesson for a room: the route station by station, then every mistake, on this picture and paper; with a handout",
		Build: func(h *Host) Built {
			v := newLesson(h)
			// A room is shown nothing but the lesson; afterwards the window is as before.
			v.filled = h.Window.FullScreen()
			h.Window.SetFullScreen(true)
			return v.built()
		}}
}

// lessonOf is all that a lesson depends on: when it changes the lesson is made anew.
type lessonOf struct {
	set     setup.Setup
	picture int
	pins    [session.MaxPins]pin.Pin
	n, lead int
	library int
}

// scene is one page of the lesson: a step, and for a mistake one of three views of
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

// lessonView is the open card. All its fields belong to the drawing goroutine, but
// those of looks.
type lessonView struct {
	h      *Host
	engine session.Engine
	ctx    context.Context
	cancel context.CancelFunc
	filled bool // the window filled the screen before the lesson

	of     lessonOf
	stop   context.CancelFunc // of the lesson being made
	lesson *lesson.Lesson
	scenes []scene
	at     int
	flip   bool // the other one in place, until the page is turned
	say    string

	levels []raster.Pixels
	looks  looks

	page    *page
	picture *widget.Drawing
	foot    *fyne.Container
	back    *widget.Press
	next    *widget.Press
	blink   *widget.Press
	print   *widget.Press
	hint    *widget.Prose
	halt    *widget.Press
	job     context.CancelFunc // of the handout being written
}

// looks are the sampled plans that pictures are made by; they come one after the
// other, coarse ones first.
type looks struct {
	mu     sync.Mutex
	grids  map[string]*proof.Grid
	ground map[string]color.RGBA
	scene  pictureScene
	fit    raster.Pixels
	fitTo  [3]int // width, height, number of the picture
}

// pictureScene is what the painter paints: one picture or a pair.
type pictureScene struct {
	plans    []proof.Plan
	captions []string
	levels   []raster.Pixels
	picture  int
	size     float32
}

func newLesson(h *Host) *lessonView {
	v := &lessonView{h: h}
	v.ctx, v.cancel = context.WithCancel(context.Background())
	v.engine = h.Session.Engine()
	v.picture = widget.NewDrawing(h.Session.Post, v.paint)
	v.picture.Ground = theme.Desk
	v.picture.OnTap = func(float64, float64) { v.turn(1) }
	v.page = newPage(fyne.NewSize(860, 480), v.draw)
	v.back = widget.NewPress("Back", func() { v.turn(-1) })
	v.next = widget.NewPress("Next", func() { v.turn(1) })
	v.blink = widget.NewPress("Blink  (B)", func() { v.blinkNow() })
	v.print = widget.NewPress("Handout…  (P)", func() { v.askHandout() })
	v.halt = widget.NewPress("Stop", func() {
		if v.job != nil {
			v.job()
		}
	})
	v.halt.Hide()
	v.hint = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.back.Explain("The page before: ←, Page Up, or the clicker’s back.", v.tell)
	v.next.Explain("The next page: →, Space, Page Down, or the clicker’s forward; a click on the picture does it too.", v.tell)
	v.blink.Explain("The other picture in the same place, and back: B or full stop, which is a clicker’s black-screen button.", v.tell)
	v.print.Explain("A PDF for the participants, a page for each mistake, or single pictures to show elsewhere.", v.tell)
	v.tell("")
	return v
}

const lessonFoot = "→ or a clicker turns the page, ← goes back, Home starts anew, B blinks between right and wrong in place, F fills the screen or not, P writes the handout. Esc closes."

// tell explains a control in the card's own foot line; while something is being
// written that line is taken.
func (v *lessonView) tell(s string) {
	if v.job != nil {
		return
	}
	v.hint.SetText(cmp.Or(s, lessonFoot))
}

func (v *lessonView) built() Built {
	v.foot = container.New(freeLayout{fyne.NewSize(600, 34), func(s fyne.Size) {
		x := s.Width
		for _, b := range []*widget.Press{v.next, v.blink, v.back, v.print} {
			w := b.MinSize().Width
			x -= w
			set(b, x, (s.Height-32)/2, w, 32)
			x -= 8
		}
		if v.halt.Visible() {
			w := v.halt.MinSize().Width
			x -= w
			set(v.halt, x, (s.Height-32)/2, w, 32)
			x -= 8
		}
		h := v.hint.HeightFor(x - 8)
		set(v.hint, 0, (s.Height-h)/2, x-8, h)
	}}, v.hint, v.halt, v.print, v.back, v.blink, v.next)
	content := container.New(freeLayout{fyne.NewSize(860, 520), func(s fyne.Size) {
		const foot = 38
		set(v.page, 0, 0, s.Width, s.Height-foot-6)
		set(v.foot, 0, s.Height-foot, s.Width, foot)
	}}, v.page, v.foot)
	return Built{Content: content, Update: v.update, Key: v.typed, Close: v.close}
}

func (v *lessonView) close() {
	v.cancel()
	v.h.Window.SetFullScreen(v.filled)
	if v.stop != nil {
		v.stop()
	}
}

// typed are the keys of the lesson; a clicker sends Page Down and Page Up, and B or a
// full stop for its black screen.
func (v *lessonView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyRight, fyne.KeyPageDown, fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter, fyne.KeyDown:
		v.turn(1)
	case fyne.KeyLeft, fyne.KeyPageUp, fyne.KeyBackspace, fyne.KeyUp:
		v.turn(-1)
	case fyne.KeyHome:
		v.turn(-len(v.scenes))
	case fyne.KeyEnd:
		v.turn(len(v.scenes))
	case fyne.KeyB, fyne.KeyPeriod:
		v.blinkNow()
	case fyne.KeyP:
		v.askHandout()
	case fyne.KeyF:
		v.h.Window.SetFullScreen(!v.h.Window.FullScreen())
	default:
		return false
	}
	return true
}

// turn goes forward or back by pages, as far as there are some.
func (v *lessonView) turn(by int) {
	to := min(max(v.at+by, 0), max(len(v.scenes)-1, 0))
	if to != v.at || v.flip {
		v.at, v.flip = to, false
		v.show()
	}
}

func (v *lessonView) blinkNow() {
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
	sh, _ := now.Proof()
	sh.Original, sh.Wrong = false, false
	set := now.Setup(sh)
	set.Dimmed, set.CountWhite = false, false
	of := lessonOf{set: set, picture: now.Picture.Key, pins: now.Pins, n: now.NumPins, lead: max(now.Pin, 0), library: now.Library}
	if of == v.of {
		return
	}
	v.of = of
	v.make(now, of)
}

// message shows a sentence in place of the lesson.
func (v *lessonView) message(s string) {
	if v.say != s || v.lesson != nil {
		v.say, v.lesson, v.scenes = s, nil, nil
		v.show()
	}
}

// make has the lesson worked out away from the drawing goroutine.
func (v *lessonView) make(now session.State, of lessonOf) {
	if v.stop != nil {
		v.stop()
	}
	ctx, stop := context.WithCancel(v.ctx)
	v.stop = stop
	pic := v.h.Session.Store().Picture(now.Picture.Key)
	if pic == nil || len(pic.Levels) == 0 {
		v.message("The picture is no longer open.")
		return
	}
	v.levels = pic.Levels
	if v.lesson == nil {
		v.message("The lesson is being worked out …")
	}
	papers := v.h.Session.Store().Papers()
	post := func(f func()) {
		v.h.Session.Post(func() {
			if ctx.Err() == nil && v.of == of {
				f()
			}
		})
	}
	go func() {
		l, err := makeLesson(ctx, v.h.Session.Engine(), pic, now, of, papers, func(done float64) {
			post(func() {
				if v.lesson == nil {
					v.message(fmt.Sprintf("The lesson is being worked out … %s", words.Share(done)))
				}
			})
		})
		post(func() {
			if err != nil {
				v.message("This lesson can’t be given. " + session.Explain(err, now.Picture.Path).Headline)
				return
			}
			v.take(ctx, l)
		})
	}()
}

// makeLesson gathers the material and works the lesson out.
func makeLesson(ctx context.Context, engine session.Engine, pic *session.Picture, now session.State, of lessonOf,
	papers []session.Paper, progress func(float64)) (*lesson.Lesson, error) {
	plan, err := engine.Plan(pic, of.set)
	if err != nil {
		return nil, err
	}
	m := lesson.Material{Picture: strings.TrimSuffix(now.Picture.Name, filepath.Ext(now.Picture.Name)), Right: plan, Numbers: pic.Levels[0],
		Lead: of.lead, Dim: of.set.Dim, ScreenAssumed: now.Screen.Assumed, SourceAssumed: now.Picture.Assumed != ""}
	pins := append([]pin.Pin(nil), of.pins[:of.n]...)
	if len(pins) == 0 {
		// Nobody has marked anything: the picture's own telling colours do.
		if pins, err = engine.Propose(ctx, pic, nil); err != nil {
			return nil, err
		}
	}
	if len(pins) == 0 {
		pins = []pin.Pin{{Name: "middle", X: 0.5, Y: 0.5, Radius: 0.01}}
	}
	m.Pins = pins
	for _, p := range papers {
		if p.ID == of.set.Paper {
			m.Paper = p.Paper
		} else {
			m.Others = append(m.Others, p.Paper)
		}
	}
	if s, ok := space.ByID("srgb"); ok {
		m.Spaces = append(m.Spaces, proof.SpaceProfile(s)) // the usual guess first
	}
	for _, s := range space.All() {
		if s.ID != "srgb" {
			m.Spaces = append(m.Spaces, proof.SpaceProfile(s))
		}
	}
	return lesson.New(ctx, engine, m, progress)
}

// take shows a lesson from its beginning, or at the same step as the one before it.
func (v *lessonView) take(ctx context.Context, l *lesson.Lesson) {
	var was string
	var ph phase
	if v.lesson != nil && v.at < len(v.scenes) {
		s := v.lesson.Steps[v.scenes[v.at].step]
		was, ph = s.Title, v.scenes[v.at].phase
	}
	v.lesson, v.say, v.scenes, v.at, v.flip = l, "", nil, 0, false
	for i, s := range l.Steps {
		if s.Kind != lesson.Mistake {
			v.scenes = append(v.scenes, scene{i, phaseOnly})
			continue
		}
		v.scenes = append(v.scenes, scene{i, phaseRight}, scene{i, phaseWrong}, scene{i, phasePair})
	}
	for i, s := range v.scenes {
		if was != "" && l.Steps[s.step].Title == was && s.phase == ph {
			v.at = i
		}
	}
	v.looks.mu.Lock()
	v.looks.grids, v.looks.ground = map[string]*proof.Grid{}, map[string]color.RGBA{}
	v.looks.mu.Unlock()
	v.show()
	go v.sample(ctx, l)
}

// sample makes the grids of all pictures in the order of the lesson: first coarse
// ones, so that the next page is ready, then fine ones.
func (v *lessonView) sample(ctx context.Context, l *lesson.Lesson) {
	plans := []proof.Plan{lesson.OriginalOf(l.Right), l.Right}
	for _, s := range l.Mistakes() {
		plans = append(plans, s.Plan)
	}
	for _, q := range []proof.Quality{proof.Good, proof.Fine} {
		for _, p := range plans {
			g, err := v.engine.Grid(ctx, p, q)
			var ground color.RGBA
			if err == nil {
				ground, err = lesson.Ground(v.engine, p)
			}
			if ctx.Err() != nil {
				return
			}
			if err != nil {
				v.h.Session.Post(func() {
					if ctx.Err() == nil {
						v.tell("A picture can’t be shown. " + session.Explain(err, "").Headline)
					}
				})
				continue
			}
			key := p.Key()
			v.looks.mu.Lock()
			v.looks.grids[key], v.looks.ground[key] = g, ground
			v.looks.mu.Unlock()
			v.h.Session.Post(func() {
				if ctx.Err() == nil && v.shows(key) {
					v.picture.Again()
				}
			})
		}
	}
}

// shows tells whether a plan is on the page.
func (v *lessonView) shows(key string) bool {
	v.looks.mu.Lock()
	defer v.looks.mu.Unlock()
	for _, p := range v.looks.scene.plans {
		if p.Key() == key {
			return true
		}
	}
	return false
}

// show draws the page anew.
func (v *lessonView) show() {
	before := v.picture.Size()
	v.page.Refresh()
	if v.picture.Size() == before {
		v.picture.Again() // of another size it is painted anew of itself
	}
}

// step returns the step and view on the page.
func (v *lessonView) step() (lesson.Step, phase) {
	s := v.scenes[v.at]
	return v.lesson.Steps[s.step], s.phase
}

// compose says what the picture of the page shows.
func (v *lessonView) compose() pictureScene {
	s, ph := v.step()
	l := v.lesson
	original, right := lesson.OriginalOf(l.Right), l.Right
	wrong := "gone wrong: " + strings.ToLower(s.Title[:1]) + s.Title[1:]
	should := "as it should be: " + l.Paper
	sc := pictureScene{levels: v.levels, picture: v.of.picture}
	one := func(p proof.Plan, caption string) { sc.plans, sc.captions = []proof.Plan{p}, []string{caption} }
	switch {
	case s.Kind == lesson.Station && s.Original != v.flip:
		one(original, "the original")
	case s.Kind == lesson.Station:
		one(right, "proof: "+l.Paper)
	case ph == phasePair:
		sc.plans, sc.captions = []proof.Plan{right, s.Plan}, []string{should, wrong}
		if v.flip {
			sc.plans, sc.captions = []proof.Plan{s.Plan, right}, []string{wrong, should}
		}
	case (ph == phaseWrong) != v.flip:
		one(s.Plan, wrong)
	default:
		one(right, should)
	}
	return sc
}

// paint makes the picture for the exact device pixels that it has. Where a plan is
// not sampled yet a sentence stands in its place.
func (v *lessonView) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	k := &v.looks
	k.mu.Lock()
	sc := k.scene
	k.mu.Unlock()
	n := len(sc.plans)
	if n == 0 || len(sc.levels) == 0 {
		return img, nil
	}
	caption := int(float64(sc.size) * 1.7 * scale)
	gap := int(10 * scale)
	border := int(8 * scale)
	room := image.Pt((w-gap*(n+1))/n-2*border, h-caption-gap-2*border)
	if room.X < 16 || room.Y < 16 {
		return img, nil
	}
	key := [3]int{room.X, room.Y, sc.picture}
	k.mu.Lock()
	fit, at := k.fit, k.fitTo
	k.mu.Unlock()
	if at != key {
		var err error
		if fit, err = lesson.Fit(v.ctx, sc.levels, room.X, room.Y); err != nil {
			return nil, nil
		}
		k.mu.Lock()
		k.fit, k.fitTo = fit, key
		k.mu.Unlock()
	}
	var said []widget.Word
	for i, p := range sc.plans {
		left := gap + i*(room.X+2*border+gap)
		x := left + border + (room.X-fit.W)/2
		y := caption + border + (room.Y-fit.H)/2
		said = append(said, widget.Word{Text: sc.captions[i], X: float64(x - border), Y: float64(y-border) - float64(caption)/2,
			Size: sc.size, Bold: true, Ink: color.White})
		k.mu.Lock()
		g, ground := k.grids[p.Key()], k.ground[p.Key()]
		k.mu.Unlock()
		if g == nil {
			said = append(said, widget.Word{Text: "being computed …", X: float64(x + fit.W/2), Y: float64(y + fit.H/2), Align: fyne.TextAlignCenter,
				Size: sc.size, Ink: color.White})
			continue
		}
		sheet := image.Rect(x-border, y-border, x+fit.W+border, y+fit.H+border)
		draw.Draw(img, sheet, image.NewUniform(ground), image.Point{}, draw.Src)
		tight := make([]uint8, fit.W*fit.H*4)
		if g.Proof(v.ctx, tight, fit) != nil {
			return nil, nil
		}
		for row := range fit.H {
			copy(img.Pix[img.PixOffset(x, y+row):], tight[row*fit.W*4:(row+1)*fit.W*4])
		}
	}
	return img, said
}

// draw sets the page's type and places its picture.
func (v *lessonView) draw(size fyne.Size) []fyne.CanvasObject {
	t := &setter{}
	u := unit(size)
	if size.Width < 10 {
		return nil
	}
	if v.lesson == nil || len(v.scenes) == 0 {
		t.text(v.say, 0, u, size.Width*0.9, u*1.2, false, toolkittheme.ColorNameForeground, 6)
		v.off(true)
		return t.objs
	}
	v.off(false)
	s, ph := v.step()
	// The head: title, place in the lesson, number of the page.
	number := fmt.Sprintf("%d / %d", v.at+1, len(v.scenes))
	nw := fyne.MeasureText(number, u*0.75, fyne.TextStyle{}).Width
	t.right(number, size.Width-nw-2, u*0.4, nw+2, u*0.75, false, theme.ColorQuiet)
	title := s.Title
	tw := min(fyne.MeasureText(title, u*1.5, fyne.TextStyle{Bold: true}).Width+u, size.Width*0.62)
	t.text(title, 0, 0, tw, u*1.5, true, toolkittheme.ColorNameForeground, 1)
	t.text(s.Place, tw, u*0.55, size.Width-tw-nw-u, u*0.7, false, theme.ColorQuiet, 1)
	y := widget.LineHeight(u*1.5) + u*0.2
	v.looks.mu.Lock()
	v.looks.scene = pictureScene{}
	v.looks.mu.Unlock()
	var body []fyne.CanvasObject
	switch s.Kind {
	case lesson.Station:
		body = v.drawStation(t, s, u, y, size)
	case lesson.Mistake:
		body = v.drawMistake(t, s, ph, u, y, size)
	case lesson.Cannot:
		for _, line := range s.Lead {
			h := textHeight(line, size.Width*0.92, u, false, 3)
			if y+h > size.Height {
				break
			}
			y += t.text(line, 0, y, size.Width*0.92, u, false, toolkittheme.ColorNameForeground, 3) + u*0.6
		}
	case lesson.Summary:
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

func (v *lessonView) place(u, x, y, w, h float32) []fyne.CanvasObject {
	sc := v.compose()
	sc.size = max(u*0.7, 13)
	v.looks.mu.Lock()
	v.looks.scene = sc
	v.looks.mu.Unlock()
	// Whole units, so that a picture that is replaced by another does not move.
	whole := func(f float32) float32 { return float32(math.Floor(float64(f))) }
	set(v.picture, whole(x), whole(y), whole(w), whole(h))
	return []fyne.CanvasObject{v.picture}
}

func (v *lessonView) drawStation(t *setter, s lesson.Step, u, y float32, size fyne.Size) []fyne.CanvasObject {
	r := routeLine{s.Route.Stations, s.At, u}
	h := r.height(size.Width)
	r.set(t, 0, y, size.Width, h)
	y += h + u*0.6
	left := size.Width * 0.5
	out := v.place(u, 0, y, left, size.Height-y)
	x, w := left+u*0.9, size.Width-left-u*0.9
	bottom := size.Height - widget.LineHeight(u*0.68)*1.16*min(float32(len(s.Rows)), 4)
	for i, line := range append(append([]string(nil), s.Lead...), s.Notes...) {
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
		return r.Figures, lesson.Bytes(c), nil
	})
	return out
}

func (v *lessonView) drawMistake(t *setter, s lesson.Step, ph phase, u, y float32, size fyne.Size) []fyne.CanvasObject {
	// The route line has one height, right or wrong, so that the picture stays in its
	// place when it goes wrong.
	right := routeLine{v.lesson.Right.Route().Stations, -1, u}
	wrong := routeLine{s.Route.Stations, -1, u}
	h := max(right.height(size.Width), wrong.height(size.Width))
	shown := wrong
	if (ph == phaseRight) != v.flip && ph != phasePair {
		shown = right
	}
	shown.set(t, 0, y, size.Width, h)
	y += h + u*0.5
	if ph != phasePair {
		foot := widget.LineHeight(u*1.05) * 3
		out := v.place(u, 0, y, size.Width, size.Height-y-foot-u*0.3)
		say := s.Lead[0]
		if shown.stations[0] == right.stations[0] && len(shown.stations) == len(right.stations) && (ph == phaseRight) != v.flip {
			say = "So it should be. The next page shows ‘" + strings.ToLower(s.Title[:1]) + s.Title[1:] + "’"
			if s.Chosen != "" {
				say += ", " + s.Chosen
			}
			say += ": watch " + theColour(v.lesson.Pins[v.lesson.Lead]) + "."
		}
		t.text(say, 0, size.Height-foot, size.Width, u*1.05, true, toolkittheme.ColorNameForeground, 3)
		return out
	}
	pics := (size.Height - y) * 0.54
	out := v.place(u, 0, y, size.Width, pics)
	y += pics + u*0.5
	leftW := size.Width * 0.6
	t.pinLines(s.Rows, 0, y, leftW, size.Height-y, u*0.68, func(r lesson.Row) (string, color.Color, color.Color) {
		words := r.Change.Sentence()
		if !r.Change.Same() {
			words = fmt.Sprintf("ΔE00 %.0f:  %s", r.Change.DeltaE00, words)
		}
		return words, lesson.Bytes(r.Right.Screen), lesson.Bytes(r.Wrong.Screen)
	})
	x, w := leftW+u, size.Width-leftW-u
	for _, a := range [][2]string{{"How to recognise it on paper", s.Recognise}, {"How to prevent it", s.Prevent}} {
		y += t.text(a[0], x, y, w, u*0.72, true, toolkittheme.ColorNameForeground, 1)
		most := max(int((size.Height-y)/widget.LineHeight(u*0.72)), 1)
		y += t.text(a[1], x, y, w, u*0.72, false, toolkittheme.ColorNameForeground, min(most, 5)) + u*0.4
	}
	return out
}

// drawSummary sets the table of pins and mistakes.
func (v *lessonView) drawSummary(t *setter, s lesson.Step, u, y float32, size fyne.Size) {
	for _, line := range s.Lead {
		y += t.text(line, 0, y, size.Width, u*1.05, true, toolkittheme.ColorNameForeground, 2) + u*0.4
	}
	list := v.lesson.Mistakes()
	n := float32(len(list))
	ts := u * 0.7
	var name float32
	for _, p := range v.lesson.Pins {
		name = max(name, fyne.MeasureText(p, ts, fyne.TextStyle{Bold: true}).Width+u)
	}
	name = min(name, size.Width*0.2)
	w := (size.Width - name) / n
	var head float32
	for _, m := range list {
		head = max(head, textHeight(m.Title, w-u*0.5, ts, true, 3))
	}
	for i, m := range list {
		t.text(m.Title, name+float32(i)*w+u*0.25, y, w-u*0.5, ts, true, toolkittheme.ColorNameForeground, 3)
	}
	y += head + u*0.3
	const foot = 2.2
	step := min((size.Height-y-u*foot)/float32(max(len(v.lesson.Pins), 1)), widget.LineHeight(ts)*1.7)
	ts = min(ts, step*0.72)
	lh := widget.LineHeight(ts)
	for i, p := range v.lesson.Pins {
		if i%2 == 0 {
			t.box(0, y, size.Width, step, widget.Color(theme.ColorBench), color.Transparent, 0)
		}
		bold := i == v.lesson.Lead
		t.text(p, u*0.3, y+(step-lh)/2, name-u*0.4, ts, true, toolkittheme.ColorNameForeground, 1)
		for k, m := range list {
			c := m.Rows[i].Change
			x := name + float32(k)*w
			ink := toolkittheme.ColorNameForeground
			if c.Same() {
				ink = theme.ColorQuiet
			} else {
				t.patches(x+u*0.2, y+step*0.22, lh*0.9, step*0.56, lesson.Bytes(m.Rows[i].Right.Screen), lesson.Bytes(m.Rows[i].Wrong.Screen))
			}
			t.text(lesson.Cell(c), x+u*0.3+lh, y+(step-lh)/2, w-u*0.4-lh, ts, bold && c.Hue != words.Unnamed, ink, 1)
		}
		y += step
	}
	t.text("Degrees of CIELAB hue against the print as it should be; + goes from red over yellow to green, − the other way. "+
		"Where a colour has no hue worth naming, its cast or the change in chroma or lightness; – where nothing is seen (below 1 ΔE00). Patches: as it should be, gone wrong.",
		0, size.Height-u*foot+u*0.2, size.Width, u*0.6, false, theme.ColorQuiet, 2)
}

// theColour is a pin's name with its article, unless it is a proper name.
func theColour(name string) string {
	if name == "" {
		return "this colour"
	}
	if name[0] >= 'a' && name[0] <= 'z' {
		return "the " + name
	}
	return name
}

// askHandout asks where the handout is to be written.
func (v *lessonView) askHandout() {
	if v.lesson == nil || v.job != nil {
		return
	}
	stem := filepath.Join(homeFor(v.h.State().Picture.Path), fileSafe(v.lesson.Picture+" on "+v.lesson.Paper))
	pageSize := handout.A4
	var d *dialog.CustomDialog
	note := widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	sure := ""
	path := newField(stem, func(string) { sure = ""; note.SetText("") }, nil, func() { d.Hide() })
	size := widget.NewChoice([]string{"A4", "Letter"}, 0, nil)
	size.OnChosen = func(i int) { size.Set(i); pageSize = handout.Page(i) }
	go2 := func(what string, write func(stem string)) {
		s := strings.TrimSuffix(strings.TrimSpace(path.Text), ".pdf")
		if s == "" {
			note.SetText("Where to? Give a name.")
			return
		}
		if there := existing(v.lesson, s, what); there != "" && sure != what {
			sure = what
			note.SetText("‘" + there + "’ is there already. Once more replaces it.")
			return
		}
		d.Hide()
		write(s)
	}
	pdf := func() { go2("pdf", func(s string) { v.writePDF(s+".pdf", pageSize) }) }
	single := func() { go2("png", v.writePairs) }
	path.OnSubmitted = func(string) { pdf() }
	folder := widget.NewPress("Another folder…", func() {
		askFolder(v.h, filepath.Dir(path.Text), func(dir string) { path.SetText(filepath.Join(dir, filepath.Base(path.Text))) })
	})
	about := widget.NewProse(fmt.Sprintf("The PDF has a page for each of the %d mistakes. Single pictures: each pair as it should be and gone wrong as a PNG, "+
		"with the screen’s profile (%s) embedded, so that another screen shows them alike.", len(v.lesson.Mistakes()), v.lesson.Right.Screen.Name()),
		toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 4)
	label := widget.NewText("Folder and name, without ending", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	pageLabel := widget.NewText("Page", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	buttons := []fyne.CanvasObject{widget.NewPress("Leave it", func() { d.Hide() }), widget.NewPress("Write single pictures", single), widget.NewPress("Write the PDF", pdf)}
	body := container.New(freeLayout{fyne.NewSize(620, 210), func(s fyne.Size) {
		set(label, 0, 0, s.Width, 22)
		set(path, 0, 26, s.Width-160, 38)
		set(folder, s.Width-150, 28, 150, 34)
		set(pageLabel, 0, 78, 60, 22)
		set(size, 60, 72, 180, 32)
		set(about, 0, 116, s.Width, 56)
		set(note, 0, 176, s.Width, 44)
	}}, label, path, folder, pageLabel, size, about, note)
	d = dialog.NewCustomWithoutButtons("Handout", body, v.h.Window)
	d.SetButtons(buttons)
	s := v.h.Window.Canvas().Size()
	d.Resize(fyne.NewSize(min(s.Width-60, 760), 360))
	escape(v.h, d)
	d.Show()
	focusSoon(v.h, path)
}

// existing names the first file that a handout would replace, "" for none.
func existing(l *lesson.Lesson, stem, what string) string {
	names := []string{stem + ".pdf"}
	if what == "png" {
		names = nil
		for _, s := range l.Mistakes() {
			names = append(names, lesson.PairFile(stem, s))
		}
	}
	for _, n := range names {
		if _, err := os.Stat(n); err == nil {
			return filepath.Base(n)
		}
	}
	return ""
}

func (v *lessonView) writePDF(path string, size handout.Page) {
	l, levels, keep := v.lesson, v.levels, keepOriginal(v.h)
	v.write("The handout", func(ctx context.Context, progress func(float64)) (string, error) {
		err := lesson.WriteHandout(ctx, v.engine, l, levels, size, path, keep, progress)
		return fmt.Sprintf("The handout is written: %s, %s of %s.", path, count(len(l.Mistakes()), "page"), size), err
	}, path)
}

func (v *lessonView) writePairs(stem string) {
	l, levels, keep := v.lesson, v.levels, keepOriginal(v.h)
	v.write("The pictures", func(ctx context.Context, progress func(float64)) (string, error) {
		done, err := lesson.WritePairs(ctx, v.engine, l, levels, stem, keep, progress)
		said := fmt.Sprintf("%s written into %s.", count(len(done), "picture"), filepath.Dir(stem))
		if err != nil && len(done) > 0 {
			err = &partly{said, err}
		}
		return said, err
	}, stem)
}

// partly is a job that failed when some of its files were complete.
type partly struct {
	done string
	err  error
}

func (p *partly) Error() string { return p.err.Error() }
func (p *partly) Unwrap() error { return p.err }

// write runs a job that writes files, with its progress in the foot line.
func (v *lessonView) write(what string, job func(context.Context, func(float64)) (string, error), path string) {
	ctx, stop := context.WithCancel(v.ctx)
	v.job = stop
	v.halt.Show()
	v.hint.SetText(what + " is being made …")
	v.foot.Refresh()
	go func() {
		said, err := job(ctx, func(done float64) {
			v.h.Session.Post(func() {
				if v.job != nil && ctx.Err() == nil {
					v.hint.SetText(fmt.Sprintf("%s: %s done …", what, words.Share(done)))
				}
			})
		})
		v.h.Session.Post(func() {
			stop()
			if v.ctx.Err() != nil {
				return
			}
			v.job = nil
			v.halt.Hide()
			v.foot.Refresh()
			v.hint.SetText(outcome(said, err, path))
		})
	}()
}

// outcome is the sentence at the end of a job.
func outcome(said string, err error, path string) string {
	if err == nil {
		return said
	}
	before := ""
	var some *partly
	if errors.As(err, &some) {
		before = " " + some.done
	}
	if errors.Is(err, context.Canceled) {
		return "Stopped." + before
	}
	var hand *handout.Error
	if errors.As(err, &hand) {
		return "The handout can’t be made: " + hand.Err.Error() + "." + before
	}
	return session.Explain(err, path).Headline + before
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// keepOriginal names the file that nothing may be written over.
func keepOriginal(h *Host) []string {
	if p := h.State().Picture.Path; p != "" {
		return []string{p}
	}
	return nil
}

// homeFor is the folder that files are offered to be written into: beside the
// picture, or the person's own.
func homeFor(picture string) string {
	if picture != "" {
		return filepath.Dir(picture)
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "."
	}
	for _, d := range []string{"Documents", "Pictures"} {
		if info, err := os.Stat(filepath.Join(home, d)); err == nil && info.IsDir() {
			return filepath.Join(home, d)
		}
	}
	return home
}

// fileSafe makes a name that every file system takes.
func fileSafe(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '-'
		}
		return r
	}, s)
}

// askFolder asks for a folder.
func askFolder(h *Host, at string, use func(dir string)) {
	d := dialog.NewFolderOpen(func(f fyne.ListableURI, err error) {
		if err == nil && f != nil {
			use(f.Path())
		}
	}, h.Window)
	d.SetConfirmText("Into this folder")
	d.SetDismissText("Leave it")
	if l, err := storage.ListerForURI(storage.NewFileURI(at)); err == nil {
		d.SetLocation(l)
	}
	s := h.Window.Canvas().Size()
	d.Resize(fyne.NewSize(min(s.Width-40, 1000), min(s.Height-40, 700)))
	escape(h, d)
	d.Show()
}
