package view

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/pin"
)

// open returns the window on a ramp of 300 by 200, laid and settled.
func open(t *testing.T, size fyne.Size) (*Window, *sessiontest.Queue) {
	t.Helper()
	a := test.NewTempApp(t)
	win := test.NewTempWindow(t, nil)
	q := sessiontest.NewQueue()
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(300, 200), Pins: []pin.Pin{{Name: "shirt", X: 0.2, Y: 0.25, Radius: 0.01}}}
	s := session.New(e, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	w := New(a, win, s)
	win.Resize(size)
	s.Do(session.OpenPicture{Demo: true})
	settle(t, w, q)
	return w, q
}

func settle(t *testing.T, w *Window, q *sessiontest.Queue) {
	t.Helper()
	if !q.Until(sessiontest.Settled(w.h.Session)) {
		t.Fatal("the desk does not settle")
	}
	for q.Step() {
	}
}

func key(w *Window, name fyne.KeyName) {
	k := &fyne.KeyEvent{Name: name}
	w.keys.pressed(k)
	w.win.Canvas().OnTypedKey()(k)
}

func release(w *Window, name fyne.KeyName) { w.keys.released(&fyne.KeyEvent{Name: name}) }

func TestNoTwoThingsHaveOneKey(t *testing.T) {
	w, _ := open(t, fyne.NewSize(1280, 800))
	keys, ids := map[string]string{}, map[string]bool{}
	for _, c := range AllCommands(w.h) {
		if ids[c.ID] {
			t.Errorf("two are called %s", c.ID)
		}
		ids[c.ID] = true
		if c.Key == "" {
			continue
		}
		k := KeyName(session.Command{Key: c.Key, Ctrl: c.Ctrl})
		if other := keys[k]; other != "" {
			t.Errorf("%s and %s have the key %s", c.ID, other, k)
		}
		keys[k] = c.ID
	}
}

func TestKeysDoWhatTheHelpCardSays(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	state := func() session.State { return w.h.State() }
	for _, c := range []struct {
		key  fyne.KeyName
		want func() bool
	}{
		{fyne.KeyG, func() bool { return state().Sheets[1].Wrong }},
		{fyne.KeyI, func() bool { return state().Sheets[1].Intent == proof.Saturation }},
		{fyne.KeyC, func() bool { return !state().Sheets[1].BPC }},
		{fyne.KeyW, func() bool { return state().Sheets[1].White == proof.ScreenWhite }},
		{fyne.KeyA, func() bool { return state().Sheets[1].Paper == "cotton" }},
		{fyne.KeyR, func() bool { return state().Overlays().Has(session.Bands) }},
		{fyne.KeyE, func() bool { return state().View.Scale == 1 && !state().View.Fit }},
		{fyne.KeyF, func() bool { return state().View.Fit }},
		{fyne.KeyEqual, func() bool { return !state().View.Fit }},
		{fyne.KeyM, func() bool { return state().NumPins == 2 }},
		{fyne.Key1, func() bool { return state().Active == 0 }},
		{fyne.KeyInsert, func() bool { return state().Count == 3 }},
		{fyne.KeyDelete, func() bool { return state().Count == 2 }},
		{fyne.KeyL, func() bool { return state().Folds.Looking }},
		{fyne.KeyT, func() bool { return !state().Folds.Pins }},
		{fyne.KeyH, func() bool { return state().Card == "help" && w.card.box.Visible() }},
		{fyne.KeyI, func() bool { return state().Sheets[1].Intent == proof.Saturation }}, // rests under a card
		{fyne.KeyEscape, func() bool { return state().Card == "" && !w.card.box.Visible() }},
	} {
		key(w, c.key)
		release(w, c.key)
		settle(t, w, q)
		if !c.want() {
			t.Errorf("the key %s did not do its work", c.key)
		}
	}
}

func TestHeldKeysLastAsLongAsTheyAreHeld(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	right := append([]uint8(nil), w.h.Session.Store().Buffer(1).Pix...)
	key(w, fyne.KeyS)
	if w.h.State().Held != session.HeldSlip {
		t.Fatal("S held shows no slip")
	}
	// The route is the slip's while the key is held.
	q.Until(func() bool { return w.h.State().Peek.N > 0 })
	if w.h.State().Peek.Stations[1].Fault == proof.NoFault {
		t.Error("the route does not show the slip")
	}
	frame := w.h.State().Frame
	q.Until(func() bool { return w.h.State().Frame > frame && !w.h.State().Stale[1] })
	if string(w.h.Session.Store().Buffer(1).Pix) == string(right) {
		t.Error("the sheet does not show the slip")
	}
	release(w, fyne.KeyS)
	// A frame of the slip that was under way may still come before the proof's.
	back := func() bool { return string(w.h.Session.Store().Buffer(1).Pix) == string(right) }
	q.Until(back)
	if w.h.State().Held != session.HeldNone || !back() {
		t.Error("the proof is not back")
	}
	// With Ctrl down the letter belongs to a shortcut.
	w.keys.pressed(&fyne.KeyEvent{Name: desktop.KeyControlLeft})
	key(w, fyne.KeyO)
	if w.h.State().Held != session.HeldNone {
		t.Error("Ctrl O shows the original in place")
	}
}

func TestAClickLeavesTheKeyboardToTheDesk(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	c := w.win.Canvas()
	w.h.Do(session.Unfold{Folds: session.Folds{Looking: true}})
	for _, o := range []fyne.CanvasObject{w.parts.bench.overlays[0].toggle, w.parts.bench.comp, w.parts.bench.intent, w.parts.route.sw, w.parts.bench.limit} {
		test.TapCanvas(c, fyne.CurrentApp().Driver().AbsolutePositionForObject(o).AddXY(5, 10))
		if c.Focused() != nil {
			t.Errorf("after a click %T has the keyboard", o)
		}
	}
	settle(t, w, q)
	s := w.h.State()
	if !s.Looking.Overlays.Has(session.Bands) || s.Sheets[1].BPC || s.Sheets[1].Intent != proof.Perceptual || s.Sheets[1].Wrong || s.Looking.Threshold != 1 {
		t.Errorf("the clicks were not taken: %+v %+v", s.Looking, s.Sheets[1])
	}
	// By Tab a control can be reached, and passes on what it has no use for.
	c.Focus(w.parts.bench.comp)
	w.parts.bench.comp.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	w.parts.bench.comp.TypedKey(&fyne.KeyEvent{Name: fyne.KeyG})
	if s := w.h.State(); !s.Sheets[1].BPC || !s.Sheets[1].Wrong {
		t.Error("space did not tick, or G was lost")
	}
}

func TestMouseOnASheet(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	p := w.parts.desk.panes[1]
	p.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(200, 150)}, Scrolled: fyne.NewDelta(0, 30)})
	settle(t, w, q)
	before := w.h.State().View
	if before.Fit {
		t.Fatal("the wheel does not come nearer")
	}
	p.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(300, 200)}})
	p.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(-10, 0)})
	p.DragEnd()
	if after := w.h.State().View; after.CX <= before.CX || after.Scale != before.Scale {
		t.Errorf("dragging to the left moved from %+v to %+v", before, after)
	}
	// A drag that begins on a pin moves the pin.
	w.h.Do(session.Fit{})
	settle(t, w, q)
	s := w.h.State()
	x, y := session.Place(s.Cell, s.View, s.Picture.W, s.Picture.H).ToCell(s.Pins[0].X*float64(s.Picture.W), s.Pins[0].Y*float64(s.Picture.H))
	p.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(x), float32(y))}})
	p.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(20, 10)})
	p.DragEnd()
	if now := w.h.State(); now.Pins[0].X <= s.Pins[0].X || now.View != s.View {
		t.Errorf("the pin went from %v to %v", s.Pins[0], now.Pins[0])
	}
	p.Tapped(&fyne.PointEvent{Position: fyne.NewPos(5, 5)})
	w.parts.desk.panes[0].Tapped(&fyne.PointEvent{Position: fyne.NewPos(5, 5)})
	if w.h.State().Active != 0 {
		t.Error("a click does not make a sheet the active one")
	}
}

func TestALegendDroppedOnASheetCopiesTheSetup(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	l := w.parts.desk.legends[1]
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(w.parts.desk.panes[0]).AddXY(40, 40)
	l.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{AbsolutePosition: at}})
	l.DragEnd()
	settle(t, w, q)
	if s := w.h.State(); s.Sheets[0] != s.Sheets[1] || s.Active != 0 {
		t.Errorf("sheet 1 is %+v", s.Sheets[0])
	}
}

func TestDroppedFiles(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	dropped(w.h, []fyne.URI{storage.NewFileURI("missing")})
	if !q.Until(func() bool { return w.h.State().Notice.Failure }) {
		t.Fatal("a file that is not there gives no notice")
	}
	if !w.parts.notice.Visible() || w.parts.notice.Size().Height < 30 {
		t.Error("the notice strip is not to be seen")
	}
	if w.h.State().Picture.Name != "ramp" {
		t.Error("the picture on the desk is gone")
	}
	key(w, fyne.KeyEscape)
	if w.parts.notice.Visible() {
		t.Error("Escape does not take the notice away")
	}
	dropped(w.h, []fyne.URI{storage.NewFileURI("odd.icm")})
	if !q.Until(func() bool { return w.h.State().Notice.Failure }) {
		t.Error("an unfit profile gives no notice")
	}
}

func TestEveryCardOpensAndCloses(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	for _, c := range Cards() {
		if c.Name == "" || c.Help == "" || c.Build == nil {
			t.Errorf("card %q lacks name, help or content", c.ID)
		}
		w.h.Do(session.OpenCard{ID: c.ID})
		if !w.card.box.Visible() || w.card.id != c.ID {
			t.Errorf("card %s does not open", c.ID)
		}
		for q.Step() {
		}
		// The Tab key goes to the card, not to what lies under it.
		canvas := w.win.Canvas()
		canvas.Unfocus()
		canvas.FocusNext()
		if o, ok := canvas.Focused().(fyne.CanvasObject); !ok || !within(w.card.box, o) {
			t.Errorf("card %s: the first Tab goes to %T", c.ID, canvas.Focused())
		}
		w.h.Do(session.SetIntent{Intent: proof.Perceptual})
		w.h.Close()
		if !w.parts.desk.Visible() || !w.parts.bench.Visible() || !w.parts.route.Visible() {
			t.Errorf("card %s leaves parts of the window hidden", c.ID)
		}
		if w.card.box.Visible() {
			t.Errorf("card %s does not close", c.ID)
		}
	}
}

// within tells whether what lies somewhere in a tree.
func within(tree, what fyne.CanvasObject) bool {
	if tree == what {
		return true
	}
	var parts []fyne.CanvasObject
	switch o := tree.(type) {
	case *fyne.Container:
		parts = o.Objects
	case fyne.Widget:
		parts = test.WidgetRenderer(o).Objects()
	}
	for _, o := range parts {
		if within(o, what) {
			return true
		}
	}
	return false
}

func TestThePinTableSpeaks(t *testing.T) {
	w, q := open(t, fyne.NewSize(1600, 1000))
	key(w, fyne.KeyT)
	settle(t, w, q)
	rows := w.parts.bench.pins.list
	if len(rows) != 1 || rows[0].Name != "shirt" || len(rows[0].Cells) != 2 || rows[0].Cells[1].Words != "turns" {
		t.Fatalf("rows: %+v", rows)
	}
	rows[0].Tapped(&fyne.PointEvent{})
	if w.h.State().Pin != 0 {
		t.Error("a click on a row does not choose its pin")
	}
	key(w, fyne.KeyBackspace)
	if w.h.State().NumPins != 0 {
		t.Error("Backspace does not pull the pin out")
	}
}
