package chart

import (
	"context"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// Readings that are wrong as a whole, each with the figure that gives it away and what
// has likely happened.
func TestBuildRefusesWhatIsNoPrintOfTheChart(t *testing.T) {
	coarse := BuildOptions{ForwardGrid: 9, InverseGrid: 9}
	for name, c := range map[string]struct {
		change func(ms *Measurements)
		says   []string
	}{
		"shuffled": {func(ms *Measurements) {
			rand.New(rand.NewPCG(3, 4)).Shuffle(len(ms.Patches), func(i, j int) { swap(ms, i, j) })
		}, []string{"bare paper is", "rows are in another order"}},
		"shuffled, but for the paper": {func(ms *Measurements) {
			var inked []int
			for i, p := range ms.Patches {
				if p.Device[0]+p.Device[1]+p.Device[2] < 2.8 {
					inked = append(inked, i)
				}
			}
			rand.New(rand.NewPCG(3, 4)).Shuffle(len(inked), func(i, j int) { swap(ms, inked[i], inked[j]) })
		}, []string{"predicted from all others is off by", "rows are in another order"}},
		"all white": {func(ms *Measurements) {
			r := rand.New(rand.NewPCG(5, 6))
			for i := range ms.Patches {
				ms.Patches[i].Lab = noisy(cie.Lab{L: 95, A: 0.5, B: -2}, 0.2, r)
			}
		}, []string{"below the lightest", "a blank or another sheet"}},
		"one value": {func(ms *Measurements) {
			for i := range ms.Patches {
				ms.Patches[i].Lab = cie.Lab{L: 95}
			}
		}, []string{"0.0 L* below the lightest"}},
		"printed in greys": {func(ms *Measurements) {
			for i := range ms.Patches {
				ms.Patches[i].Lab.A, ms.Patches[i].Lab.B = 0.2*float64(i%3), -1+0.2*float64(i%5)
			}
		}, []string{"cubic units of CIELAB", "printed in greys"}},
		"red and blue exchanged": {func(ms *Measurements) {
			for _, p := range ms.Patches {
				p.Device[0], p.Device[2] = p.Device[2], p.Device[0]
			}
		}, []string{"Full red has a hue of", "full blue has a hue of", "columns of RGB numbers"}},
		"dark where it is light": {func(ms *Measurements) {
			for i := range ms.Patches {
				ms.Patches[i].Lab.L = 105 - ms.Patches[i].Lab.L
			}
		}, []string{"bare paper is", "another chart's"}},
	} {
		ms := measured(t, 300, pearlInk.rgb, 0.3)
		c.change(ms)
		_, err := Build(context.Background(), ms, "Doubtful", coarse, nil)
		d, ok := errors.AsType[*DoubtError](err)
		if !ok {
			t.Errorf("%s: %v, want a *DoubtError", name, err)
			continue
		}
		for _, says := range c.says {
			if !strings.Contains(err.Error(), says) || !strings.Contains(DoubtSentence(d), says) {
				t.Errorf("%s: nothing of %q in\n%v\n%s", name, says, err, DoubtSentence(d))
			}
		}
	}
}

// Greys that go dark again in the middle, though every patch follows from the others.
func TestGreysThatDarkenAreTold(t *testing.T) {
	ms := measured(t, 400, func(d []float64) cie.Lab {
		l := pearlInk.rgb(d)
		x := (d[0] + d[1] + d[2]) / 3
		l.L -= 150 * max(0, 0.2-max(x-0.7, 0.7-x)) // a dent of 30 at 0.7
		return l
	}, 0.2)
	reasons, err := fit(t, ms).distrust(context.Background())
	if err != nil || len(reasons) != 1 || !strings.Contains(reasons[0], "The greys darken by") {
		t.Errorf("%q, %v, want the greys alone", reasons, err)
	}
}

// Public press sets and every noise that a sound instrument has are trusted.
func TestSoundReadingsAreTrusted(t *testing.T) {
	for _, name := range []string{"TR002", "FOGRA29L", "FOGRA39L"} { // newsprint, uncoated, coated
		ms := fogra(t, name)
		if reasons := distrust(ms); len(reasons) > 0 {
			t.Errorf("%s: %q", name, reasons)
		}
		m := fit(t, ms)
		reasons, err := m.distrust(context.Background())
		if err != nil || len(reasons) > 0 {
			t.Errorf("%s: %q, %v", name, reasons, err)
		}
		fall, _, _ := m.greyFall()
		t.Logf("%s: held out %.2f, greys fall by %.2f, white %v, black %v", name, m.report.HeldOut.Mean, fall, m.report.White, m.report.Black)
	}
	for _, id := range []string{"cotton", "washi"} {
		ms := measured(t, 300, stock(t, id).Forward, 1)
		reasons, err := fit(t, ms).distrust(context.Background())
		if err != nil || len(reasons)+len(distrust(ms)) > 0 {
			t.Errorf("%s: %q %q, %v", id, reasons, distrust(ms), err)
		}
	}
}
