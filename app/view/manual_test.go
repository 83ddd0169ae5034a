package view

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"firstsheet/assets/licences"
)

func TestManualShowsEveryPage(t *testing.T) {
	w, _ := open(t, fyne.NewSize(1280, 800))
	key(w, fyne.KeyF1)
	if w.h.State().Card != "manual" {
		t.Fatalf("F1 opens %q", w.h.State().Card)
	}
	m := newManualLeaf(w.h)
	m.content.Resize(fyne.NewSize(960, 600))
	for i, p := range m.pages {
		if m.names.Chosen != i {
			t.Fatalf("page %d is chosen, want %d", m.names.Chosen, i)
		}
		for _, want := range []string{p.Title, "Sources"} {
			if !says(m.page.Scroll, want) {
				t.Errorf("%s does not show ‘%s’", p.ID, want)
			}
		}
		for _, b := range p.Blocks {
			if !says(m.page.Scroll, b.Lead) || !says(m.page.Scroll, b.Text) {
				t.Errorf("%s does not show ‘%s’", p.ID, b.Text)
			}
		}
		m.typed(&fyne.KeyEvent{Name: fyne.KeyRight})
	}
	all := licences.All()
	m.read(len(all) - 1)
	for _, l := range all {
		if !says(m.page.Scroll, l.ID) || !says(m.page.Scroll, l.Of[0]) {
			t.Errorf("%s is not shown", l.Of[0])
		}
	}
	if last := strings.Split(all[len(all)-1].Text, "\n\n"); !says(m.page.Scroll, last[len(last)-1]) {
		t.Error("the text of the licence that was opened is not shown to its end")
	}
	m.typed(&fyne.KeyEvent{Name: fyne.KeyRight}) // nothing lies behind the last
	m.typed(&fyne.KeyEvent{Name: fyne.KeyLeft})
	if again := newManualLeaf(w.h); again.names.Chosen != len(m.pages)-1 {
		t.Errorf("opened again at page %d, want %d", again.names.Chosen, len(m.pages)-1)
	}
}
