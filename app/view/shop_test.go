package view

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/widget"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

// shop is the window on the real engine and a library of its own.
type shop struct {
	t   *testing.T
	w   *Window
	q   *sessiontest.Queue
	e   *engine.Engine
	dir string
}

func openShop(t *testing.T) *shop {
	t.Helper()
	return openShopOn(t, func(context.Context) (*photo.Picture, []pin.Pin, error) {
		s := space.SRGB()
		return &photo.Picture{W: 4, H: 3, Channels: 3, Depth: 8, Pix8: make([]uint8, 36), Space: &s}, nil, nil
	})
}

// openShopOn is the shop with another demo picture.
func openShopOn(t *testing.T, demo engine.Demo) *shop {
	t.Helper()
	a := test.NewTempApp(t)
	win := test.NewTempWindow(t, nil)
	q := sessiontest.NewQueue()
	sh := &shop{t: t, q: q, dir: t.TempDir()}
	sh.e = engine.New(paper.Open(sh.dir), demo)
	s := session.New(sh.e, q.Post, session.Start("pearl"))
	t.Cleanup(s.Close)
	sh.w = New(a, win, s)
	win.Resize(fyne.NewSize(1280, 800))
	return sh
}

func (s *shop) until(what string, done func() bool) {
	s.t.Helper()
	if !s.q.Until(done) {
		s.t.Fatalf("it does not come to this: %s\nnotice: %+v", what, s.w.h.State().Notice)
	}
}

// onDisk is the library as another program reads it.
func (s *shop) onDisk() []paper.Paper {
	list, problems := paper.Open(s.dir).List()
	for _, p := range problems {
		s.t.Errorf("%s: %v", p.Path, p.Err)
	}
	return list
}

func (s *shop) cardOnDisk(id string) paper.Card {
	for _, p := range s.onDisk() {
		if p.ID == id {
			return p.Card
		}
	}
	s.t.Fatalf("no paper %s", id)
	return paper.Card{}
}

// walk visits an object and everything in it.
func walk(o fyne.CanvasObject, see func(fyne.CanvasObject)) {
	see(o)
	switch c := o.(type) {
	case *fyne.Container:
		for _, x := range c.Objects {
			walk(x, see)
		}
	case *container.Scroll:
		walk(c.Content, see)
	}
}

// beside finds the field that stands beside a word.
func beside(t *testing.T, o fyne.CanvasObject, word string) *widget.Field {
	t.Helper()
	var found *widget.Field
	walk(o, func(o fyne.CanvasObject) {
		c, ok := o.(*fyne.Container)
		if !ok || len(c.Objects) < 2 {
			return
		}
		if w, ok := c.Objects[0].(*canvas.Text); ok && w.Text == word {
			found, _ = c.Objects[1].(*widget.Field)
		}
	})
	if found == nil {
		t.Fatalf("no field beside %q", word)
	}
	return found
}

// says tells whether a text that is shown holds the words.
func says(o fyne.CanvasObject, words string) bool {
	found := false
	walk(o, func(o fyne.CanvasObject) {
		switch p := o.(type) {
		case *widget.Prose:
			found = found || p.Visible() && strings.Contains(p.Text, words)
		case *canvas.Text:
			found = found || p.Visible() && strings.Contains(p.Text, words)
		}
	})
	return found
}

func pressIn(t *testing.T, o fyne.CanvasObject, word string) {
	t.Helper()
	var found *widget.Press
	walk(o, func(o fyne.CanvasObject) {
		if p, ok := o.(*widget.Press); ok && p.Visible() && p.Text == word {
			found = p
		}
	})
	if found == nil {
		t.Fatalf("no button %q", word)
	}
	test.Tap(found)
}

func (s *shop) card() fyne.CanvasObject { return s.w.card.box }

func (s *shop) write(word, text string) {
	s.t.Helper()
	f := beside(s.t, s.card(), word)
	s.w.win.Canvas().Focus(f)
	f.SetText("")
	test.Type(f, text)
	s.w.h.Focus()
}

// printed writes a chart, measured as a paper's own profile says it prints; change
// may alter readings. It returns the file.
func printed(t *testing.T, id string, verify bool, n int, change func(ms *chart.Measurements)) string {
	t.Helper()
	target, err := chart.Wish{Name: "chart", Verify: verify, Patches: n}.Design(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	p, err := paper.Open(t.TempDir()).Resolve(id)
	if err != nil {
		t.Fatal(err)
	}
	says, err := chart.NewPrediction(p.Profile.Data())
	if err != nil {
		t.Fatal(err)
	}
	defer says.Close()
	ms := target.List()
	ms.Condition = "M1"
	for i := range ms.Patches {
		if ms.Patches[i].Lab, err = says.Lab(ms.Patches[i].Device); err != nil {
			t.Fatal(err)
		}
	}
	if change != nil {
		change(ms)
	}
	var b bytes.Buffer
	if err := chart.WriteTables(&b, ms.Table()); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "measured.txt")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// added is a profile that is none of the built-in ones.
func added(t *testing.T) []byte {
	t.Helper()
	file, err := os.Open(printed(t, "gloss", false, 120, nil))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	ms, err := chart.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	b, err := chart.Build(context.Background(), ms, "Added", coarse, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b.V2
}

// shownIn returns what a dialog shows.
func shownIn(o fyne.CanvasObject) fyne.CanvasObject {
	all := container.NewWithoutLayout()
	all.Objects = append(all.Objects, test.LaidOutObjects(o)...)
	return all
}
