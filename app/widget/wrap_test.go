package widget

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

// Every line is as long as it can be, measured as a whole, at any width.
func TestWrapFillsLines(t *testing.T) {
	test.NewTempApp(t)
	const text = "The AVATAR Type “WAVE” of 18 % grey: a paper’s white, 95, 1, −4, is Toyota To. fjord ffi; L* falls by 0.3 from left to right, and the red of the shirt turns to orange."
	for _, st := range []fyne.TextStyle{{}, {Bold: true}} {
		for _, size := range []float32{13, 14, 18, 24} {
			for w := float32(60); w < 900; w += 7.3 {
				lines := Wrap(text, w, size, st, 100)
				if got := strings.Join(lines, " "); len(lines) > 1 && !strings.Contains(got, "…") && got != text {
					t.Fatalf("at %g: %q", w, got)
				}
				for i, l := range lines[:len(lines)-1] {
					if width(l, size, st) > w {
						t.Errorf("at %g, size %g: %q is too wide", w, size, l)
					}
					next := fields(lines[i+1])[0]
					if longer := l + " " + next; width(longer, size, st) <= w {
						t.Errorf("at %g, size %g: %q would fit, broken after %q", w, size, longer, l)
					}
				}
			}
		}
	}
}
