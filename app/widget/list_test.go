package widget

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
)

// listOf is a list of n items of which every fifth can't be chosen, and one heading, on a
// window of seven lines.
func listOf(t *testing.T, n int) (*List, fyne.Window, *[]int) {
	t.Helper()
	test.NewTempApp(t)
	var taken []int
	l := NewList(func(i int) { taken = append(taken, i) })
	items := []Item{{Text: "heading", Head: true}}
	for i := 1; i < n; i++ {
		items = append(items, Item{Text: fmt.Sprintf("%c item %d", 'a'+i%26, i), Off: i%5 == 0})
	}
	w := test.NewTempWindow(t, l)
	w.SetPadded(false)
	w.Resize(fyne.NewSize(300, 7*ItemHeight))
	l.SetItems(items, -1)
	return l, w, &taken
}

func typeKey(l *List, names ...fyne.KeyName) {
	for _, n := range names {
		l.TypedKey(&fyne.KeyEvent{Name: n})
	}
}

// What the keyboard is on is always drawn, whole; headings and what can't be chosen are
// passed over.
func TestListFollowsTheKeyboard(t *testing.T) {
	l, w, taken := listOf(t, 60)
	w.Canvas().Focus(l)
	drawn := func() bool {
		for _, o := range test.WidgetRenderer(l).Objects() {
			if c, ok := o.(*canvas.Text); ok && c.Text == l.items[l.at].Text {
				y := c.Position().Y
				return y >= 0 && y+c.Size().Height <= l.BaseWidget.Size().Height
			}
		}
		return false
	}
	for _, step := range []struct {
		key  fyne.KeyName
		want int
	}{
		{fyne.KeyDown, 1}, {fyne.KeyUp, 1}, {fyne.KeyDown, 2}, {fyne.KeyDown, 3}, {fyne.KeyDown, 4}, {fyne.KeyDown, 6},
		{fyne.KeyPageDown, 13}, {fyne.KeyEnd, 59}, {fyne.KeyDown, 59}, {fyne.KeyUp, 58}, {fyne.KeyPageUp, 51}, {fyne.KeyHome, 1},
	} {
		typeKey(l, step.key)
		if l.At() != step.want || !drawn() {
			t.Fatalf("%s: on item %d, want %d; drawn %v", step.key, l.At(), step.want, drawn())
		}
	}
	typeKey(l, fyne.KeyDown, fyne.KeyReturn)
	if len(*taken) != 1 || (*taken)[0] != 2 {
		t.Errorf("Return took %v, want item 2", *taken)
	}
	// One stop of the Tab key: there is nothing in it that could take the keyboard.
	for _, o := range test.WidgetRenderer(l).Objects() {
		if _, ok := o.(fyne.Focusable); ok {
			t.Errorf("%T in the list takes the keyboard", o)
		}
	}
}

func TestLettersSeekInAList(t *testing.T) {
	l, w, _ := listOf(t, 60)
	w.Canvas().Focus(l)
	l.TypedRune('c')
	if l.At() >= 0 {
		t.Error("a letter seeks in a list that leaves letters to the desk")
	}
	l.Seek = true
	for _, c := range []struct {
		text string
		want string
	}{{"c", "c item 2"}, {"c item 5", "c item 54"}} {
		l.typed, l.at = "", -1
		for _, r := range c.text {
			l.TypedKey(&fyne.KeyEvent{Name: fyne.KeyName(strings.ToUpper(string(r)))})
			l.TypedRune(r)
		}
		if got := l.items[l.At()].Text; got != c.want {
			t.Errorf("%q leads to %q, want %q", c.text, got, c.want)
		}
	}
}

func TestAClickInAList(t *testing.T) {
	l, _, taken := listOf(t, 20)
	click := func(i int) { test.TapAt(l, fyne.NewPos(40, (float32(i)+0.5)*ItemHeight)) }
	click(0)
	click(5)
	if l.At() >= 0 || len(*taken) > 0 {
		t.Errorf("a heading or what can't be chosen was taken: on %d, taken %v", l.At(), *taken)
	}
	click(3)
	if l.At() != 3 || len(*taken) != 1 {
		t.Errorf("a click on item 3: on %d, taken %v", l.At(), *taken)
	}
	l.Twice = true
	click(4)
	if l.At() != 4 || len(*taken) != 1 {
		t.Errorf("the first of two clicks: on %d, taken %v", l.At(), *taken)
	}
	click(4)
	if len(*taken) != 2 {
		t.Errorf("the second of two clicks took %v", *taken)
	}
}
