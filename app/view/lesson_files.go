package view

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/handout"
	"firstsheet/proof/lesson"
)

// askHandout asks where the handout is to be written.
func (v *lessonView) askHandout() {
	if v.lesson == nil || v.files.busy() {
		return
	}
	l := v.lesson
	pageSize := handout.A4
	size := widget.NewChoice([]string{"A4", "Letter"}, 0, nil)
	size.OnChosen = func(i int) { size.Set(i); pageSize = handout.Page(i) }
	about := fmt.Sprintf("The PDF has a page for each of the %d mistakes. Single pictures: each pair as it should be and gone wrong as a PNG, "+
		"with the screen’s profile (%s) embedded, so that another screen shows them alike.", len(l.Mistakes()), l.Plan.Screen.Name())
	whereTo{
		title: "Handout", label: "Folder and name, without ending",
		path:  filepath.Join(homeFor(v.h.State().Picture.Path), fileSafe(l.Picture+" on "+l.Paper)),
		about: widget.NewProse(about, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 4), choice: size, choiceName: "Page",
		kinds: []writable{
			{"Write single pictures", named(func(stem string) (string, []string) { return stem, pairFiles(l, stem) }), v.writePairs},
			{"Write the PDF", named(func(stem string) (string, []string) { return stem + ".pdf", []string{stem + ".pdf"} }),
				func(path string) { v.writePDF(path, pageSize) }},
		},
	}.ask(v.h)
}

// named takes a name that was typed without its ending.
func named(files func(stem string) (string, []string)) func(string) (string, []string, string) {
	return func(typed string) (string, []string, string) {
		stem := strings.TrimSuffix(strings.TrimSpace(typed), ".pdf")
		if stem == "" {
			return "", nil, "Where to? Give a name."
		}
		path, list := files(stem)
		return path, list, ""
	}
}

func pairFiles(l *lesson.Lesson, stem string) []string {
	var names []string
	for _, s := range l.Mistakes() {
		names = append(names, lesson.PairFile(stem, s))
	}
	return names
}

func (v *lessonView) writePDF(path string, size handout.Page) {
	l, levels, keep, engine := v.lesson, v.levels, keepOriginal(v.h), v.h.Session.Engine()
	v.files.start("The handout", path, func(ctx context.Context, progress func(float64)) (string, error) {
		err := lesson.WriteHandout(ctx, engine, l, levels, size, path, keep, progress)
		return fmt.Sprintf("The handout is written: %s, %s of %s.", path, count(len(l.Mistakes()), "page"), size), err
	})
}

func (v *lessonView) writePairs(stem string) {
	l, levels, keep, engine := v.lesson, v.levels, keepOriginal(v.h), v.h.Session.Engine()
	v.files.start("The pictures", stem, func(ctx context.Context, progress func(float64)) (string, error) {
		done, err := lesson.WritePairs(ctx, engine, l, levels, stem, keep, progress)
		said := fmt.Sprintf("%s written into %s.", count(len(done), "picture"), filepath.Dir(stem))
		if err != nil && len(done) > 0 {
			err = &partly{said, err}
		}
		return said, err
	})
}
