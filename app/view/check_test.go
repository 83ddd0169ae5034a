package view

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/proof/cie"
	"firstsheet/proof/mishap"
)

// The check sheet shows how it comes out on the paper, with every mistake that can be made
// there and every mishap, in the picture's place; keys choose and blink.
func TestTheCheckSheetOnScreen(t *testing.T) {
	s := openShopOn(t, engine.Regatta)
	s.w.h.Do(session.OpenPicture{Demo: true})
	s.until("the demo picture is open", func() bool { return s.w.h.State().NumPins > 0 })
	v := newCheck(s.w.h)
	built := v.built()
	t.Cleanup(built.Close)
	built.Content.Resize(fyne.NewSize(984, 620))
	built.Update(s.w.h.State())
	s.until("the sheet is drawn", func() bool { return v.sheet != nil })
	seen := map[string]bool{}
	for _, w := range v.ways {
		seen[w.set.Slips] = true
		if w.set.Source != checkSpace {
			t.Errorf("%s takes the sheet's numbers for %q", w.name, w.set.Source)
		}
	}
	for _, id := range []string{"wrongsource", "compensation", "twice", "otherpaper", "never", "wrongsetting", "brightscreen"} {
		if !seen[id] {
			t.Errorf("the slip %s is not there", id)
		}
	}
	stock, _ := s.w.h.Session.Store().Paper("pearl")
	if n := len(mishap.Of(stock.Paper)); len(v.ways) != 8+n {
		t.Errorf("%d ways, want the right one, 7 slips and %d mishaps", len(v.ways), n)
	}
	// Down chooses the next way; its advice is told, and both are made ready.
	key := func(name fyne.KeyName) { built.Key(&fyne.KeyEvent{Name: name}) }
	key(fyne.KeyDown)
	key(fyne.KeyDown)
	way := v.ways[v.at]
	if v.at != 2 || !strings.Contains(v.say.Text, "shadows") || way.set.Slips != "compensation" {
		t.Errorf("chosen is %q: %s", way.name, v.say.Text)
	}
	s.until("both can be seen", func() bool { return v.looks.of(v.right) != nil && v.looks.of(way.set) != nil })
	if img, _ := v.pictures.paint(600, 500, 1); img.RGBAAt(5, 5) == img.RGBAAt(150, 250) {
		t.Error("nothing is painted")
	}
	key(fyne.KeyB)
	one := v.pictures.now().sheets
	key(fyne.KeyB)
	two := v.pictures.now().sheets
	if len(one) != 1 || len(two) != 1 || one[0].set != v.right || two[0].set != way.set {
		t.Errorf("B shows %+v, then %+v", one, two)
	}
	// Its greys are grey on the right proof: the sheet's own numbers go through the paper.
	look := v.looks.of(v.right)
	px := v.sheet.Levels[len(v.sheet.Levels)-1]
	dst := make([]uint8, px.W*px.H*4)
	if err := look.Proof(t.Context(), dst, px); err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for i := range px.W * px.H {
		n := px.At(nil, i%px.W, i/px.W)
		if n[0] == n[1] && n[1] == n[2] {
			c := checkDrawn().ToLab(float64(dst[4*i])/255, float64(dst[4*i+1])/255, float64(dst[4*i+2])/255)
			worst = max(worst, cie.Lab{A: c.A, B: c.B}.Chroma())
		}
	}
	if worst > 6 { // Pearl's own white has a chroma of 4
		t.Errorf("a grey comes out with a chroma of %.1f", worst)
	}
	row := way.row
	v.library = -1 // as if the list of papers had changed
	built.Update(s.w.h.State())
	if v.ways[v.at].row != row {
		t.Error("the row, which may have the keyboard, is another one once the papers have changed")
	}
}
