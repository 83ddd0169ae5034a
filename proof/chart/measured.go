package chart

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"firstsheet/proof/aside"
)

// maxFile admits far more text than the patches that are read.
const maxFile = 64 << 20

// Fault says which file could not be used. Err is the package's or the file
// system's.
type Fault struct {
	Path string
	Err  error
}

func (e *Fault) Error() string {
	return fmt.Sprintf("chart: %s: %s", e.Path, strings.TrimPrefix(e.Err.Error(), "chart: "))
}

func (e *Fault) Unwrap() error { return e.Err }

var errNoFile = errors.New("it is no ordinary file")

// Sheets are the files that hold what was measured of a chart, once or several times.
type Sheets struct {
	Paths []string // measured files, pages in order
	List  string   // the chart's patch list; "" where each file holds the printed numbers
	Scale float64  // the number that means full, as in ReadOptions; 0 finds it by the values
}

func readText(path string) ([]byte, error) {
	// Asked before opening: to open a pipe would wait for its other end.
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, aside.Bare(err)
	case !info.Mode().IsRegular():
		return nil, errNoFile
	case info.Size() == 0:
		return nil, &FormatError{Msg: "it has 0 bytes"}
	case info.Size() > maxFile:
		return nil, &UnsupportedError{Msg: fmt.Sprintf("it has %d bytes, at most %d are read", info.Size(), int64(maxFile))}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, aside.Bare(err)
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, maxFile))
}

// Without returns the measurements without some suspicious patches; ms itself is
// left as it is.
func Without(ms *Measurements, drop []Suspect) *Measurements {
	type key struct {
		place, id string
		line      int
	}
	gone := map[key]bool{}
	for _, s := range drop {
		gone[key{s.Place, s.ID, s.Line}] = true
	}
	out := *ms
	out.Patches = nil
	for _, p := range ms.Patches {
		if !gone[key{p.Place(), p.ID, p.Line}] {
			out.Patches = append(out.Patches, p)
		}
	}
	return &out
}

// Summary says in one line what was read.
func Summary(ms *Measurements) string {
	s := fmt.Sprintf("%d patches, printed %s numbers", len(ms.Patches), ms.Device)
	if ms.Condition != "" {
		s += ", measured under " + ms.Condition
	}
	return s
}
