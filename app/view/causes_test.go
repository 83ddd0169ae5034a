package view

import (
	"context"
	"image"
	"image/color"
	"image/draw"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/cause"
	"firstsheet/proof/check"
	"firstsheet/proof/cie"
	"firstsheet/proof/lesson"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// investigation is the card on the real engine and the demo picture.
type investigation struct {
	*shop
	card *causesView
}

func investigate(t *testing.T) *investigation {
	t.Helper()
	s := openShopOn(t, engine.Regatta)
	s.w.h.Do(session.OpenPicture{Demo: true})
	s.until("the demo picture is open", func() bool { return s.w.h.State().NumPins > 0 })
	i := &investigation{shop: s}
	i.open()
	return i
}

// open opens the card by its key's command, as a person does, and keeps hold of it.
func (i *investigation) open() {
	i.t.Helper()
	i.w.h.Do(session.OpenCard{})
	// The frame builds a card of its own; the test holds one that stands in its place.
	i.card = newCauses(i.w.h)
	built := i.card.built()
	i.w.h.Do(session.OpenCard{ID: "causes"})
	i.w.card.built.Close()
	i.w.card.built = built
	i.w.card.box.Objects = []fyne.CanvasObject{built.Content}
	i.w.keys.card = built.Key
	built.Content.Resize(fyne.NewSize(984, 620))
	i.card.update(i.w.h.State())
	i.until("the pins are read", func() bool { return i.card.ready })
}

func (i *investigation) key(name fyne.KeyName, times int) {
	for range times {
		key(i.w, name)
	}
}

// answered waits for an answer to all that was told.
func (i *investigation) answered() {
	i.t.Helper()
	i.until("an answer", func() bool { return !i.card.finding.busy() && len(i.card.answer.answer.Causes) > 0 })
}

// wrong is the right route with a slip.
func (i *investigation) wrong(slip setup.Setup) setup.Setup { return i.card.of.set.With(slip) }

// look is what a set-up prints at the pins, relative to the paper's white.
func (i *investigation) look(set setup.Setup) []cie.Lab {
	i.t.Helper()
	values, err := i.e.Values(context.Background(), i.w.h.Session.Store().Picture(i.card.of.picture), set, i.card.pins())
	if err != nil {
		i.t.Fatal(err)
	}
	var out []cie.Lab
	for _, v := range values {
		out = append(out, v.Relative)
	}
	return out
}

// match turns the pin spoken of to a colour, as near as the keys come, with keys alone.
func (i *investigation) match(to cie.Lab) {
	from := i.card.at.pins[i.card.print.at].Lab.LCh()
	want := to.LCh()
	press := func(up, down fyne.KeyName, by float64) {
		n := int(math.Round(by))
		if n < 0 {
			up, n = down, -n
		}
		i.key(up, n)
	}
	i.key(fyne.KeyJ, 1)
	press(fyne.KeyUp, fyne.KeyDown, (want.L-from.L)/turnLightness)
	press(fyne.KeyEqual, fyne.KeyMinus, (want.C-from.C)/turnChroma)
	press(fyne.KeyRight, fyne.KeyLeft, cie.HueTurn(from.H, want.H)/turnHue)
}

// seen waits until the pins are read on the observed print, which lies on sheet 2: it is
// its own original.
func (i *investigation) seen() {
	i.t.Helper()
	i.until("the pins are read", func() bool {
		v := i.w.h.State().Values[1][1]
		return v.Known && v.DeltaE00 == 0
	})
}

// A print that was never converted, matched by eye with keys alone, and laid on the desk
// by a key.
func TestKeysAloneFindTheCause(t *testing.T) {
	i := investigate(t)
	if i.card.answer.say.Text != causesNothing {
		t.Errorf("before anything is told the card says %q", i.card.answer.say.Text)
	}
	for n, colour := range i.look(i.wrong(setup.Setup{Slips: "never"})) {
		if i.card.print.at != n {
			t.Fatalf("pin %d is spoken of, not %d", i.card.print.at, n)
		}
		i.match(colour)
		i.key(fyne.KeyN, 1)
	}
	i.answered()
	if first := i.card.answer.cause(); first.ID != "never" {
		t.Fatalf("found %q with %.2f: %s", first.ID, first.Probability, i.card.answer.say.Text)
	}
	if !says(i.card.content, "How to prevent it") || !says(i.card.content, "What to check next") {
		t.Error("the answer is not explained")
	}
	// P opens the lesson at its page on how to prevent just that; what was told is kept.
	i.key(fyne.KeyP, 1)
	if now := i.w.h.State(); now.Card != session.LessonCard || now.Lesson.Slip.Slips != "never" || now.Lesson.Page != lesson.PreventPage {
		t.Errorf("P opens %q on %+v", now.Card, now.Lesson)
	}
	i.open()
	i.answered()
	pins := i.card.pins()
	matched, _ := i.card.told.turned(pins[1])
	i.key(fyne.KeyS, 1)
	i.until("the desk is laid", func() bool { return i.w.h.State().Card == "" })
	now := i.w.h.State()
	if now.Count != 3 || !now.Sheets[0].IsProof() || now.Sheets[0].Wrong || !now.Sheets[2].Wrong || now.Setup(now.Sheets[2]).Slips != "never" {
		t.Errorf("on the desk lie %d sheets, %+v, %+v", now.Count, now.Sheets[0], now.Sheets[2])
	}
	// Between them lies the print as it was matched: a pin reads what its keys turned.
	i.seen()
	if d := cie.DeltaE00(i.w.h.State().Values[1][1].Relative, matched.Lab()); d > 0.5 {
		t.Errorf("pin %q is off by ΔE00 %.2f on the observed print", pins[1].Name, d)
	}
	if title := sheetTitle(i.w.h.Session.Store(), now.Sheets[1]); !strings.HasPrefix(title, "the print as matched by eye") {
		t.Errorf("it is called %q", title)
	}
	// What was told is there when the card is opened again.
	i.open()
	i.answered()
	if first := i.card.answer.cause(); first.ID != "never" {
		t.Errorf("opened again it finds %q", first.ID)
	}
}

// Words alone, ticked by the keys of who has no mouse: too dark all over, and no detail
// in the shadows, is a print without compensation or judged beside too bright a screen.
func TestWordsPointTheWay(t *testing.T) {
	i := investigate(t)
	i.key(fyne.Key2, 1)
	tick := func(text string) {
		t.Helper()
		done := false
		walk(i.card.content, func(o fyne.CanvasObject) {
			if b, ok := o.(*widget.Toggle); ok && b.Text == text && !done {
				done = true
				b.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
			}
		})
		if !done {
			t.Fatalf("nothing to tick is called %q", text)
		}
	}
	tick("as it should be") // of the first pin, which by eye was spoken of
	for i.card.print.at >= 0 {
		i.key(fyne.KeyN, 1)
	}
	tick("too light")
	tick("too dark")
	if n := i.card.told.counts(inWords, i.card.pins()); n != 2 {
		t.Errorf("of two words that contradict each other %d count", n)
	}
	tick("no shadow detail")
	i.key(fyne.KeyN, 1)
	right, _ := i.card.print.right()
	i.until("an answer", func() bool { return !i.card.finding.busy() })
	tick("orange rather than " + words.Name(right.Lab))
	i.answered()
	if n := i.card.told.counts(inWords, i.card.pins()); n != 3 { // the pin is orange, no longer right
		t.Errorf("%d words count", n)
	}
	if first := i.card.answer.cause(); first.ID == "none" {
		t.Errorf("a print too dark, without shadows and orange is called right: %s", i.card.answer.say.Text)
	}
}

func TestRefusalsAreSentences(t *testing.T) {
	i := investigate(t)
	refused := func(words string) {
		t.Helper()
		if !i.q.Until(func() bool { return says(i.card.content, words) }) {
			t.Errorf("it is not said that %s; the column says %q", words, i.card.printer.said.Text)
		}
	}
	i.key(fyne.KeyJ, 1)
	i.key(fyne.KeyN, 1)
	i.key(fyne.KeyJ, 1)
	refused("2 pins are too few")
	i.card.printer.readScan("../../testdata/cache/photos/flower.png")
	refused("no check sheet")
	file := func(name, text string) string {
		path := filepath.Join(i.dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	i.key(fyne.Key3, 1)
	m := i.card.print.panels[byMeasure].(*causeMeasured)
	m.take(file("nan.csv", "pin,c1,c2,c3,L,a,b\nshirt,200,30,40,NaN,0,0\n"))
	refused("is no number")
	m.take(file("few.csv", "pin,c1,c2,c3,L,a,b\nshirt,200,30,40,50,0,0\n"))
	i.until("it is read", func() bool { return len(i.card.told.file.spots) == 1 })
	m.take(filepath.Join(i.dir, "none.csv"))
	refused("is not there")
	i.key(fyne.Key4, 1)
	i.card.print.panels[byPhoto].(*causePhoto).take("../../testdata/cache/photos/coffee.png")
	refused("shows something else")
}

// photograph writes a photograph of a print by a set-up, lying on a dark table with a
// margin of bare paper, its picture's upper left corner at 80, 70.
func (i *investigation) photograph(set setup.Setup) (path string) {
	t := i.t
	t.Helper()
	pic := i.w.h.Session.Store().Picture(i.card.of.picture)
	look, err := i.e.Look(context.Background(), pic, set, proof.Good)
	if err != nil {
		t.Fatal(err)
	}
	// A level of some 600 pixels is enough of a photograph.
	level := pic.Levels[0]
	for _, l := range pic.Levels {
		if l.W >= 600 {
			level = l
		}
	}
	print := image.NewRGBA(image.Rect(0, 0, level.W, level.H))
	if err := layPixels(context.Background(), print, image.Point{}, look, level); err != nil {
		t.Fatal(err)
	}
	shot := image.NewRGBA(image.Rect(0, 0, level.W+160, level.H+160))
	draw.Draw(shot, shot.Rect, image.NewUniform(color.RGBA{60, 55, 50, 255}), image.Point{}, draw.Src)
	sheet := print.Rect.Inset(-30).Add(image.Pt(80, 70))
	draw.Draw(shot, sheet, image.NewUniform(color.RGBA{236, 236, 236, 255}), image.Point{}, draw.Src)
	for y := range level.H {
		for x := range level.W {
			c := print.RGBAAt(x, y) // a little underexposed, so that paper is not blown out
			dim := func(v uint8) uint8 { return uint8(float64(v) * 236 / 255) }
			shot.SetRGBA(80+x, 70+y, color.RGBA{dim(c.R), dim(c.G), dim(c.B), 255})
		}
	}
	path = filepath.Join(i.dir, "shot.png")
	writePNG(t, path, shot)
	return path
}

func TestAPhotoIsLaidOnThePicture(t *testing.T) {
	i := investigate(t)
	path := i.photograph(i.wrong(setup.Setup{Slips: "never"}))
	i.key(fyne.Key4, 1)
	f := i.card.print.panels[byPhoto].(*causePhoto)
	f.take(path)
	i.until("the photo lies on the picture", func() bool { return !f.reading.busy() && f.told().laid != nil })
	i.answered()
	if c := f.told().corners[0]; math.Hypot(c.X-80, c.Y-70) > 3 {
		t.Errorf("the upper left corner was found at %v", c)
	}
	if !slices.Contains(append(i.card.answer.answer.Tied, []string{i.card.answer.cause().ID})[0], "never") {
		t.Errorf("a photo of it finds %q, tied %v", i.card.answer.cause().ID, i.card.answer.answer.Tied)
	}
	// On the desk the photo shows the print's own colours where bare paper told the light.
	predicted := i.look(i.wrong(setup.Setup{Slips: "never"}))
	i.key(fyne.KeyS, 1)
	i.until("the desk is laid", func() bool { return i.w.h.State().Card == "" })
	i.seen()
	for n, c := range predicted {
		seen := i.w.h.State().Values[1][n].Relative
		// The print was drawn for a screen of 8 bits, and in sRGB: what that cannot hold is clipped.
		if d := cie.DeltaE00(seen, c); d > 6 {
			t.Errorf("pin %d is %v on the photo, the print %v: ΔE00 %.1f", n, seen, c, d)
		}
	}
	i.open()
	i.answered()
	i.key(fyne.Key4, 1)
	f = i.card.print.panels[byPhoto].(*causePhoto)
	// The keys move the marked corner, and B blinks.
	before := f.told().corners
	i.key(fyne.KeyN, 1)
	i.key(fyne.KeyRight, 2)
	if now := f.told().corners; now[0] != before[0] || now[1].X <= before[1].X {
		t.Errorf("the corners were %v and are %v", before, now)
	}
	i.key(fyne.KeyB, 1)
	one := i.card.answer.pair.view.Chosen
	i.key(fyne.KeyB, 1)
	if two := i.card.answer.pair.view.Chosen; one == two || two == sideBySide {
		t.Errorf("B shows %d and then %d", one, two)
	}
}

func TestTheCheckSheetIsWrittenAndRead(t *testing.T) {
	i := investigate(t)
	path := filepath.Join(i.dir, "sheet.png")
	c := newCheck(i.w.h)
	t.Cleanup(c.built().Close)
	c.writeFile(path)
	i.until("the sheet is written", func() bool { return !c.files.busy() })
	for _, p := range []string{path, check.TableFile(path)} {
		if _, err := os.Stat(p); err != nil {
			t.Errorf("%v; the card says %q", err, c.foot.Text)
		}
	}
	i.card.printer.readScan(path)
	i.until("it is read", func() bool { return !i.card.printer.reading.busy() })
	held := 0 // what lies at an end of the numbers is left out
	for _, p := range check.Patches(checkDrawn()) {
		if slices.Min(p.RGB[:]) > 0 && slices.Max(p.RGB[:]) < 1 {
			held++
		}
	}
	if n := len(i.card.told.file.spots); n != held || !i.card.told.asksOfSheet() {
		t.Errorf("%d patches were read, want %d: %s", n, held, i.card.printer.said.Text)
	}
	if _, _, no := checkFiles([]string{path})(path); no == "" {
		t.Error("the open picture may be written over")
	}
	if _, _, no := checkFiles(nil)("sheet.jpg"); no == "" {
		t.Error("a sheet may be a JPEG")
	}
}

// Where a further pin is advised G takes it: the places that can still be looked at are
// the pins that nobody has matched.
func TestTheNextPinIsTakenByAKey(t *testing.T) {
	i := investigate(t)
	for n, colour := range i.look(i.wrong(setup.Setup{Slips: "twice"}))[:4] {
		i.card.print.at = n
		i.match(colour)
	}
	i.answered()
	answer := i.card.answer.answer
	answer.Next = cause.Check{Kind: cause.ReadPlace, Place: 1, Text: "Read one more place."}
	i.card.answer.set(answer)
	i.key(fyne.Key2, 1)
	i.key(fyne.KeyG, 1)
	// Pins 0 to 3 are matched, so that the second place that is left is pin 5.
	if i.card.print.at != 5 || i.card.print.way != byEye {
		t.Errorf("G takes pin %d, by way %d", i.card.print.at, i.card.print.way)
	}
	more := i.card.told.more(i.card.pins(), i.card.at)
	if more[1].Name != i.card.pins()[5].Name {
		t.Errorf("the place asked about is %q, the pin taken %q", more[1].Name, i.card.pins()[5].Name)
	}
}

// A step that passed or failed weighs in the answer.
func TestOutcomesCount(t *testing.T) {
	i := investigate(t)
	i.card.printer.judge("nozzles", failed)
	i.answered()
	if first := i.card.answer.cause(); !strings.HasPrefix(first.ID, "clogged") {
		t.Errorf("after a bad nozzle pattern it finds %q", first.ID)
	}
	i.card.printer.judge("nozzles", notTried)
	i.until("the question is open again", func() bool { return i.card.answer.say.Text == causesNothing })
}

func TestASearchCanBeStopped(t *testing.T) {
	i := investigate(t)
	i.card.printer.judge("nozzles", passed)
	i.key(fyne.KeyF, 1)
	i.until("it has stopped", func() bool { return i.card.answer.say.Text == causesStopped })
	i.key(fyne.KeyF, 1)
	i.answered()
}

// A missing ink is laid on the desk as any other cause is: the route breaks at the ink.
func TestAMissingInkLiesOnTheDesk(t *testing.T) {
	i := investigate(t)
	i.card.printer.judge("nozzles", failed)
	i.answered()
	i.key(fyne.KeyS, 1)
	i.until("the desk is laid", func() bool { return i.w.h.State().Card == "" })
	now := i.w.h.State()
	if sh := now.Sheets[now.Active]; now.Count != 2 || !sh.Wrong || !strings.HasPrefix(sh.Mishap, "clogged-") {
		t.Fatalf("on the desk lie %d sheets, the active one %+v", now.Count, sh)
	}
	i.until("the route is found", func() bool {
		r := i.w.h.State().Results[1].Route
		return slices.ContainsFunc(r.Stations[:r.N], func(s session.Station) bool { return s.Kind == proof.InkStation && s.Fault == proof.NoInk })
	})
	if title := sheetTitle(i.w.h.Session.Store(), now.Sheets[1]); !strings.Contains(title, "ink") || !strings.Contains(title, "by its ink model") {
		t.Errorf("it is called %q", title)
	}
	i.until("a sentence", func() bool { return strings.Contains(i.w.h.State().Told().Text, "because") })
	// The switch makes it right, and wrong again.
	i.w.h.Do(session.SetWrong{})
	if set := i.w.h.State().Setup(i.w.h.State().Sheets[1]); set.Wrong() {
		t.Errorf("switched to right it is %+v", set)
	}
	i.w.h.Do(session.SetSlip{Slip: setup.Setup{Slips: "twice"}})
	if set := i.w.h.State().Setup(i.w.h.State().Sheets[1]); set.Mishap != "" || set.Slips != "twice" {
		t.Errorf("with another slip it is %+v", set)
	}
}

// How likely something is before looking is said on the card, counts, is told, outlives
// the card and is taken back.
func TestHowLikelyBeforeLooking(t *testing.T) {
	i := investigate(t)
	i.card.printer.judge("nozzles", passed)
	i.answered()
	share := func() float64 {
		for _, c := range i.card.answer.answer.Causes {
			if c.ID == "twice" {
				return c.Probability
			}
		}
		return 0
	}
	before := share()
	i.key(fyne.KeyL, 1)
	if !says(i.card.content, "What you know of this printer") {
		t.Error("L shows nothing")
	}
	at := slices.IndexFunc(i.card.answer.prior.rows, func(r priorRow) bool { return r.id == "twice" })
	i.card.answer.prior.rows[at].choice.OnChosen(3)
	i.answered()
	if after := share(); after < 2*before {
		t.Errorf("held for likely it has %.3f, before %.3f", after, before)
	}
	if text := i.card.answer.caution.Text; !strings.Contains(text, "‘converted twice’ for 4 times as likely") {
		t.Errorf("the answer rests on %q", text)
	}
	i.open()
	i.answered()
	if after := share(); after < 2*before {
		t.Errorf("opened again it has %.3f", after)
	}
	i.card.answer.prior.reset.OnPress()
	i.answered()
	if again := share(); math.Abs(again-before) > 1e-9 {
		t.Errorf("taken back it has %.3f, at first %.3f", again, before)
	}
}
