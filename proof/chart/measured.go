package chart

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

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

func (e *Fault) Error() string { return fmt.Sprintf("chart: %s: %v", e.Path, e.Err) }

func (e *Fault) Unwrap() error { return e.Err }

var errNoFile = errors.New("it is no ordinary file")

// Sheets are the files that hold one chart's measurements.
type Sheets struct {
	Paths []string // measured files, pages in order
	List  string   // the chart's patch list; "" where each file holds the printed numbers
}

// Read reads the files and puts them together. The error is a *Fault that names
// the file, or nil; nothing is kept of a failed reading.
func (s Sheets) Read() (*Measurements, error) {
	var list *Measurements
	if s.List != "" {
		data, err := readText(s.List)
		if err == nil {
			list, err = ReadList(bytes.NewReader(data), ReadOptions{})
		}
		if err != nil {
			return nil, &Fault{s.List, err}
		}
	}
	var all *Measurements
	for _, path := range s.Paths {
		data, err := readText(path)
		if err != nil {
			return nil, &Fault{path, err}
		}
		var ms *Measurements
		if list != nil && len(s.Paths) == 1 {
			ms, err = ReadAgainst(bytes.NewReader(data), list, ReadOptions{})
		} else {
			ms, err = Read(bytes.NewReader(data))
		}
		if err == nil && all != nil {
			err = fits(all, ms)
		}
		if err != nil {
			return nil, &Fault{path, err}
		}
		if all == nil {
			all = ms
			continue
		}
		all.Patches = append(all.Patches, ms.Patches...)
		all.Notes = append(all.Notes, ms.Notes...)
	}
	if all == nil {
		return nil, &Fault{"", errors.New("no measured file is chosen")}
	}
	if list != nil && len(s.Paths) > 1 {
		matched, err := Match(list, all)
		if err != nil {
			return nil, &Fault{s.List, err}
		}
		all = matched
	}
	return all, nil
}

// fits tells why a second file can't be of the same
func fits(all, ms *Measurements) error {
	switch {
	case all.Device != ms.Device:
		return &FormatError{Msg: fmt.Sprintf("it was measured from %s numbers, the file before it from %s", ms.Device, all.Device)}
	case all.Condition != "" && ms.Condition != "" && all.Condition != ms.Condition:
		return &FormatError{Msg: fmt.Sprintf("it was measured under %s, the file before it under %s", ms.Condition, all.Condition)}
	}
	if all.Condition == "" {
		all.Condition = ms.Condition
	}
	return nil
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
