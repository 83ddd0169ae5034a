package view

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
	"firstsheet/proof/teststrip"
)

// askFile asks where the print file is to be written.
func (v *testStripView) askFile() {
	if v.layout == nil || v.gathering.busy() || v.files.busy() {
		return
	}
	now := v.h.State()
	name := v.order.Paper.Name()
	if p, ok := v.h.Session.Store().Paper(v.paper); ok {
		name = p.Name
	}
	whereTo{
		title: "Print file of the strip", label: "File",
		path: filepath.Join(homeFor(now.Picture.Path), fileSafe(bareName(now.Picture.Name)+" strip for "+name)+".tif"),
		about: widget.NewProse(teststrip.Caution(name)+" A text of the same name says so, and what each piece is.",
			toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5),
		kinds: []writable{{"Write it", stripFiles, v.writeFile}},
	}.ask(v.h)
}

// stripFiles are the files of a strip by the name that was typed.
func stripFiles(typed string) (path string, files []string, complaint string) {
	path = strings.TrimSpace(typed)
	switch strings.ToLower(filepath.Ext(path)) {
	case ".tif", ".tiff", ".png":
		return path, []string{path, teststrip.TextFile(path)}, ""
	}
	return "", nil, "The name must end in .tif or .png: both hold the strip’s 16 bits."
}

// writeFile writes the strip's files.
func (v *testStripView) writeFile(path string) {
	order, engine := v.order, v.h.Session.Engine()
	p, _ := v.h.Session.Store().Paper(v.paper)
	opt := teststrip.Options{Bare: v.form.bare, Card: p.Card, Keep: keepOriginal(v.h)}
	v.files.start("The strip", path, func(ctx context.Context, progress func(float64)) (string, error) {
		return fmt.Sprintf("The strip is written: %s, and beside it %s, which says how to print it.", path, filepath.Base(teststrip.TextFile(path))),
			order.Write(ctx, engine, path, opt, progress)
	})
}

// writingTurns follows whether there is a strip to write, and whether it is being
// written.
func (v *testStripView) writingTurns() {
	v.write.Off = v.layout == nil || v.files.busy()
	v.write.Refresh()
	if v.content != nil {
		v.content.Refresh()
	}
}
