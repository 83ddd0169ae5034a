package view

import (
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
)

// overheard is the toolkit's driver; it notes what text the toolkit itself is asked to
// measure.
type overheard struct {
	fyne.Driver
	asked []string
}

func (d *overheard) RenderedTextSize(s string, size float32, st fyne.TextStyle, font fyne.Resource) (fyne.Size, float32) {
	if !slices.Contains(d.asked, s) {
		d.asked = append(d.asked, s)
	}
	return d.Driver.RenderedTextSize(s, size, st, font)
}

// listening is the test's app with that driver.
type listening struct {
	fyne.App
	driver *overheard
}

func (a listening) Driver() fyne.Driver { return a.driver }

// mostAsked is how many texts a card's fields have at most, lines of notes among them.
const mostAsked = 30

// The toolkit takes ten times as long to measure a text as our own typeface, and forgets it:
// of a card it measures nothing but what stands in fields, which are its own.
func TestCardsMeasureTheirTextsThemselves(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	a := fyne.CurrentApp()
	d := &overheard{Driver: a.Driver()}
	fyne.SetCurrentApp(listening{a, d})
	t.Cleanup(func() { fyne.SetCurrentApp(a) })
	for _, c := range Cards() {
		d.asked = nil
		w.h.Do(session.OpenCard{ID: c.ID})
		settle(t, w, q)
		if len(d.asked) > mostAsked {
			t.Errorf("%s: the toolkit measures %d texts of fields, want %d at most: %q", c.ID, len(d.asked), mostAsked, d.asked)
		}
		fields := fieldsIn(w.card.box)
		for _, s := range d.asked {
			if !slices.ContainsFunc(fields, func(f string) bool { return strings.Contains(f, s) }) {
				t.Errorf("%s: the toolkit measures %q", c.ID, s)
			}
		}
	}
}

// fieldsIn returns what all fields in something say, in sight or not, and the letters by
// which the toolkit finds out how large a field is.
func fieldsIn(o fyne.CanvasObject) []string {
	said := []string{"M", "e"}
	switch f := o.(type) {
	case *field:
		return append(said, f.Text, f.PlaceHolder)
	case *widget.Field:
		return append(said, f.Text, f.PlaceHolder)
	case *fyne.Container:
		for _, x := range f.Objects {
			said = append(said, fieldsIn(x)...)
		}
	case fyne.Widget:
		for _, x := range test.WidgetRenderer(f).Objects() {
			said = append(said, fieldsIn(x)...)
		}
	}
	return said
}

// A card is laid out once when it opens, wherever the box has been: what comes twice is
// drawn twice, on the drawing goroutine.
func TestACardIsLaidOutOnceWhenItOpens(t *testing.T) {
	w, q := open(t, fyne.NewSize(1280, 800))
	for _, box := range []string{"new", "as it was", "of another size"} {
		if box == "of another size" {
			w.win.Resize(fyne.NewSize(1024, 700))
			settle(t, w, q)
		}
		times, text := 0, &probe{}
		column := layout.NewColumn(text)
		w.card.open(Card{ID: "probe", Build: func(*Host) Built {
			return Built{Content: container.New(freeLayout{fyne.NewSize(10, 10), func(s fyne.Size) {
				times++
				column.Put(0, 0, s.Width, s.Height)
			}})}
		}})
		if times != 1 || text.resized != 1 || text.refreshed != 0 {
			t.Errorf("box %s: content laid out %d times, its text %d times and refreshed %d times; want 1, 1 and 0", box, times, text.resized, text.refreshed)
		}
		w.card.shut()
	}
}

// probe is an object that counts.
type probe struct {
	canvas.Rectangle
	resized, refreshed int
}

func (p *probe) MinSize() fyne.Size { return fyne.NewSize(10, 30) }
func (p *probe) Refresh()           { p.refreshed++ }
func (p *probe) Resize(s fyne.Size) {
	if s != p.Size() {
		p.resized++
		p.Rectangle.Resize(s)
	}
}
