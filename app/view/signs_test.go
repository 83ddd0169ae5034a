package view

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
)

// Signs that print would not set: a straight apostrophe within a word or after an s, and a
// hyphen for a minus before a number.
var wrongSigns = []*regexp.Regexp{
	regexp.MustCompile(`\pL'\pL|s' \pL`),
	regexp.MustCompile(`(^|[ (,;=±])-[0-9]`),
}

func wrongSign(s string) string {
	for _, r := range wrongSigns {
		if at := r.FindString(s); at != "" {
			return at
		}
	}
	return ""
}

// Whatever is drawn has true apostrophes and minus signs: the desk with all that unfolds,
// with every slip, and every card.
func TestSignsOfWhatIsShown(t *testing.T) {
	w, q := real(t)
	w.win.Resize(fyne.NewSize(1600, 1000))
	w.h.Do(session.AddPaper{Path: "../../testdata/cache/profiles/FOGRA39L_coated.icc"})
	q.Until(func() bool { return w.h.State().Adding.Path == "" })
	w.h.Do(session.PutPin{X: 60, Y: 40})
	w.h.Do(session.Unfold{Folds: session.Folds{Looking: true, Pins: true}})
	seen := map[string]bool{}
	look := func(where string) {
		t.Helper()
		for _, s := range strings.Split(texts(w.win.Content()), "\n") {
			if at := wrongSign(s); at != "" && !seen[s] {
				seen[s] = true
				t.Errorf("%s: %q has %q", where, s, at)
			}
		}
	}
	for _, p := range w.h.Session.Store().Papers() {
		w.h.Do(session.SetPaper{ID: p.ID})
		settle(t, w, q)
		look("the desk on " + p.Name)
		m, ok := newSlips(w.h)
		if !ok {
			t.Fatal("there is no proof")
		}
		for _, l := range m.lines() {
			for _, o := range append([]offer{l}, l.sub...) {
				for _, s := range []string{o.Text, o.Note, o.Under} {
					if at := wrongSign(s); at != "" {
						t.Errorf("the slip %q has %q", s, at)
					}
				}
				if o.act != nil && o.sub == nil && !strings.HasSuffix(o.Text, "…") && p.ID != "gloss" && p.ID != "washi" {
					o.act()
					settle(t, w, q)
					look("slip " + o.Text)
				}
			}
		}
	}
	for _, c := range Cards() {
		w.h.Do(session.OpenCard{ID: c.ID})
		for q.Step() {
		}
		look("card " + c.ID)
		w.h.Do(session.OpenCard{})
	}
	for _, c := range AllCommands(w.h) {
		for _, s := range []string{c.Name, c.Help} {
			if at := wrongSign(s); at != "" {
				t.Errorf("the command %q has %q", s, at)
			}
		}
	}
}

// What the window's own packages say is typed with true apostrophes: nobody sets them
// afterwards, as is done with the words of package proof.
func TestSignsInTheWindowsWords(t *testing.T) {
	for _, dir := range []string{".", "../session", "../engine", "../widget", "../overlay", "../plot", "../layout"} {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "sessiontest") {
				return err
			}
			src, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, path, src, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				lit, ok := n.(*ast.BasicLit)
				if !ok || lit.Kind != token.STRING {
					return true
				}
				if s, err := strconv.Unquote(lit.Value); err == nil && wrongSigns[0].MatchString(s) {
					t.Errorf("%v: %q", set.Position(lit.Pos()), s)
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}
