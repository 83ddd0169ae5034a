package view

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"firstsheet/proof/aside"
	"firstsheet/proof/check"
)

// checkPath is where the check sheet is written if nobody says otherwise.
func checkPath(h *Host, page check.Page) string {
	return filepath.Join(homeFor(h.State().Picture.Path), "check sheet "+page.Name+".tif")
}

// checkFiles returns the files of a check sheet by the name that was typed; keep may not
// be written over.
func checkFiles(keep []string) func(string) (string, []string, string) {
	return func(typed string) (path string, files []string, complaint string) {
		path = strings.TrimSpace(typed)
		if !slices.Contains(check.Endings(), strings.ToLower(filepath.Ext(path))) {
			return "", nil, "The name must end in .tif, .png or .pdf."
		}
		files = []string{path, check.TableFile(path)}
		for _, k := range keep {
			if slices.Contains(files, filepath.Clean(k)) {
				return "", nil, "That is the open picture’s own file: give another name."
			}
		}
		return path, files, ""
	}
}

func (v *checkView) writeFile(path string) {
	options, keep := v.options, keepOriginal(v.h)
	v.files.start("The check sheet", path, func(ctx context.Context, _ func(float64)) (string, error) {
		sheet, err := check.New(options)
		if err != nil {
			return "", err
		}
		files := aside.Files{Keep: keep}
		defer files.Discard()
		if err := files.Add(path, func(aside string) error { return sheet.Write(ctx, aside) }); err != nil {
			return "", err
		}
		if err := files.Add(check.TableFile(path), sheet.WriteTable); err != nil {
			return "", err
		}
		if err := files.Commit(); err != nil {
			return "", err
		}
		return fmt.Sprintf("The check sheet is written: %s, and beside it %s with its values.", path, filepath.Base(check.TableFile(path))), nil
	})
}
