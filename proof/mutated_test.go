package proof

import (
	"errors"
	"math/rand/v2"
	"os"
	"testing"

	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

// mutate damages a copy of a profile: a few bytes anywhere, in the header and tag
// table or at the head of a tag, where a byte does most; now and then the end is
// cut off and the size in the header made to fit.
func mutate(r *rand.Rand, data []byte) []byte {
	d := append([]byte(nil), data...)
	tags := int(d[131])
	for range 1 + r.IntN(4) {
		at := r.IntN(len(d))
		switch r.IntN(3) {
		case 0:
			at = r.IntN(132 + 12*tags)
		case 1:
			e := 132 + 12*r.IntN(tags)
			at = min(int(d[e+5])<<16|int(d[e+6])<<8|int(d[e+7])+r.IntN(64), len(d)-1)
		}
		d[at] = [...]byte{0, 1, 0x7f, 0x80, 0xff, byte(r.UintN(256))}[r.IntN(6)]
	}
	if r.IntN(8) == 0 {
		d = d[:132+r.IntN(len(d)-132)]
		n := len(d)
		d[0], d[1], d[2], d[3] = byte(n>>24), byte(n>>16), byte(n>>8), byte(n)
	}
	return d
}

// runMutated hands a damaged profile on as a picture's space and as a paper, and says
// whether the container's checks let it through and whether any numbers came of it.
func runMutated(t *testing.T, e *Engine, data []byte) (accepted, ran bool) {
	t.Helper()
	p, err := NewProfile("mutated", data)
	if err != nil {
		if !errors.Is(err, icc.ErrDamaged) && !isProfileError(err) {
			t.Errorf("NewProfile: %v", err)
		}
		return false, false
	}
	srgb := SpaceProfile(space.SRGB())
	plans := []Plan{{Source: p, Screen: srgb}}
	if p.CheckPaper() == nil {
		for _, i := range []Intent{Perceptual, AbsoluteColorimetric} {
			plans = append(plans, rightPlan(srgb, p, i, true, PaperWhite))
		}
	}
	if p.CheckScreen() == nil {
		plans = append(plans, Plan{Source: srgb, Screen: p})
	}
	for _, plan := range plans {
		c, err := e.Chain(plan)
		if err != nil {
			if !isProfileError(err) {
				t.Errorf("Chain: %v is no *ProfileError", err)
			}
			continue
		}
		const colours = 9
		src := make([]float64, colours*plan.Source.Channels())
		for i := range src {
			src[i] = float64(i%5) / 4
		}
		if err := c.Values(make([]Value, colours), src); err != nil && !isProfileError(err) {
			t.Errorf("Values: %v is no *ProfileError", err)
		}
		c.Close()
		ran = true
	}
	return true, ran
}

func isProfileError(err error) bool {
	_, ok := errors.AsType[*ProfileError](err)
	return ok
}

// Damaged profiles that the container's checks let through are safe to hand to
// Little CMS: an error or numbers, never a crash, and nothing stays open.
func TestMutatedProfilesAreSafe(t *testing.T) {
	before := lcms.Live()
	r := rand.New(rand.NewPCG(17, 29))
	var accepted, ran, all int
	e := NewEngine()
	for _, name := range []string{"FOGRA39L_coated.icc", "default_cmyk.icc", "ps_cmyk.icc", "sRGB.icc", "sgray.icc"} {
		data, err := os.ReadFile("../testdata/cache/profiles/" + name)
		if err != nil {
			t.Fatalf("%v (run testdata/fetch.sh)", err)
		}
		for range 80 {
			ok, numbers := runMutated(t, e, mutate(r, data))
			all++
			if ok {
				accepted++
			}
			if numbers {
				ran++
			}
		}
	}
	e.Close()
	t.Logf("%d mutations: %d accepted, %d of them ran", all, accepted, ran)
	if accepted < all/4 || ran < accepted/4 || ran == all {
		t.Errorf("%d mutations, %d accepted, %d ran: the mutations test nothing", all, accepted, ran)
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

func FuzzProfile(f *testing.F) {
	for _, name := range []string{"ps_cmyk.icc", "default_gray.icc", "a98.icc", "srgb_v2.icc"} {
		data, err := os.ReadFile("../testdata/cache/profiles/" + name)
		if err != nil {
			f.Fatalf("%v (run testdata/fetch.sh)", err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		before := lcms.Live()
		e := NewEngine()
		runMutated(t, e, data)
		e.Close()
		if n := lcms.Live() - before; n != 0 {
			t.Errorf("%d handles left open", n)
		}
	})
}
