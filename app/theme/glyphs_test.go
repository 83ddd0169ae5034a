package theme

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	toolkit "fyne.io/fyne/v2/theme"
	"golang.org/x/image/font/sfnt"
)

// texts calls f with every string of our Go files that a window may show, and with the
// pages of the manual.
func texts(t *testing.T, f func(path, s string)) {
	t.Helper()
	for _, dir := range []string{"../../app", "../../proof", "../../assets"} {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case strings.HasSuffix(path, ".md"):
				data, err := os.ReadFile(path)
				f(path, string(data))
				return err
			case !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
				return nil
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && (lit.Kind == token.STRING || lit.Kind == token.CHAR) {
					s, err := strconv.Unquote(lit.Value)
					if err != nil {
						t.Fatalf("%s: %s: %v", path, lit.Value, err)
					}
					f(path, s)
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

// Every sign that the program writes is in the fonts that it brings along, upright and
// bold: what a system's own fonts hold is not the same everywhere.
func TestEverySignIsInTheFontsWeBring(t *testing.T) {
	for name, data := range map[string][2][]byte{
		"upright": {Neutral{}.Font(fyne.TextStyle{}).Content(), toolkit.DefaultTextFont().Content()},
		"bold":    {Neutral{}.Font(fyne.TextStyle{Bold: true}).Content(), toolkit.DefaultTextBoldFont().Content()},
	} {
		var fonts [2]*sfnt.Font
		for i := range fonts {
			var err error
			if fonts[i], err = sfnt.Parse(data[i]); err != nil {
				t.Fatal(err)
			}
		}
		has := func(r rune) bool {
			return slices.ContainsFunc(fonts[:], func(f *sfnt.Font) bool {
				var buf sfnt.Buffer
				i, err := f.GlyphIndex(&buf, r)
				return err == nil && i != 0
			})
		}
		seen := 0
		texts(t, func(path, s string) {
			for _, r := range s {
				seen++
				if !unicode.IsControl(r) && r != '\ufeff' && !has(r) {
					t.Errorf("%s: %q (%U) is in no %s font", path, r, r, name)
				}
			}
		})
		if seen < 50_000 {
			t.Errorf("only %d signs were looked at", seen)
		}
	}
}

// A line with a sign in it is as high as one without, and the letters stay the toolkit's.
func TestSignsKeepTheLine(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(Neutral{})
	for _, style := range []fyne.TextStyle{{}, {Bold: true}} {
		plain, signed := fyne.MeasureText("Agj 12", 14, style), fyne.MeasureText("−→ Agj ✓", 14, style)
		if plain.Height != signed.Height {
			t.Errorf("%+v: %g high without signs, %g with", style, plain.Height, signed.Height)
		}
		// The space after a sign comes from the sign's font.
		if between, apart := fyne.MeasureText("→ g", 100, style).Width, fyne.MeasureText("→", 100, style).Width+fyne.MeasureText("g", 100, style).Width; math.Abs(float64(between-apart-26)) > 1 {
			t.Errorf("%+v: the space after a sign is %g wide", style, between-apart)
		}
		if own := fyne.MeasureText("Agj 12", 14, style); own.Width < 20 {
			t.Errorf("letters are %g wide", own.Width)
		}
	}
}
