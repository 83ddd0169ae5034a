package view

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
)

// A file that is there is replaced only when it is asked for twice in a row, by the same
// button, under the same name.
func TestNothingIsReplacedUnasked(t *testing.T) {
	w, _ := open(t, fyne.NewSize(1024, 700))
	there := filepath.Join(t.TempDir(), "there")
	if err := os.WriteFile(there, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	var wrote []string
	kind := func(name string) writable {
		return writable{name, func(typed string) (string, []string, string) {
			if typed == "" {
				return "", nil, "Give a name."
			}
			return typed, []string{typed, there + ".txt"}, ""
		}, func(path string) { wrote = append(wrote, name+" "+path) }}
	}
	a := whereTo{title: "Where?", label: "File", path: there, kinds: []writable{kind("one"), kind("two")},
		about: widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 1)}.ask(w.h)
	one, two := a.kinds[0], a.kinds[1]
	a.take(one)
	a.take(two)
	a.path.SetText(there + "2")
	a.path.SetText(there)
	a.take(two)
	if len(wrote) != 0 || !strings.Contains(a.note.Text, "there already") {
		t.Errorf("wrote %q, said %q", wrote, a.note.Text)
	}
	a.path.OnSubmitted(there) // Return takes the last button
	a.path.SetText("")
	a.take(one)
	if a.note.Text != "Give a name." {
		t.Errorf("without a name it says %q", a.note.Text)
	}
	a.path.SetText(filepath.Join(there+" not", "boat.png"))
	a.take(one)
	if !strings.Contains(a.note.Text, "no folder") || !strings.Contains(a.note.Text, "there not") {
		t.Errorf("of a folder that is not there it says %q", a.note.Text)
	}
	a.path.SetText(there + "3")
	a.take(one)
	if want := []string{"two " + there, "one " + there + "3"}; !slices.Equal(wrote, want) {
		t.Errorf("wrote %q, want %q", wrote, want)
	}
}
