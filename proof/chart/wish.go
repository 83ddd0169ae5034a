package chart

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"firstsheet/proof/aside"
	"firstsheet/proof/photo"
)

// Wish is a chart that is to be printed.
type Wish struct {
	Verify  bool   // to verify a profile, else to build one
	Patches int    // as [TargetOptions] has them
	Page    string // a4, a3 or letter
	PPI     float64
	Name    string // printed on the sheet, begins the files' names; "" for chart or verify
	Dir     string // folder to write into; made where it is missing
}

// Written is a chart that lies in its folder.
type Written struct {
	Dir     string
	Name    string // what the files' names begin with
	Patches int
	Pages   []string // page images, full paths
	List    string   // patch list
	Help    string   // how to print and measure
}

// Design returns the chart that a wish asks for. It takes up to half a second for
// 1,500 patches, and returns ctx.Err() when ctx ends.
func (w Wish) Design(ctx context.Context) (*Target, error) {
	o := TargetOptions{Name: w.Name, Patches: w.Patches, Page: w.Page, PPI: w.PPI, Created: time.Now()}
	if w.Verify {
		return NewVerifyTarget(o)
	}
	return NewTarget(ctx, o)
}

// maxCharts is how many charts of one name a folder holds before another name is
// asked for.
const maxCharts = 999

// Write draws the chart's pages and puts them into the folder together with patch
// list and instructions: all files or none, and none that was there is replaced.
// The error wraps fs.ErrPermission and the like, or is ctx's.
func (w Wish) Write(ctx context.Context) (Written, error) {
	if strings.TrimSpace(w.Dir) == "" {
		return Written{}, errors.New("chart: no folder is named")
	}
	dir, err := filepath.Abs(w.Dir)
	if err != nil {
		return Written{}, err
	}
	base := fileName(w.Name, w.Verify)
	// The name stands on the sheet too, so it is found before anything is drawn.
	for n := 1; ; n++ {
		w.Name = base
		if n > 1 {
			w.Name = fmt.Sprintf("%s-%d", base, n)
		}
		t, err := w.Design(ctx)
		if err != nil {
			return Written{}, err
		}
		if n < maxCharts && taken(dir, t) {
			continue
		}
		files, err := t.WriteAll(ctx, dir, false, nil)
		if err != nil {
			return Written{}, err
		}
		return Written{Dir: dir, Name: w.Name, Patches: len(t.Patches), Pages: files.Pages, List: files.List, Help: files.Help}, nil
	}
}

// WriteAll is [Target.Write] where all files appear or none, and where nothing is
// replaced unless replace says so: the error is then fs.ErrExist. The folder is made
// where it is missing, and goes again where nothing was written. before, which may be
// nil, is told where the files will be when all are written; its error keeps them from
// appearing. Errors about files are *[photo.Error] or *[aside.Error] and name them in dir.
func (t *Target) WriteAll(ctx context.Context, dir string, replace bool, before func(Files) error) (Files, error) {
	whole := aside.Files{Fresh: !replace}
	defer whole.Discard()
	if err := whole.Folder(dir); err != nil {
		return Files{}, err
	}
	var files Files
	err := whole.AddAll(dir, func(aside string) (_ []string, err error) {
		files, err = t.Write(ctx, aside)
		return append([]string{files.List, files.Help}, files.Pages...), placed(dir, err)
	})
	if err != nil {
		return Files{}, err
	}
	paths := whole.Paths()
	files = Files{List: paths[0], Help: paths[1], Pages: paths[2:]}
	if before != nil {
		err = before(files)
	}
	if err = errors.Join(err, ctx.Err()); err == nil {
		err = whole.Commit()
	}
	if err != nil {
		return Files{}, err
	}
	return files, nil
}

// placed has an error name the file in dir, where the person looks for it, instead of
// the one that was being written aside.
func placed(dir string, err error) error {
	if e, ok := errors.AsType[*photo.Error](err); ok {
		return &photo.Error{Path: filepath.Join(dir, filepath.Base(e.Path)), Kind: e.Kind, Err: e.Err}
	}
	if e, ok := errors.AsType[*aside.Error](err); ok {
		return &aside.Error{Path: filepath.Join(dir, filepath.Base(e.Path)), Err: e.Err}
	}
	return err
}

// taken tells whether one of a chart's files is there already.
func taken(dir string, t *Target) bool {
	names := []string{t.Name + "-patches.txt", t.Name + "-read-me.txt"}
	for i := range t.Layout.Pages {
		names = append(names, fmt.Sprintf("%s-page-%d.png", t.Name, i+1))
	}
	for _, n := range names {
		if _, err := os.Lstat(filepath.Join(dir, n)); err == nil {
			return true
		}
	}
	return false
}

// Told says what was written and what to mind before it is printed.
func (c Written) Told(page string) string {
	name := map[string]string{"a4": "A4", "a3": "A3", "letter": "Letter"}[page]
	pages := fmt.Sprintf("%d pages", len(c.Pages))
	if len(c.Pages) == 1 {
		pages = "one page"
	}
	return fmt.Sprintf("Written: %s of %s with %d patches, the patch list %s and how to go about it, %s, into %s.",
		pages, name, c.Patches, filepath.Base(c.List), filepath.Base(c.Help), c.Dir)
}

// Caution is what spoils a chart when it is not minded.
const Caution = "These numbers must reach the printer unchanged: print at 100 % with colour handling off in the program that prints and in the driver, " +
	"on the paper, media setting, ink and quality of your prints. A program that assumes a space for a picture without a profile spoils it. " +
	"Let it dry before measuring (a day, common practice)."
