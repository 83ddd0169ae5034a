package paper

import (
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

func TestHoursAreReadAsPeopleWriteThem(t *testing.T) {
	for s, want := range map[string]float64{"": 0, "24": 24, " 1.5 h": 1.5, "36,5 hours": 36.5} {
		if got, ok := HoursOf(s); !ok || got != want {
			t.Errorf("%q is %g, %v, want %g", s, got, ok, want)
		}
	}
	for _, s := range []string{"a day", "-1", "NaN", "1 2", "inf", "h"} {
		if got, ok := HoursOf(s); ok {
			t.Errorf("%q is taken for %g", s, got)
		}
	}
}

func TestAProfileIsToldWithWhatStandsIn(t *testing.T) {
	lines := FactLines(Facts{Space: "CMYK", Channels: 4, TotalInk: 3, EightBit: true, White: cie.Lab{L: 95, A: -0.04, B: -2},
		Intents: []IntentFacts{{Intent: "perceptual", Into: "B2A0"}, {Intent: "relative", Into: "B2A0", StandIn: true}, {Intent: "saturation", Into: "B2A2", SameAs: "perceptual"}}})
	got := map[string]string{}
	for _, l := range lines {
		if l.Means == "" {
			t.Errorf("%s is not explained", l.Name)
		}
		got[l.Name] = l.Value
	}
	for name, want := range map[string]string{
		"Paper’s white": "L* 95.0, a* 0.0, b* −2.0", "Total ink": "300 %", "Relative": "none of its own: the perceptual one stands in",
		"Saturation": "the same table as perceptual", "Perceptual": "its own table", "Gamut tag": "none; it is not needed",
		"Tables": "8 bits: differences of about 1 ΔE00 drown in their rounding",
	} {
		if got[name] != want {
			t.Errorf("%s: %q, want %q", name, got[name], want)
		}
	}
}

func TestEveryWordOnACardIsExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range ConditionChoices() {
		m := ConditionMeans(c)
		if seen[m] || c != "" && !strings.HasPrefix(m, c+":") {
			t.Errorf("%q means %q", c, m)
		}
		seen[m] = true
	}
	if s := CardTrouble(Card{Date: "soon"}); s != `The card's date is "soon", not a day such as 2006-01-02.` {
		t.Errorf("trouble: %s", s)
	}
	if s := CardTrouble(Card{Date: "2025-01-31", BlackInk: "matte"}); s != "" {
		t.Errorf("no trouble, but: %s", s)
	}
}
