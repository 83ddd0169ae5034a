package view

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/paper"
)

// hands press keys as the toolkit's desktop driver hands them on: a held key to what has
// the keyboard, Tab to the next stop, shortcuts to the menus first, then to a text field,
// then to the window, and all else to what has the keyboard or to the window.
type hands struct {
	t *testing.T
	w *Window
	q *sessiontest.Queue
}

func (k hands) canvas() fyne.Canvas { return k.w.win.Canvas() }

// drain runs what is waiting for the drawing goroutine.
func (k hands) drain() {
	for k.q.Step() {
	}
}

// until waits for something, and fails where it never comes.
func (k hands) until(what string, done func() bool) {
	k.t.Helper()
	end := time.Now().Add(20 * time.Second)
	if !k.q.Until(func() bool { return done() || time.Now().After(end) }) || !done() {
		println(texts(k.canvas().Overlays().Top()))
		k.t.Fatalf("it never came to %s", what)
	}
}

// press presses keys one after another: "Return", "a", "Ctrl+o", "Alt+l", "Shift+Tab".
func (k hands) press(keys ...string) {
	for _, key := range keys {
		mod, name := fyne.KeyModifier(0), key
		if head, tail, is := strings.Cut(key, "+"); is && tail != "" {
			mod = map[string]fyne.KeyModifier{"Ctrl": fyne.KeyModifierShortcutDefault, "Alt": fyne.KeyModifierAlt, "Shift": fyne.KeyModifierShift}[head]
			name = tail
		}
		k.stroke(name, mod)
		k.drain()
	}
}

// write types a text.
func (k hands) write(text string) {
	for _, r := range text {
		if f := k.canvas().Focused(); f != nil {
			f.TypedRune(r)
		}
	}
	k.drain()
}

func (k hands) stroke(name string, mod fyne.KeyModifier) {
	one := utf8.RuneCountInString(name) == 1
	e := &fyne.KeyEvent{Name: fyne.KeyName(name)}
	if one {
		e.Name = fyne.KeyName(strings.ToUpper(name))
	}
	c, focused := k.canvas(), k.canvas().Focused()
	if mod != 0 && mod != fyne.KeyModifierShift {
		held := &fyne.KeyEvent{Name: desktop.KeyControlLeft}
		k.w.keys.pressed(held)
		defer k.w.keys.released(held)
	}
	if f, ok := focused.(desktop.Keyable); ok {
		f.KeyDown(e)
	} else if focused == nil {
		k.w.keys.pressed(e) // the test's canvas knows no held keys
	}
	switch {
	case e.Name == fyne.KeyTab && mod == fyne.KeyModifierShift:
		c.FocusPrevious()
	case e.Name == fyne.KeyTab:
		c.FocusNext()
	case mod != 0 && mod != fyne.KeyModifierShift:
		k.shortcut(driverShortcut(e.Name, mod))
	default:
		if focused != nil {
			focused.TypedKey(e)
		} else {
			c.OnTypedKey()(e)
		}
		if f := c.Focused(); one && f != nil && f == focused {
			f.TypedRune([]rune(name)[0])
		}
	}
	if f, ok := c.Focused().(desktop.Keyable); ok {
		f.KeyUp(e)
	} else if c.Focused() == nil {
		k.w.keys.released(e)
	}
}

// driverShortcut is what the desktop driver makes of a key with Ctrl, Alt or Super: some have
// names of their own.
func driverShortcut(name fyne.KeyName, mod fyne.KeyModifier) fyne.Shortcut {
	if mod == fyne.KeyModifierShortcutDefault {
		switch name {
		case fyne.KeyZ:
			return &fyne.ShortcutUndo{}
		case fyne.KeyY:
			return &fyne.ShortcutRedo{}
		case fyne.KeyV:
			return &fyne.ShortcutPaste{Clipboard: fyne.CurrentApp().Clipboard()}
		case fyne.KeyC, fyne.KeyInsert:
			return &fyne.ShortcutCopy{Clipboard: fyne.CurrentApp().Clipboard()}
		case fyne.KeyX:
			return &fyne.ShortcutCut{Clipboard: fyne.CurrentApp().Clipboard()}
		case fyne.KeyA:
			return &fyne.ShortcutSelectAll{}
		}
	}
	return &desktop.CustomShortcut{KeyName: name, Modifier: mod}
}

func (k hands) shortcut(s fyne.Shortcut) {
	var menus []*fyne.Menu
	if m := k.w.win.MainMenu(); m != nil {
		menus = m.Items
	}
	for _, m := range menus {
		for _, it := range m.Items {
			if it.Shortcut != nil && it.Shortcut.ShortcutName() == s.ShortcutName() && it.Action != nil {
				it.Action()
				return
			}
		}
	}
	if f, ok := k.canvas().Focused().(fyne.Shortcutable); ok {
		f.TypedShortcut(s)
		return
	}
	k.canvas().(fyne.Shortcutable).TypedShortcut(s)
}

// Every key with Ctrl that the menus tell does its work as the driver hands it on, also
// while only the sheets are shown and there is no menu bar.
func TestKeysWithCtrl(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	k := hands{t, w, q}
	state := w.h.State
	for _, bare := range []bool{false, true} {
		w.h.Do(session.SetBare{On: bare})
		settle(t, w, q)
		if had := w.win.MainMenu() != nil; had == bare {
			t.Fatalf("only the sheets: %v, and a menu bar: %v", bare, had)
		}
		k.press("Ctrl+2")
		if d := state().Desk; d != session.Desks()[1].ID {
			t.Errorf("only the sheets %v: Ctrl 2 lays %q", bare, d)
		}
		intent := state().Sheets[state().Active].Intent
		k.press("i")
		if state().Sheets[state().Active].Intent == intent {
			t.Fatal("I does nothing")
		}
		k.press("Ctrl+z")
		if state().Sheets[state().Active].Intent != intent {
			t.Errorf("only the sheets %v: Ctrl Z takes nothing back", bare)
		}
		k.press("Ctrl+y")
		if state().Sheets[state().Active].Intent == intent {
			t.Errorf("only the sheets %v: Ctrl Y makes nothing again", bare)
		}
		k.press("Ctrl+1")
	}
}

// What is told at the foot of the window is what the thing under the mouse says now.
func TestTheHintFollows(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	told := func() string { return w.parts.hint.text.Text }
	legend, at := w.parts.desk.legends[1], &desktop.MouseEvent{}
	legend.MouseIn(at)
	before := told()
	if !strings.Contains(before, "relative") {
		t.Fatalf("the legend under the mouse tells %q", before)
	}
	key(w, "I")
	settle(t, w, q)
	if now := told(); now == before || !strings.Contains(now, "saturation") {
		t.Errorf("with another intent the legend still tells %q", now)
	}
	legend.MouseOut()

	w.parts.sentence.MouseIn(at)
	before = told()
	key(w, "A")
	settle(t, w, q)
	if now := w.h.State().Told().Text; now == before || told() == before {
		t.Errorf("the sentence was %q and is %q, at the foot stands %q", before, now, told())
	}
	w.parts.sentence.MouseOut()

	legend.MouseIn(at)
	key(w, fyne.KeyDelete)
	settle(t, w, q)
	if now := told(); now != standing {
		t.Errorf("of a sheet that was taken away it tells %q", now)
	}
	legend.MouseOut()
	if got := legendHint("proof on Pearl", "still counting …"); !strings.HasPrefix(got, "proof on Pearl. still counting … Drag") {
		t.Error(got)
	}
}

// touch writes files of no content into a new folder.
func touch(t *testing.T, names ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, n := range names {
		path := filepath.Join(dir, n)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// A file is opened, and a paper added, by the keyboard alone: by a path that is typed or
// pasted, and by going through the list.
func TestFilesAreChosenByKeysAlone(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	k := hands{t, w, q}
	pictures := touch(t, "beach.jpg", "boat.tif", "notes.txt", "more/oar.png", ".hidden.jpg")
	profiles := touch(t, "good.icc", "readme.md")
	over := func() bool { return w.h.covered() }

	k.press("Ctrl+o")
	if !over() {
		t.Fatal("Ctrl O opens nothing")
	}
	k.until("the field having the keyboard", func() bool { _, ok := k.canvas().Focused().(*field); return ok })
	// Whatever else is asked for waits: one dialog lies there at a time.
	k.press("Ctrl+o", "Ctrl+n", "Ctrl+p")
	if n := len(k.canvas().Overlays().List()); n != 1 || w.h.State().Card != "" {
		t.Errorf("%d dialogs lie on each other, and the card %q is open beneath", n, w.h.State().Card)
	}
	// A pasted path, in quotes as file managers copy it, is taken by Return.
	fyne.CurrentApp().Clipboard().SetContent("'" + filepath.Join(pictures, "boat.tif") + "'")
	k.press("Ctrl+v", "Return")
	k.until("the picture", func() bool { return w.h.State().Picture.Path == filepath.Join(pictures, "boat.tif") })
	if over() {
		t.Error("the dialog stays open")
	}
	settle(t, w, q)

	// The folder of the picture comes next: its own kind of files alone, folders first.
	k.press("Ctrl+o")
	k.until("the list", func() bool { return listed(k, pictures) })
	k.press("Down", "Down")
	if text := fieldText(k); text != filepath.Join(pictures, "beach.jpg") {
		t.Errorf("two steps down the list stand on %q", text)
	}
	k.press("Up", "Return")
	k.until("the folder in it", func() bool { return listed(k, filepath.Join(pictures, "more")) })
	k.press("BackSpace")
	k.until("the folder above", func() bool { return listed(k, pictures) })
	if text := fieldText(k); text != filepath.Join(pictures, "more") {
		t.Errorf("the folder that was come from is not stood on, but %q", text)
	}
	// Escape closes it wherever the keyboard is.
	for n := range 4 {
		k.press("Escape")
		if over() {
			t.Fatalf("Escape does not close the dialog at its stop %d", n)
		}
		k.press("Ctrl+o")
		k.until("the field having the keyboard", func() bool { _, ok := k.canvas().Focused().(*field); return ok })
		for range n + 1 {
			k.press("Tab")
		}
	}
	k.press("Escape")

	// A paper: Return on the button takes what the list stands on.
	k.press("Ctrl+n")
	k.until("the field having the keyboard", func() bool { _, ok := k.canvas().Focused().(*field); return ok })
	k.write(profiles) // in place of what is marked
	k.press("Return")
	k.until("the folder", func() bool { return listed(k, profiles) })
	k.press("Down", "Tab", "Tab", "Return")
	k.until("the paper", func() bool { return w.h.State().Sheets[1].Paper == "gloss" })
	if over() {
		t.Error("Return on the button leaves the dialog open")
	}
	// Each kind has its folder, from one start to the next too.
	if got := profileFiles.folder(); got != profiles {
		t.Errorf("profiles are next looked for in %q, want %q", got, profiles)
	}
	if got := pictureFiles.folder(); got != pictures {
		t.Errorf("pictures are next looked for in %q, want %q", got, pictures)
	}
}

// fieldText is what stands in the open dialog's path field.
func fieldText(k hands) string {
	top := k.canvas().Overlays().Top()
	if top == nil {
		return ""
	}
	text := ""
	eachSeen(top, func(o fyne.CanvasObject) {
		if f, ok := o.(*field); ok {
			text = f.Text
		}
	})
	return text
}

// listed tells whether the open dialog lists a folder.
func listed(k hands, dir string) bool {
	top := k.canvas().Overlays().Top()
	return top != nil && strings.Contains(texts(top)+"\n", "The list shows "+dir+"\n")
}

// eachSeen visits an object and everything in sight in it, the parts of widgets too.
func eachSeen(o fyne.CanvasObject, see func(fyne.CanvasObject)) {
	if !o.Visible() {
		return
	}
	see(o)
	switch c := o.(type) {
	case *fyne.Container:
		for _, x := range c.Objects {
			eachSeen(x, see)
		}
	case fyne.Widget:
		for _, x := range test.WidgetRenderer(c).Objects() {
			eachSeen(x, see)
		}
	}
}

func TestTypedPaths(t *testing.T) {
	home := home()
	for _, c := range [][2]string{
		{"/a/b.tif", "/a/b.tif"}, {"  /a/b.tif\n", "/a/b.tif"}, {`"/a/b c.tif"`, "/a/b c.tif"}, {"'/a/b.tif'", "/a/b.tif"},
		{"file:///a/b%20c.tif", "/a/b c.tif"}, {"~/b.tif", home + "/b.tif"}, {"~", home}, {"/a/one.tif\n/a/two.tif", "/a/one.tif"}, {"", ""},
	} {
		if got := typedPath(c[0]); got != c[1] {
			t.Errorf("%q is read as %q, want %q", c[0], got, c[1])
		}
	}
}

// What is dropped while a dialog is open is the dialog's.
func TestADroppedPathGoesIntoTheDialog(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	k := hands{t, w, q}
	dir := touch(t, "boat.tif", "oar.tif")
	k.press("Ctrl+o")
	w.card.dropped([]fyne.URI{storage.NewFileURI(filepath.Join(dir, "oar.tif"))})
	k.until("the path", func() bool { return fieldText(k) == filepath.Join(dir, "oar.tif") })
	if w.h.State().Loading.Path != "" {
		t.Error("it was opened behind the dialog")
	}
	k.press("Escape")
	if got := w.h.State(); got.Card != "" || w.h.dropping != nil {
		t.Error("the dialog leaves something behind")
	}
	w.h.Do(session.OpenCard{ID: "help"})
	k.press("Escape")
}

// A card of the whole window leaves what is told in sight; only a lesson keeps it for
// afterwards.
func TestWhatIsToldIsSeenOverAWholeWindowCard(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	told := session.Tell{Notice: session.Notice{Headline: "Something is to be known."}}
	seen := func() bool {
		n := w.parts.notice
		return n.Visible() && n.away.Visible() && n.away.Size().Width > 0 && strings.Contains(texts(n), "Understood")
	}
	above := func() bool {
		n, c := w.parts.notice, w.card.box
		return n.Position().Y+n.Size().Height <= c.Position().Y
	}
	w.h.Do(session.OpenCard{ID: "facts"})
	w.h.Do(told)
	if !seen() || !above() {
		t.Errorf("under the card: seen %v, above it %v", seen(), above())
	}
	w.h.Do(session.DismissNotice{})
	if w.parts.notice.Visible() || w.card.box.Position().Y != 0 {
		t.Error("it leaves a gap above the card")
	}
	w.h.Do(session.OpenCard{})
	w.h.Do(session.OpenCard{ID: "lesson"})
	w.h.Do(told)
	if seen() {
		t.Error("it lies on the lesson")
	}
	w.h.Do(session.OpenCard{})
	settle(t, w, q)
	if !seen() {
		t.Error("it is lost with the lesson")
	}
}

// Of the table of pins the row whose pin is chosen is in sight, and the only stop of the
// Tab key; arrows choose.
func TestThePinTableFollows(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	k := hands{t, w, q}
	for i := range 11 {
		w.h.Do(session.PutPin{X: float64(20 + 20*i), Y: 100})
	}
	settle(t, w, q) // the first pin has unfolded the table
	table := w.parts.bench.pins
	inSight := func(n int) bool {
		y, foot := float32(0), float32(0)
		for _, r := range table.list[:n+1] {
			y, foot = foot, foot+r.HeightFor(table.stack.width)
		}
		return y >= table.scroll.Offset.Y-0.5 && foot <= table.scroll.Offset.Y+table.scroll.Size().Height+0.5
	}
	rows := 0
	for n := range table.list {
		if inSight(n) {
			rows++
		}
	}
	if rows < 5 {
		t.Errorf("%d rows are in sight", rows)
	}
	for _, n := range []int{11, 0, 7} {
		w.h.Do(session.ChoosePin{N: n})
		if !inSight(n) {
			t.Errorf("the row of pin %d is out of sight when it is chosen", n)
		}
	}
	stops := 0
	for _, r := range table.list {
		if !r.Disabled() {
			stops++
		}
	}
	if stops != 1 {
		t.Errorf("the table is %d stops of the Tab key", stops)
	}
	w.win.Canvas().Focus(table.list[7])
	k.press("Down", "Down")
	if n := w.h.State().Pin; n != 9 || w.win.Canvas().Focused() != fyne.Focusable(table.list[9]) || !inSight(9) {
		t.Errorf("two steps down from pin 7 choose %d, the keyboard is on %v", n, w.win.Canvas().Focused())
	}
}

// Files of the papers' folder that can't be used are told once, and stand in the list.
func TestUnusablePapersAreTold(t *testing.T) {
	test.NewTempApp(t)
	q := sessiontest.NewQueue()
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(60, 40), Unfit: []paper.Problem{{Path: "/papers/cut.icc",
		Err: &proof.ProfileError{Op: "read", Profile: "/papers/cut.icc", Kind: proof.Damaged, Err: errors.New("icc: too short")}}}}
	s := session.New(e, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	w := New(fyne.CurrentApp(), test.NewTempWindow(t, nil), s)
	w.win.Resize(fyne.NewSize(1280, 800))
	if !q.Until(func() bool { return strings.Contains(s.State().Notice.Headline, "‘cut.icc’ is damaged") }) {
		t.Fatal("nothing is told")
	}
	s.Do(session.DismissNotice{})
	s.PapersChanged("", session.Notice{})
	if n := s.State().Notice.Headline; n != "" {
		t.Errorf("it is told again: %q", n)
	}
	items, _ := paperItems(s.Store(), "pearl", "")
	last := items[len(items)-1]
	if !last.Off || last.Text != "cut.icc" || !strings.Contains(last.Under, "damaged") {
		t.Errorf("the list ends with %+v", last)
	}
}

// The slips that can't be made on a paper stand in the list with the reason whole, and for
// a printer of inks what its numbers can be taken for a second time stands there unfolded.
func TestSlipsThatCannotBeMadeSaySo(t *testing.T) {
	w, q := real(t)
	for _, p := range []string{"default_cmyk.icc", "FOGRA39L_coated.icc"} {
		w.h.Do(session.AddPaper{Path: "../../testdata/cache/profiles/" + p})
		if !q.Until(func() bool { return w.h.State().Adding.Path == "" }) {
			t.Fatal("no paper")
		}
	}
	settle(t, w, q)
	m, ok := newSlips(w.h)
	if !ok {
		t.Fatal("there is no proof")
	}
	lines := map[string]offer{}
	for _, l := range m.lines() {
		lines[l.Text] = l
	}
	for name, why := range map[string]string{"never converted": "4", "wrong media setting": "no ink model"} {
		if l := lines[name]; !l.Off || !strings.Contains(l.Under, why) || !strings.HasSuffix(l.Under, ".") {
			t.Errorf("%s: off %v, because %q", name, l.Off, l.Under)
		}
	}
	twice := lines["converted twice"]
	if !twice.open || len(twice.sub) < 3 || twice.sub[0].Text != "by this paper’s own profile" || twice.sub[0].Off || twice.sub[1].Off {
		t.Fatalf("converted twice is open %v and offers %+v", twice.open, twice.sub)
	}
	for _, l := range twice.sub {
		if l.Off || l.Under != "" {
			t.Errorf("%s can't be taken: %s", l.Text, l.Under)
		}
	}
	for _, l := range twice.sub[:2] {
		l.act()
		settle(t, w, q)
		if why := w.h.State().Refusal(1); why != "" {
			t.Errorf("%s can't be run: %s", l.Text, why)
		}
	}
}

// Keys in menus are told by the items' names, in full ink: the toolkit's own way of drawing
// them can't be read (a fifth of the ink's strength).
func TestMenusTellTheirKeys(t *testing.T) {
	w, _ := open(t, fyne.NewSize(1280, 800))
	keys := 0
	for _, m := range w.win.MainMenu().Items {
		for _, it := range m.Items {
			if it.Shortcut == nil {
				continue
			}
			if _, drawn := it.Shortcut.(fyne.KeyboardShortcut); drawn != (runtime.GOOS == "darwin") {
				t.Errorf("%s: the toolkit draws its key", it.Label)
			}
			if runtime.GOOS != "darwin" && !strings.Contains(it.Label, "   Ctrl ") {
				t.Errorf("%q does not tell its key", it.Label)
			}
			keys++
		}
	}
	if keys < 10 {
		t.Errorf("%d items have a key", keys)
	}
}
