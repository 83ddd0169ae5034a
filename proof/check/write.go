package check

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/proof/aside"
	"firstsheet/proof/chart"
	"firstsheet/proof/photo"
)

// Endings returns the endings of the files that [Sheet.Write] writes.
func Endings() []string { return []string{".tif", ".tiff", ".png", ".pdf"} }

// Write draws the sheet and writes it to path, in the format of its ending: TIFF, PNG
// or PDF. The file is complete or absent.
func (s *Sheet) Write(ctx context.Context, path string) error {
	p, err := s.Draw(ctx)
	if err != nil {
		return err
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".pdf":
		if err := aside.Write(path, func(f *os.File) error { return writePDF(f, p, s.PPI) }); err != nil {
			return fmt.Errorf("check: writing %s: %w", path, err)
		}
		return nil
	case ".tif", ".tiff", ".png":
		return photo.Write(ctx, path, p, photo.WriteOptions{PPI: s.PPI})
	}
	return fmt.Errorf("check: %s: the name must end in %s", path, strings.Join(Endings(), ", "))
}

// WriteTable writes the sheet's values and patch map to path.
func (s *Sheet) WriteTable(path string) error {
	if err := aside.Write(path, func(f *os.File) error { return chart.WriteTables(f, s.Table()) }); err != nil {
		return fmt.Errorf("check: writing %s: %w", path, err)
	}
	return nil
}
