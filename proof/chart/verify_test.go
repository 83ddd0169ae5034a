package chart

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// verified prints the verification chart on a changed printer and compares with
// what the profile of the old one says.
func verified(t *testing.T, change func(device []float64, l cie.Lab) cie.Lab) *Verification {
	t.Helper()
	tg, err := NewVerifyTarget(TargetOptions{Patches: 60})
	if err != nil {
		t.Fatal(err)
	}
	ms := tg.List()
	for i, p := range ms.Patches {
		ms.Patches[i].Lab = change(p.Device, pearlInk.rgb(p.Device))
	}
	v, err := Verify(ms, func(d []float64) (cie.Lab, error) { return pearlInk.rgb(d), nil })
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func group(t *testing.T, gs []Drift, name string) Drift {
	t.Helper()
	for _, g := range gs {
		if g.Name == name {
			return g
		}
	}
	t.Fatalf("no group %q in %+v", name, gs)
	return Drift{}
}

func TestVerifyTellsWhatWasChanged(t *testing.T) {
	turn := func(l cie.Lab, by float64) cie.Lab {
		c := l.LCh()
		c.H += by
		return c.Lab()
	}
	for name, c := range map[string]struct {
		change func([]float64, cie.Lab) cie.Lab
		says   []string
		not    []string
	}{
		"nothing": {func(_ []float64, l cie.Lab) cie.Lab { return l }, []string{"No hue and no tone"}, []string{"have"}},
		"shadows lighter": {func(_ []float64, l cie.Lab) cie.Lab {
			if l.L < 40 {
				l.L += 2
			}
			return l
		}, []string{"The shadows have become 2.0 lighter", "The black has become 2.0 lighter"}, []string{"paper has", "highlights", "greys", "turned"}},
		"blues towards violet": {func(_ []float64, l cie.Lab) cie.Lab {
			if h := l.Hue(); h > 220 && h < 285 && l.Chroma() > 8 {
				return turn(l, 6)
			}
			return l
		}, []string{"The blue colours have turned 6 degrees towards violet"}, []string{"red", "lighter", "greys"}},
		"yellow fades": {func(_ []float64, l cie.Lab) cie.Lab {
			if h := l.Hue(); h > 80 && h < 100 && l.Chroma() > 8 {
				c := l.LCh()
				c.C *= 0.8
				return c.Lab()
			}
			return l
		}, []string{"The yellow colours have become duller (C* −"}, []string{"turned", "blue", "lighter"}},
		"yellower paper": {func(d []float64, l cie.Lab) cie.Lab {
			if d[0]+d[1]+d[2] == 3 {
				l.B += 3
			}
			return l
		}, []string{"The paper has become more yellowish (a* 0.0, b* +3.0)"}, []string{"greys", "turned"}},
		"greys go warm": {func(_ []float64, l cie.Lab) cie.Lab {
			if l.Chroma() < 8 {
				l.A, l.B = l.A+2, l.B+3
			}
			return l
		}, []string{"The greys have become warmer (a* +2.0, b* +3.0)"}, []string{"turned", "lighter"}},
	} {
		v := verified(t, c.change)
		text := strings.Join(v.Sentences, "\n")
		for _, s := range c.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s: no sentence says %q:\n%s", name, s, text)
			}
		}
		for _, s := range c.not {
			if strings.Contains(text, s) {
				t.Errorf("%s: a sentence says %q:\n%s", name, s, text)
			}
		}
	}
}

func TestVerifyFigures(t *testing.T) {
	v := verified(t, func(_ []float64, l cie.Lab) cie.Lab {
		l.L -= 1.5
		return l
	})
	total := 0
	for _, g := range v.ByTone {
		total += g.Count
		if math.Abs(g.Lightness+1.5) > 1e-9 {
			t.Errorf("%s: L* changed by %.3f in the mean, want -1.5", g.Name, g.Lightness)
		}
	}
	hues := 0
	for _, g := range v.ByHue {
		hues += g.Count
		if math.Abs(g.Turn) > 1e-9 || math.Abs(g.Chroma) > 1e-9 {
			t.Errorf("%s: turn %.3f, chroma %.3f, want 0", g.Name, g.Turn, g.Chroma)
		}
	}
	if total != 60 || hues != 60 || v.All.Count != 60 {
		t.Errorf("tones count %d, hues %d, all %d, want 60 each", total, hues, v.All.Count)
	}
	if len(v.ByTone) != 5 || len(v.ByHue) < 8 {
		t.Errorf("%d tones and %d hue families, want 5 and at least 8", len(v.ByTone), len(v.ByHue))
	}
	if g := group(t, v.ByTone, "paper"); g.Count != 2 {
		t.Errorf("%d patches of paper, want 2", g.Count)
	}
	if len(v.Orders) > 0 {
		t.Errorf("sound readings are said to be out of order: %v", v.Orders)
	}
	for _, a := range v.Aids[1:3] {
		if !strings.Contains(a, "common practice, no source") {
			t.Errorf("the aid %q does not name its source", a)
		}
	}
	text, err := json.Marshal(v)
	if err != nil || !strings.Contains(string(text), `"by_tone":[{"name":"paper","count":2,`) {
		t.Errorf("as JSON: %v\n%.300s", err, text)
	}
}

func TestVerifyNoticesAWrongOrder(t *testing.T) {
	tg, err := NewVerifyTarget(TargetOptions{})
	if err != nil {
		t.Fatal(err)
	}
	ms := tg.List()
	n := len(ms.Patches)
	for i := range ms.Patches {
		ms.Patches[i].Lab = pearlInk.rgb(ms.Patches[n-1-i].Device)
	}
	v, err := Verify(ms, func(d []float64) (cie.Lab, error) { return pearlInk.rgb(d), nil })
	if err != nil || len(v.Orders) != 1 || !strings.Contains(v.Orders[0], "reverse") {
		t.Errorf("read backwards: %v %v", v.Orders, err)
	}
}

func TestVerifyRefuses(t *testing.T) {
	ok := measured(t, 100, pearlInk.rgb, 0)
	few, bare := *ok, *ok
	few.Patches = few.Patches[:5]
	bare.Patches = append([]Patch(nil), ok.Patches...)
	bare.Patches[9].Device = nil
	fine := func(d []float64) (cie.Lab, error) { return cie.Lab{L: 50}, nil }
	for _, ms := range []*Measurements{&few, &bare} {
		var f *FormatError
		if _, err := Verify(ms, fine); !errors.As(err, &f) {
			t.Errorf("%v, want a *FormatError", err)
		}
	}
	if _, err := Verify(ok, func([]float64) (cie.Lab, error) { return cie.Lab{}, errDisk }); !errors.Is(err, errDisk) {
		t.Errorf("%v, want the prediction's own error", err)
	}
}

// Two patches read as each other are told so, and nothing is said of the colours
// they seem to have become.
func TestVerifyFindsTwoPatchesExchanged(t *testing.T) {
	tg, err := NewVerifyTarget(TargetOptions{Patches: 60})
	if err != nil {
		t.Fatal(err)
	}
	ms := tg.List()
	for i, p := range ms.Patches {
		l := pearlInk.rgb(p.Device)
		l.L += 0.3 // a little real drift
		ms.Patches[i].Lab = l
	}
	i, j := 7, 31
	if cie.DeltaE00(ms.Patches[i].Lab, ms.Patches[j].Lab) < 15 {
		t.Fatalf("patches %d and %d are too alike to test with", i, j)
	}
	ms.Patches[i].Lab, ms.Patches[j].Lab = ms.Patches[j].Lab, ms.Patches[i].Lab
	v, err := Verify(ms, func(d []float64) (cie.Lab, error) { return pearlInk.rgb(d), nil })
	if err != nil {
		t.Fatal(err)
	}
	if v.Patches[i].Exchanged != v.Patches[j].Place || v.Patches[j].Exchanged != v.Patches[i].Place || len(v.Orders) != 1 || !strings.Contains(v.Orders[0], "read as each other") {
		t.Errorf("orders %q, patches %+v and %+v", v.Orders, v.Patches[i], v.Patches[j])
	}
	for k, p := range v.Patches {
		if k != i && k != j && p.Exchanged != "" {
			t.Errorf("patch %s counts as exchanged with %s", p.Place, p.Exchanged)
		}
	}
	for _, s := range v.Sentences[1:] {
		if strings.Contains(s, "vivid") || strings.Contains(s, "duller") || strings.Contains(s, "turned") {
			t.Errorf("said of exchanged patches: %q", s)
		}
	}
}
