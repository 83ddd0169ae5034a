package view

import (
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
)

// whereTo asks where files are to be written.
type whereTo struct {
	title, label string
	path         string // what is offered
	about        *widget.Prose
	// choice is a row of its own with its name before it; nil for none.
	choice     fyne.CanvasObject
	choiceName string
	// kinds are what can be written; Return takes the last.
	kinds []writable
}

// writable is one thing that can be written.
type writable struct {
	button string
	// files returns where to and what files that makes, or what is wrong with what was
	// typed.
	files func(typed string) (path string, files []string, complaint string)
	write func(path string)
}

// asking is the open dialog.
type asking struct {
	whereTo
	d    *dialog.CustomDialog
	path *field
	note *widget.Prose
	sure string // the button that was warned of files it replaces
}

// ask opens the dialog.
func (q whereTo) ask(h *Host) *asking {
	a := &asking{whereTo: q, note: widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)}
	a.path = newField(q.path, func(string) { a.sure = ""; a.note.SetText("") }, nil, func() { a.d.Hide() })
	a.path.OnSubmitted = func(string) { a.take(q.kinds[len(q.kinds)-1]) }
	a.d = dialog.NewCustomWithoutButtons(q.title, a.body(h), h.Window)
	buttons := []fyne.CanvasObject{widget.NewPress("Leave it", func() { a.d.Hide() })}
	for _, k := range q.kinds {
		buttons = append(buttons, widget.NewPress(k.button, func() { a.take(k) }))
	}
	a.d.SetButtons(buttons)
	s := h.Window.Canvas().Size()
	a.d.Resize(fyne.NewSize(min(s.Width-60, 760), 360))
	h.front(a.d, front{drop: a.dropped})
	a.d.Show()
	focusField(h, a.path, false)
	return a
}

// body lays the dialog out.
func (a *asking) body(h *Host) fyne.CanvasObject {
	text := func(s string) fyne.CanvasObject {
		return widget.NewText(s, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	}
	folder := widget.NewPress("Another folder…", func() {
		askFolder(h, printFolder, "Into this folder", filepath.Dir(a.path.Text), func(dir string) { a.path.SetText(filepath.Join(dir, filepath.Base(a.path.Text))) })
	})
	label, name := text(a.label), text(a.choiceName)
	objs := []fyne.CanvasObject{label, a.path, folder, a.about, a.note}
	if a.choice != nil {
		objs = append(objs, name, a.choice)
	}
	return container.New(freeLayout{fyne.NewSize(620, 210), func(s fyne.Size) {
		set(label, 0, 0, s.Width, 22)
		set(a.path, 0, 26, s.Width-160, 38)
		set(folder, s.Width-150, 28, 150, 34)
		y := float32(76)
		if a.choice != nil {
			set(name, 0, y+2, 60, 22)
			set(a.choice, 60, y-4, 180, 32)
			y += 40
		}
		set(a.about, 0, y, s.Width, 172-y)
		set(a.note, 0, 176, s.Width, 44)
	}}, objs...)
}

// take writes what was asked for, after a warning where that replaces a file.
func (a *asking) take(k writable) {
	path, files, complaint := k.files(typedPath(a.path.Text))
	if complaint != "" {
		a.note.SetText(complaint)
		return
	}
	for _, f := range files {
		if dir := filepath.Dir(f); !isFolder(dir) {
			a.note.SetText("There is no folder ‘" + dir + "’.")
			return
		}
		if _, err := os.Stat(f); err == nil && a.sure != k.button {
			a.sure = k.button
			a.note.SetText("‘" + filepath.Base(f) + "’ is there already. Once more replaces it.")
			return
		}
	}
	a.d.Hide()
	printFolder.keepFolder(filepath.Dir(path))
	k.write(path)
}

// dropped takes a folder that was dropped, or the folder and name of a file.
func (a *asking) dropped(paths []string) {
	if len(paths) == 0 {
		return
	}
	if isFolder(paths[0]) {
		a.path.put(filepath.Join(paths[0], filepath.Base(a.path.Text)))
		return
	}
	a.path.put(paths[0])
}
