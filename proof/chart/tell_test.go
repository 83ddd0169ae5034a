package chart

import (
	"strings"
	"testing"
)

func TestALimitOfInkIsAPercentage(t *testing.T) {
	for s, want := range map[string]float64{"": 0, "300": 3, "280 %": 2.8, "400%": 4} {
		if got, ok := InkOf(s); !ok || got != want {
			t.Errorf("%q is %g, %v, want %g", s, got, ok, want)
		}
	}
	for _, s := range []string{"3", "401", "much", "-300"} {
		if got, ok := InkOf(s); ok {
			t.Errorf("%q is taken for %g", s, got)
		}
	}
}

func TestAFarFitIsNotPraised(t *testing.T) {
	good := ReportSentence(Report{Table: Spread{Mean: 0.3, Max: 1.2}})
	bad := ReportSentence(Report{Table: Spread{Mean: 8.6, Max: 48}})
	if strings.Contains(good, "far") || !strings.Contains(bad, "Look into it before you print") {
		t.Errorf("good: %s\nbad: %s", good, bad)
	}
}
