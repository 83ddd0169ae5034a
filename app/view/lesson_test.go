package view

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/lesson"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
	"firstsheet/proof/teststrip"
)

// real returns the window over the engine that computes, on a small ramp in ROMM RGB
// with two pins.
func real(t *testing.T) (*Window, *sessiontest.Queue) {
	t.Helper()
	a := test.NewTempApp(t)
	win := test.NewTempWindow(t, nil)
	q := sessiontest.NewQueue()
	lib := paper.Open(t.TempDir())
	works := engine.New(lib, func(context.Context) (*photo.Picture, []pin.Pin, error) {
		px := sessiontest.Ramp(120, 80)
		romm, _ := space.ByID("romm")
		return &photo.Picture{W: px.W, H: px.H, Channels: 3, Depth: 8, Pix8: px.P8, Space: &romm},
			[]pin.Pin{{Name: "shirt", X: 0.8, Y: 0.2, Radius: 0.01}, {Name: "leaf", X: 0.3, Y: 0.7, Radius: 0.01}}, nil
	})
	s := session.New(works, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	w := New(a, win, s)
	win.Resize(fyne.NewSize(1280, 800))
	s.Do(session.OpenPicture{Demo: true})
	if !q.Until(func() bool { return s.State().Picture.Key != 0 }) {
		t.Fatal("no picture")
	}
	return w, q
}

// texts are all words under an object that are in sight.
func texts(o fyne.CanvasObject) string {
	var out []string
	eachSeen(o, func(o fyne.CanvasObject) {
		if t, ok := o.(*canvas.Text); ok {
			out = append(out, t.Text)
		}
	})
	return strings.Join(out, "\n")
}

// lessonOn opens a lesson in the window and waits for it.
func lessonOn(t *testing.T, w *Window, q *sessiontest.Queue) *lessonView {
	t.Helper()
	v := newLesson(w.h)
	t.Cleanup(v.work.close)
	b := v.built()
	w.card.built = b
	b.Content.Resize(fyne.NewSize(1240, 700))
	b.Update(w.h.State())
	if !q.Until(func() bool { return v.lesson != nil }) {
		t.Fatalf("no lesson: %q", v.say)
	}
	return v
}

func press(v *lessonView, names ...fyne.KeyName) {
	for _, n := range names {
		v.typed(&fyne.KeyEvent{Name: n})
	}
}

// TestLesson goes through one lesson: making its pictures takes most of the time.
func TestLesson(t *testing.T) {
	w, q := real(t)
	v := lessonOn(t, w, q)
	t.Run("five pages", func(t *testing.T) { fivePages(t, v) })
	t.Run("right words at every size", func(t *testing.T) { nothingIsCut(t, v) })
	press(v, fyne.KeyL)
	t.Run("by key", func(t *testing.T) { byKey(t, v) })
	t.Run("wrong in place", func(t *testing.T) { wrongInPlace(t, v) })
	t.Run("picture is the engine's", func(t *testing.T) { pictureIsTheEngines(t, v, q) })
	t.Run("handout", func(t *testing.T) { handoutFromTheWindow(t, v, q) })
}

// fivePages goes through the short form by key and clicker.
func fivePages(t *testing.T, v *lessonView) {
	at := func(page, view int) {
		t.Helper()
		if v.five.page != page || v.five.view != view {
			t.Errorf("at page %d, view %d, want %d, %d", v.five.page, v.five.view, page, view)
		}
	}
	shows := func() setup.Setup { return v.pictures.now().sheets[0].set }
	step := v.lesson.Five.Step
	if !v.inFive() || v.foot.Visible() || !v.mark.Visible() {
		t.Fatal("the lesson does not begin with its five pages alone")
	}
	if shows() != v.lesson.Right.Original() {
		t.Error("it does not begin with the original")
	}
	press(v, fyne.KeyLeft)
	at(0, 0)
	place, size := v.picture.Position(), v.picture.Size()
	press(v, fyne.KeyPageDown)
	at(0, 1)
	if shows() != step.Setup || v.picture.Position() != place || v.picture.Size() != size {
		t.Error("the print does not go wrong in the original's place")
	}
	press(v, fyne.KeySpace)
	at(0, 0)
	press(v, fyne.KeyB)
	at(0, 1)
	press(v, fyne.KeyRight)
	at(1, 0)
	// Right above wrong, the fault by its shape and words.
	all := strings.ReplaceAll(texts(v.page), "\n", " ")
	for _, want := range []string{"As it should be", "Gone wrong", "Where the route broke", session.Typeset(step.Route.Stations[1].Title)} {
		if !strings.Contains(all, want) {
			t.Errorf("the routes lack %q", want)
		}
	}
	if strings.Contains(all, "in the file:") {
		t.Error("figures are told that nobody asked for")
	}
	press(v, fyne.KeyN)
	if all = strings.ReplaceAll(texts(v.page), "\n", " "); !strings.Contains(all, "in the file:") {
		t.Error("N shows no figures")
	}
	v.mark.OnSwitch()
	if v.five.figures {
		t.Error("the switch does not take the figures away")
	}
	press(v, fyne.KeyRight)
	first, second := v.pictures.now().sheets[0], v.pictures.now().sheets[1]
	press(v, fyne.KeySpace)
	if now := v.pictures.now().sheets; now[0] != second || now[1] != first {
		t.Error("a pair does not change sides")
	}
	press(v, fyne.KeyLeft, fyne.KeyLeft)
	at(0, 1)
	press(v, fyne.KeyEnd)
	at(4, 0)
	press(v, fyne.KeyRight)
	at(4, 0)
	press(v, fyne.KeyHome)
	at(0, 0)
	press(v, fyne.KeyRight, fyne.KeyRight, fyne.KeyL)
	if v.inFive() || !v.foot.Visible() || !strings.Contains(texts(v.page), "the right way, station 1") {
		t.Error("L does not go to the long form")
	}
	press(v, fyne.KeyL)
	at(1, 0)
	press(v, fyne.KeyHome)
}

// nothingIsCut looks at all pages for words that are shortened or lie outside.
func nothingIsCut(t *testing.T, v *lessonView) {
	whole := v.content.Size()
	for _, size := range []fyne.Size{{Width: 1024, Height: 700}, {Width: 1280, Height: 800}, {Width: 1600, Height: 1000}, {Width: 1920, Height: 1080}} {
		v.content.Resize(size)
		for page, p := range v.lesson.Five.Pages {
			for view := range p.Views {
				for _, figures := range []bool{false, true} {
					v.five = fiveAt{page, view, figures}
					v.show()
					for _, o := range test.WidgetRenderer(v.page).Objects() {
						w, ok := o.(*canvas.Text)
						if !ok {
							continue
						}
						end := w.Position().X + fyne.MeasureText(w.Text, w.TextSize, w.TextStyle).Width
						if w.Alignment == fyne.TextAlignTrailing {
							end = w.Position().X + w.Size().Width
						}
						if strings.HasSuffix(w.Text, "…") || end > size.Width || w.Position().Y+widget.LineHeight(w.TextSize) > size.Height+1 {
							t.Errorf("%v, page %d, figures %t: %q is cut", size, page+1, figures, w.Text)
						}
					}
					if h := v.picture.Size().Height; page == 0 && !figures && h < size.Height*0.6 {
						t.Errorf("%v: the picture is only %.0f high", size, h)
					}
				}
			}
		}
	}
	v.five = fiveAt{}
	v.content.Resize(whole)
	v.show()
}

// Another picture comes on the last page, with the mistake of the one before.
func TestLessonOnAPictureOfOnesOwn(t *testing.T) {
	w, q := real(t)
	v := lessonOn(t, w, q)
	was := v.lesson.Five.Step
	romm, _ := space.ByID("romm")
	px := sessiontest.Ramp(90, 120)
	path := filepath.Join(t.TempDir(), "own.png")
	if err := photo.Write(t.Context(), path, &photo.Picture{W: px.W, H: px.H, Channels: 3, Depth: 8, Pix8: px.P8, ICC: romm.ICC()}, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	first := v.of.picture
	w.h.Do(session.OpenPicture{Path: path})
	if !q.Until(func() bool {
		v.update(w.h.State())
		return v.of.picture != first && v.lesson != nil
	}) {
		t.Fatalf("no lesson: %q", v.say)
	}
	f := v.lesson.Five
	if v.five.page != 4 || !f.Kept || f.Step.Setup.Slips != was.Setup.Slips || v.pictures.now().sheets[0].set != v.lesson.Right.Original() {
		t.Errorf("at page %d, kept %t: %s after %s", v.five.page, f.Kept, f.Step.ID, was.ID)
	}
	if v.pictures.now().sheets[0].look == nil {
		t.Error("a colour that has no name is not shown on the picture")
	}
	press(v, fyne.KeyRight)
	if v.pictures.now().sheets[0].set != f.Step.Setup {
		t.Error("it does not go wrong")
	}
}

// The lesson has the screen to itself, and the window comes back as it was, however the
// lesson is closed.
func TestLessonHasTheScreenToItself(t *testing.T) {
	w, q := open(t, fyne.NewSize(1024, 700))
	menu := w.win.MainMenu()
	as := func(full bool) bool { return w.win.FullScreen() == full && (w.win.MainMenu() == nil) == full }
	steps := func() {
		for q.Step() {
		}
	}
	w.h.Do(session.OpenCard{ID: "lesson"})
	if !as(false) {
		t.Error("the menu goes while it is still in use")
	}
	if steps(); !as(true) {
		t.Error("the lesson does not have the screen to itself")
	}
	if size := w.win.Content().Size(); w.card.box.Size() != size || w.card.built.Content.Size() != size {
		t.Errorf("of %v the lesson has %v", size, w.card.built.Content.Size())
	}
	w.h.Do(session.SetLight{On: true}) // everything is built anew
	if steps(); !as(true) || w.h.State().Card != "lesson" {
		t.Error("it is gone with the surroundings")
	}
	key(w, fyne.KeyEscape)
	if steps(); !as(false) || w.win.MainMenu() != menu {
		t.Error("Escape does not bring the window back")
	}
	// Closed before it began.
	w.h.Do(session.OpenCard{ID: "lesson"})
	w.h.Do(session.OpenCard{})
	if steps(); !as(false) {
		t.Error("a lesson that was closed at once takes the screen")
	}
	// A window that fills the screen already goes on doing so.
	w.win.SetFullScreen(true)
	w.h.Do(session.OpenCard{ID: "lesson"})
	steps()
	w.h.Do(session.OpenCard{ID: "help"})
	if steps(); !w.win.FullScreen() || w.win.MainMenu() != menu {
		t.Error("another card does not bring the window back")
	}
	w.win.SetFullScreen(false)
	// While the window is closing nothing of it is touched.
	w.h.Do(session.OpenCard{ID: "lesson"})
	steps()
	w.Close()
	if !as(true) {
		t.Error("a window that closes is changed")
	}
}

func byKey(t *testing.T, v *lessonView) {
	at := func(want int) {
		t.Helper()
		if v.at != want {
			t.Errorf("at page %d, want %d", v.at, want)
		}
	}
	// Stations, three pages a mistake, the table.
	mistakes := len(v.lesson.Mistakes())
	if want := 5 + 3*mistakes + 1; len(v.scenes) < want || mistakes < 6 {
		t.Fatalf("%d pages for %d mistakes", len(v.scenes), mistakes)
	}
	press(v, fyne.KeyLeft)
	at(0)
	press(v, fyne.KeyRight, fyne.KeyPageDown, fyne.KeyDown, fyne.KeyReturn)
	at(4)
	press(v, fyne.KeyPageUp, fyne.KeyLeft, fyne.KeyBackspace)
	at(1)
	press(v, fyne.KeyEnd)
	at(len(v.scenes) - 1)
	press(v, fyne.KeyRight)
	at(len(v.scenes) - 1)
	press(v, fyne.KeyHome)
	at(0)
	if v.typed(&fyne.KeyEvent{Name: fyne.KeyQ}) {
		t.Error("a key that is not the lesson's was taken")
	}
}

func wrongInPlace(t *testing.T, v *lessonView) {
	press(v, fyne.KeyHome, fyne.KeyRight, fyne.KeyRight, fyne.KeyRight, fyne.KeyRight, fyne.KeyRight)
	s, ph := v.step()
	if s.Kind != lesson.Mistake || ph != phaseRight {
		t.Fatalf("page 6 is %v %v", s.Title, ph)
	}
	shown := func() setup.Setup { return v.pictures.now().sheets[0].set }
	place, size := v.picture.Position(), v.picture.Size()
	if shown() != v.lesson.Right || !strings.Contains(texts(v.page), "So it should be") {
		t.Errorf("the mistake does not begin with the right print:\n%s", texts(v.page))
	}
	press(v, fyne.KeyRight)
	if shown() != s.Setup || v.picture.Position() != place || v.picture.Size() != size {
		t.Error("the print does not go wrong in its place")
	}
	all := texts(v.page)
	for _, station := range s.Route.Stations {
		if station.Why != "" && !strings.Contains(strings.ReplaceAll(all, "\n", " "), strings.Fields(station.Why)[0]) {
			t.Errorf("the route does not say %q:\n%s", station.Why, all)
		}
	}
	press(v, fyne.KeyB)
	if shown() != v.lesson.Right {
		t.Error("B does not bring the right print back")
	}
	press(v, fyne.KeyPeriod)
	if shown() != s.Setup {
		t.Error("a clicker's full stop does not blink")
	}
	press(v, fyne.KeyRight)
	if n := len(v.pictures.now().sheets); n != 2 {
		t.Errorf("%d pictures side by side", n)
	}
	all = strings.ReplaceAll(texts(v.page), "\n", " ")
	for _, want := range []string{"How to recognise it on paper", "How to prevent it", "shirt", "leaf", strings.Fields(s.Prevent)[0]} {
		if !strings.Contains(all, want) {
			t.Errorf("the pair's page lacks %q", want)
		}
	}
	press(v, fyne.KeyEnd)
	if all := texts(v.page); !strings.Contains(all, "Converted twice") || !strings.Contains(all, "leaf") {
		t.Errorf("the table:\n%s", all)
	}
}

// The painted picture is, to the byte, what the grid of the shown set-up's plan makes of
// the picture at that size.
func pictureIsTheEngines(t *testing.T, v *lessonView, q *sessiontest.Queue) {
	press(v, fyne.KeyHome, fyne.KeyRight, fyne.KeyRight, fyne.KeyRight) // ink on paper: the proof
	right := v.lesson.Right
	if !q.Until(func() bool { return v.looks.has(right, proof.Fine) }) {
		t.Fatal("no look")
	}
	img, words := v.pictures.paint(500, 400, 1)
	if len(words) != 1 || !strings.HasPrefix(words[0].Text, "proof") {
		t.Fatalf("words %v", words)
	}
	fit := v.pictures.fit[0]
	g, err := v.h.Session.Engine().Grid(context.Background(), v.lesson.Plan, proof.Fine)
	if err != nil {
		t.Fatal(err)
	}
	want := make([]uint8, fit.W*fit.H*4)
	if err := g.Proof(context.Background(), want, fit); err != nil {
		t.Fatal(err)
	}
	caption := int(float64(v.pictures.now().size) * 1.7)
	x := 10 + 8 + (500-20-16-fit.W)/2
	y := caption + 8 + (400-caption-10-16-fit.H)/2
	for row := range fit.H {
		got := img.Pix[img.PixOffset(x, y+row):][:fit.W*4]
		for i := range got {
			if got[i] != want[row*fit.W*4+i] {
				t.Fatalf("row %d byte %d: %d, want %d", row, i, got[i], want[row*fit.W*4+i])
			}
		}
	}
}

func TestALessonThatCannotBeGivenSaysWhy(t *testing.T) {
	w, q := open(t, fyne.NewSize(1024, 700))
	v := newLesson(w.h)
	defer v.work.close()
	b := v.built()
	b.Content.Resize(fyne.NewSize(984, 600))
	b.Update(w.h.State())
	if !q.Until(func() bool { return strings.Contains(texts(v.page), "can’t be given. This engine computes nothing") }) {
		t.Errorf("said %q", texts(v.page))
	}
	press(v, fyne.KeyRight, fyne.KeyB, fyne.KeyP, fyne.KeyEnd) // nothing breaks
}

func handoutFromTheWindow(t *testing.T, v *lessonView, q *sessiontest.Queue) {
	steps := v.lesson.Steps[:0:0]
	for _, s := range v.lesson.Steps {
		if s.Kind != lesson.Mistake || len(steps) < 6 {
			steps = append(steps, s)
		}
	}
	v.lesson.Steps = steps // one mistake: a fine grid takes its time
	path := filepath.Join(t.TempDir(), "lesson.pdf")
	v.writePDF(path, 0)
	if !q.Until(func() bool { return !v.files.busy() }) {
		t.Fatal("the handout is not finished")
	}
	if data, err := os.ReadFile(path); err != nil || !strings.HasPrefix(string(data), "%PDF") {
		t.Fatalf("%v; said %q", err, v.hint.Text)
	}
	if !strings.Contains(v.hint.Text, "1 page") {
		t.Errorf("said %q", v.hint.Text)
	}
	v.writePDF(filepath.Join(t.TempDir(), "none", "lesson.pdf"), 0)
	if !q.Until(func() bool { return !v.files.busy() }) || !strings.Contains(v.hint.Text, "could not be written: its folder is not there") {
		t.Errorf("into no folder: said %q", v.hint.Text)
	}
	v.writePDF(path, 0)
	v.files.halt.OnPress()
	if !q.Until(func() bool { return !v.files.busy() }) || !strings.HasPrefix(v.hint.Text, "Stopped") && !strings.Contains(v.hint.Text, "written") {
		t.Errorf("stopped: said %q", v.hint.Text)
	}
}

func testStripOn(t *testing.T, w *Window) *testStripView {
	t.Helper()
	v := newTestStrip(w.h)
	t.Cleanup(v.work.close)
	b := v.built()
	b.Content.Resize(fyne.NewSize(1240, 700))
	b.Update(w.h.State())
	return v
}

func TestCardOfTheTestStrip(t *testing.T) {
	w, q := real(t)
	v := testStripOn(t, w)
	laid := func() bool { return !v.gathering.busy() }
	if !q.Until(laid) || v.layout == nil || len(v.pieces) != 4 { // two pins by two intents
		t.Fatalf("%d pieces; said %q", len(v.pieces), v.say.Text)
	}
	if !strings.Contains(v.say.Text, "4 pieces") || !strings.Contains(v.caution.Text, "conversion off") {
		t.Errorf("said %q and %q", v.say.Text, v.caution.Text)
	}
	v.form.slips[2].OnChange(true)
	if v.form.mistakes[2].ID != "twice" || len(v.pieces) != 8 {
		t.Errorf("with %s there are %d pieces", v.form.mistakes[2].ID, len(v.pieces))
	}
	v.form.fields["sheeth"].SetText("20")
	if v.layout != nil || !strings.Contains(v.say.Text, "pieces fit") || !v.write.Off {
		t.Errorf("a low offcut: said %q", v.say.Text)
	}
	v.form.fields["sheeth"].SetText("half")
	if !strings.Contains(v.say.Text, "is no size") {
		t.Errorf("no number: said %q", v.say.Text)
	}
	v.form.fields["sheeth"].SetText("120,5")
	if v.layout == nil {
		t.Errorf("a comma in a number: said %q", v.say.Text)
	}
	before := v.paper
	v.typed(&fyne.KeyEvent{Name: fyne.KeyA})
	if !q.Until(laid) || v.paper == before || v.order.Paper.Name() == "Pearl" {
		t.Errorf("A leaves the paper at %s", v.paper)
	}
	path := filepath.Join(t.TempDir(), "s.png")
	v.writeFile(path)
	if !q.Until(func() bool { return !v.files.busy() }) {
		t.Fatal("the strip is not finished")
	}
	if _, err := photo.Open(context.Background(), path); err != nil {
		t.Errorf("%v; said %q", err, v.foot.Text)
	}
	if _, err := os.Stat(teststrip.TextFile(path)); err != nil {
		t.Error(err)
	}
	if !strings.Contains(v.foot.Text, "how to print it") {
		t.Errorf("said %q", v.foot.Text)
	}
}

// Opened on a slip the lesson stands at the page that was asked for, on that slip made in
// that way, and its last page asks for a picture of one's own as ever.
func TestTheLessonOpensOnASlip(t *testing.T) {
	w, q := real(t)
	// Neither the slip nor the space is what shows most on this picture.
	on := setup.Setup{Slips: "wrongsource", Reads: "displayp3"}
	w.h.Do(session.OpenLesson{On: session.LessonOn{Slip: on, Page: lesson.PreventPage}})
	v := newLesson(w.h)
	built := v.built()
	t.Cleanup(built.Close)
	v.update(w.h.State())
	if !q.Until(func() bool { return v.lesson != nil }) {
		t.Fatal("no lesson")
	}
	if p, _ := v.fivePage(); v.five.page != lesson.PreventPage || p.Title != "How to prevent it" {
		t.Errorf("it stands at page %d, %q", v.five.page+1, p.Title)
	}
	if s := v.lesson.Five.Step; s.ID != "wrongsource" || s.Setup.Reads != "displayp3" {
		t.Errorf("it is about %s, read as %q", s.ID, s.Setup.Reads)
	}
	if own := v.lesson.Five.Pages[lesson.OwnPage]; !own.Asks || own.InTurn {
		t.Errorf("its last page does not ask for a picture: %+v", own)
	}
	w.h.Do(session.OpenCard{})
	w.h.Do(session.OpenCard{ID: session.LessonCard})
	if w.h.State().Lesson != (session.LessonOn{}) {
		t.Error("opened by its key it is still about that slip")
	}
}

// In a low window the page of the routes keeps its pictures: the type gives way, however
// long the route.
func TestRoutesLeaveRoomForPictures(t *testing.T) {
	w, q := real(t)
	w.h.Do(session.OpenLesson{On: session.LessonOn{Slip: setup.Setup{Slips: "twice"}, Page: lesson.BrokenPage}})
	v := newLesson(w.h)
	built := v.built()
	t.Cleanup(built.Close)
	v.update(w.h.State())
	if !q.Until(func() bool { return v.lesson != nil }) {
		t.Fatal("no lesson")
	}
	for _, size := range []fyne.Size{{Width: 1024, Height: 390}, {Width: 1024, Height: 700}} {
		built.Content.Resize(size)
		v.arrange()
		p, _ := v.fivePage()
		if len(p.Routes) != 2 || len(p.Routes[1].Route.Stations) < 5 {
			t.Fatalf("the page shows %d routes", len(p.Routes))
		}
		if at, h := v.picture.Position(), v.picture.Size().Height; !v.picture.Visible() || h < 75 || at.Y+h > size.Height {
			t.Errorf("at %v the pictures have %g units from %g on", size, h, at.Y)
		}
	}
}
