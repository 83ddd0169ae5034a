package slip

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The packages that make mistakes name none of them: what a slip needs, where it can be
// shown and why it may not show it says itself. So a new one comes into all of them by
// its line in All.
func TestNoSlipIsNamedElsewhere(t *testing.T) {
	ids := map[string]bool{}
	for _, s := range All() {
		ids[s.ID] = true
	}
	for _, dir := range []string{"../lesson", "../teststrip", "../setup"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", dir, len(files), err)
		}
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, name, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if s, err := strconv.Unquote(lit.Value); err == nil && ids[s] {
						t.Errorf("%s names the slip %q", set.Position(lit.Pos()), s)
					}
				}
				return true
			})
		}
	}
}
