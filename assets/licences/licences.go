// Package licences holds the licence texts of everything that is built into the program:
// the modules, the Go library, what decodes HEIC, and Little CMS and libjpeg-turbo, which a program for
// Windows has linked in.
//
// modules.txt is collected from the modules' own files by `go generate ./assets/licences`,
// and a test compares; others.txt is kept by hand.
package licences

import (
	_ "embed"
	"strings"
)

//go:generate go run firstsheet/assets/licences/collect

//go:embed modules.txt
var modules string

//go:embed others.txt
var others string

// Licence is one licence text.
type Licence struct {
	// ID is the licence's SPDX identifier or expression.
	ID string
	// Of are the works that carry this very text: module and version, and the file in it
	// where that is not the module's own licence.
	Of   []string
	Text string
}

// All returns the licences, those of the modules last.
func All() []Licence { return append(Parse(others), Parse(modules)...) }

// Parse reads what Format writes.
func Parse(s string) (all []Licence) {
	for part := range strings.SplitSeq("\n"+s, "\n@@ ") {
		head, text, ok := strings.Cut(part, "\n")
		id, of, is := strings.Cut(head, " | ")
		if ok && is {
			all = append(all, Licence{ID: id, Of: strings.Split(of, ", "), Text: strings.Trim(text, "\n")})
		}
	}
	return all
}

// Format writes licences one after the other, each with a line before it that begins
// with @@.
func Format(all []Licence) string {
	var b strings.Builder
	for _, l := range all {
		b.WriteString("@@ " + l.ID + " | " + strings.Join(l.Of, ", ") + "\n\n" + l.Text + "\n\n")
	}
	return b.String()
}
