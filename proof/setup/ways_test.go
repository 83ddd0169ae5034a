package setup

import (
	"errors"
	"slices"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

// A slip that nobody has heard of is made in every way that it asks for.
func TestWaysOfAMadeUpSlip(t *testing.T) {
	find, right := files(t), Usual("pearl")
	c, err := AtHand(right, find, []string{"cotton", "pearl", "washi"}, []string{"srgb", "romm"})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(c.Papers, []string{"cotton", "washi"}) || len(c.Settings) == 0 || slices.Contains(c.Settings, "") {
		t.Errorf("at hand: %+v", c)
	}
	plain := slip.Slip{ID: "sideways"}
	if ways := c.Ways(right, plain); len(ways) != 1 || ways[0].Slips != "sideways" || ways[0].With(right) != right {
		t.Errorf("without needs: %+v", ways)
	}
	all := slip.Slip{ID: "sideways", NeedsReads: true, NeedsPaper: true, NeedsSetting: true, NeedsSecond: true}
	seen := map[Setup]bool{}
	for _, w := range c.Ways(right, all) {
		seen[w] = true
		if w.Reads == "" || w.Other == "" || w.Setting == "" || w.Second != proof.Perceptual {
			t.Errorf("not told all: %+v", w)
		}
	}
	if want := 2 * 2 * len(c.Settings); len(seen) != want {
		t.Errorf("%d ways, want %d", len(seen), want)
	}
	// On top of another mistake, with what that was told.
	made := c.Ways(right, slip.Slip{ID: "one", NeedsReads: true})[1]
	if both := c.Ways(made, plain); both[0].Slips != "one,sideways" || both[0].Reads != "romm" {
		t.Errorf("two mistakes: %+v", both)
	}
	if _, err := AtHand(Usual("nosuch"), find, nil, nil); err == nil {
		t.Error("no such paper")
	}
}

// Every way to make a real slip is a plan of its own; with nothing at hand the plan says
// what is missing.
func TestWaysArePlans(t *testing.T) {
	find, right := files(t), Usual("pearl")
	right.Source = "romm"
	c, err := AtHand(right, find, []string{"cotton", "washi"}, []string{"srgb", "adobe1998"})
	if err != nil {
		t.Fatal(err)
	}
	how := map[string]string{
		"wrongsource": "the numbers are taken for sRGB", "twice": "the driver’s intent is perceptual, as is usual",
		"otherpaper": "with the profile of Cotton Matte",
	}
	for _, s := range slip.All() {
		keys := map[string]bool{}
		ways := c.Ways(right, s)
		for _, w := range ways {
			p, err := w.Plan(find)
			if err != nil || s.Shows(p) != nil {
				t.Errorf("%s %+v: %v", s.ID, w, err)
				continue
			}
			keys[p.Key()] = true
		}
		if len(keys) != len(ways) {
			t.Errorf("%s: %d plans of %d ways", s.ID, len(keys), len(ways))
		}
		if want, ok := how[s.ID]; ok && ways[0].How(s, find) != want {
			t.Errorf("%s: %q, want %q", s.ID, ways[0].How(s, find), want)
		}
		bare := Choices{}.Ways(right, s)
		if len(bare) != 1 {
			t.Fatalf("%s: %d ways with nothing at hand", s.ID, len(bare))
		}
		if _, err := bare[0].Plan(find); (s.NeedsReads || s.NeedsPaper) != errors.Is(err, proof.ErrPlan) {
			t.Errorf("%s with nothing at hand: %v", s.ID, err)
		}
	}
}

// sRGB under another name is no other space; what has other channels stays.
func TestDistinct(t *testing.T) {
	same, err := proof.NewProfile("a screen's", space.SRGB().ICC())
	if err != nil {
		t.Fatal(err)
	}
	find := Files{Picture: same}
	e := proof.NewEngine()
	defer e.Close()
	got, err := Distinct(e, find, "", []string{"srgb", "adobe1998", profiles + "default_gray.icc", "nosuch"})
	if want := []string{"adobe1998", profiles + "default_gray.icc", "nosuch"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, %v, want %v", got, err, want)
	}
	if _, err := Distinct(e, Files{}, "", nil); !errors.Is(err, proof.ErrPlan) {
		t.Errorf("numbers of no picture: %v", err)
	}
}
