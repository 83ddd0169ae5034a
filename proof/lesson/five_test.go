package lesson_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lesson"
	"firstsheet/proof/paper"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// saved is the regatta's numbers as if it had been saved in sRGB, made once.
var saved = sync.OnceValues(func() (raster.Pixels, error) {
	m, err := demo()
	if err != nil {
		return raster.Pixels{}, err
	}
	m.Pins = m.Pins[:1]
	l, err := lesson.New(context.Background(), one(), m, nil)
	if err != nil {
		return raster.Pixels{}, err
	}
	levels, err := l.Five.Rewritten.Levels(context.Background(), one(), raster.Levels(m.Numbers))
	if err != nil {
		return raster.Pixels{}, err
	}
	return levels[0], nil
})

// inSRGB is the material of that picture.
func inSRGB(t *testing.T) lesson.Material {
	t.Helper()
	m := material(t)
	var err error
	if m.Numbers, err = saved(); err != nil {
		t.Fatal(err)
	}
	m.Find = setup.Files{Library: paper.Open("no folder"), Picture: proof.SpaceProfile(space.SRGB())}
	m.Spaces = nil
	for _, s := range space.All() {
		m.Spaces = append(m.Spaces, s.ID)
	}
	return m
}

// On every demo paper the pages begin with the mistake that takes the red shirt farthest
// towards orange, and say so.
func TestFiveBeginsWithTheOrangeShirt(t *testing.T) {
	m := material(t)
	for _, id := range m.Papers {
		m.Right.Paper = id
		l := made(t, m)
		f := l.Five
		if len(f.Pages) != 5 {
			t.Fatalf("%s: %d pages", id, len(f.Pages))
		}
		row := f.Step.Rows[f.Lead]
		if row.Pin != "shirt" || row.Change.Towards != words.Orange || row.Change.Turn <= 0 {
			t.Errorf("%s: it speaks of %q, %s", id, row.Pin, row.Change.Sentence())
		}
		for _, s := range l.Mistakes() {
			if c := s.Rows[f.Lead].Change; c.Towards == words.Orange && c.Turn > row.Change.Turn+1e-9 {
				t.Errorf("%s: %s turns it %.1f, the one shown %.1f", id, s.ID, c.Turn, row.Change.Turn)
			}
		}
		gasp := f.Pages[0]
		if len(gasp.Views) != 2 || gasp.Views[0].Prints[0].Setup != l.Right.Original() || gasp.Views[1].Prints[0].Setup != f.Step.Setup {
			t.Errorf("%s: the first page shows %+v", id, gasp.Views)
		}
		if said := gasp.Views[1].Say; said != "The shirt: red in the picture, orange-brown on "+l.Paper+"." {
			t.Errorf("%s: it says %q", id, said)
		}
		if more := strings.Join(gasp.Views[1].More, " "); !strings.Contains(more, "Compared with the correct proof: "+row.Change.Plainly()) {
			t.Errorf("%s: and %q", id, more)
		}
	}
}

// The route is shown right and wrong as far as the print, with the shirt's two colours.
func TestFiveShowsWhereTheRouteBroke(t *testing.T) {
	l := made(t, material(t))
	p, row := l.Five.Pages[1], l.Five.Step.Rows[l.Five.Lead]
	if len(p.Routes) != 2 || p.Routes[0].Route.Faulty() || !p.Routes[1].Route.Faulty() {
		t.Fatalf("routes %+v", p.Routes)
	}
	if p.Routes[0].Screen != row.Right.Screen || p.Routes[1].Screen != row.Wrong.Screen || p.Routes[0].Colour != "the shirt: red" {
		t.Errorf("colours %+v", p.Routes)
	}
	for _, r := range p.Routes {
		if last := r.Route.Stations[len(r.Route.Stations)-1]; last.Kind != proof.InkStation {
			t.Errorf("%s ends at %s", r.Title, last.Title)
		}
	}
	figures := strings.Join(p.Figures, " ")
	for _, want := range []string{lesson.Numbers(row.Right.Device, l.Plan.Paper), "It got " + lesson.Numbers(row.Right.File, l.Plan.Source)} {
		if !strings.Contains(figures, want) {
			t.Errorf("figures %q lack %q", figures, want)
		}
	}
}

// A screen that is too bright is part of the route, and the printer gets what it should.
func TestFiveOfWhatIsWrongOnScreen(t *testing.T) {
	m := material(t)
	m.Pins, m.Keep = m.Pins[:1], setup.Setup{Slips: "brightscreen"}
	l := made(t, m)
	p := l.Five.Pages[1]
	last := p.Routes[1].Route.Stations[len(p.Routes[1].Route.Stations)-1]
	if last.Fault != proof.TooBright || !strings.Contains(strings.Join(p.Figures, " "), "as it should") {
		t.Errorf("it ends at %+v; %q", last, p.Figures)
	}
}

// Which way an unconverted print turns, by a second path: the pixel's ROMM numbers to
// CIELAB and on to sRGB by the published primaries and curves of package space, then
// printed as they are by the chain.
func TestDirectionDependsOnTheNumbers(t *testing.T) {
	m := material(t)
	m.Pins = slices.Clone(m.Pins[:1])
	m.Pins[0].Radius = 0
	l := made(t, m)
	f := l.Five
	at := m.Pins[0].Pixels(m.Numbers.W, m.Numbers.H)[0]
	n := m.Numbers.At(nil, at.X, at.Y)
	romm, _ := space.ByID("romm")
	wide := romm.ToLab(n[0], n[1], n[2])
	narrow := space.SRGB().FromLab(wide)
	clip := func(v float64) float64 { return math.Min(math.Max(v, 0), 1) }
	prints := func(set setup.Setup, numbers []float64) cie.Lab {
		plan, err := set.Plan(m.Find)
		if err != nil {
			t.Fatal(err)
		}
		c, err := engine(t).Chain(plan)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		return c.Value(numbers).Relative
	}
	view := f.Pages[2].Views[0]
	if len(view.Prints) != 2 || view.Prints[0].Rewritten || !view.Prints[1].Rewritten || f.Rewritten.ID != "srgb" {
		t.Fatalf("prints %+v of %q", view.Prints, f.Rewritten.ID)
	}
	right := l.Right
	right.Source = "srgb"
	numbers := []float64{clip(narrow[0]), clip(narrow[1]), clip(narrow[2])}
	for i, want := range []struct {
		change  words.Change
		towards words.Hue
	}{
		{words.Compare(prints(l.Right, n), prints(view.Prints[0].Setup, n)), words.Orange},
		{words.Compare(prints(right, numbers), prints(view.Prints[1].Setup, numbers)), words.Magenta},
	} {
		if want.change.Towards != want.towards {
			t.Errorf("print %d turns towards %s", i, want.change.Towards)
		}
		if told := view.Prints[i].Told; told != "The shirt: "+want.change.Plainly()+"." {
			t.Errorf("print %d is told as %q, want %q", i, told, want.change.Plainly())
		}
	}
	if !strings.Contains(view.Prints[0].Caption, "ROMM RGB numbers, the wider space") || !strings.Contains(view.More[0], "Which way ‘never converted’ turns") {
		t.Errorf("captions %q, %q; said %q", view.Prints[0].Caption, view.Prints[1].Caption, view.More)
	}
}

// The same picture saved in sRGB is taught by what goes wrong with it, and the wide
// numbers stand first all the same.
func TestFiveOfAnSRGBPicture(t *testing.T) {
	m := inSRGB(t)
	l := made(t, m)
	f := l.Five
	row := f.Step.Rows[f.Lead]
	if len(f.Pages) != 5 || row.Pin != "shirt" || row.Change.Towards != words.Orange || len(f.Step.Plan.Conversions) == 0 {
		t.Fatalf("%d pages about %s: %s", len(f.Pages), f.Step.Name, row.Change.Sentence())
	}
	// Its name stays red, so nothing is claimed of another.
	if said := f.Pages[0].Views[1].Say; !strings.HasPrefix(said, "The shirt, compared with the correct proof: ") || strings.Contains(said, "brown") {
		t.Errorf("it says %q", said)
	}
	prints := f.Pages[2].Views[0].Prints
	if len(prints) != 2 || !prints[0].Rewritten || f.Rewritten.ID != "romm" ||
		!strings.Contains(prints[0].Told, "towards orange") || !strings.Contains(prints[1].Told, "towards magenta") {
		t.Errorf("prints %+v of %q", prints, f.Rewritten.ID)
	}
}

// A picture of one's own is shown with the mistake of the one before, or it is said why not.
func TestFiveKeepsTheMistake(t *testing.T) {
	m := inSRGB(t)
	m.Pins = m.Pins[:2]
	m.Keep.Slips = "never"
	l := made(t, m)
	own := l.Five.Pages[4].Views
	if !l.Five.Kept || l.Five.Step.ID != "never" || len(own) != 2 || own[1].Prints[0].Setup != l.Five.Step.Setup {
		t.Errorf("kept %t, %s, %+v", l.Five.Kept, l.Five.Step.ID, own)
	}
	m.Keep.Slips, m.Right.Paper = "wrongsetting", press
	l = made(t, m)
	if own = l.Five.Pages[4].Views; l.Five.Kept || len(own) != 2 || len(own[0].More) != 2 || !strings.Contains(own[0].More[0], "no ink model") {
		t.Errorf("kept %t: %+v", l.Five.Kept, own)
	}
}

// A pin that is called by its colour is spoken of as that.
func TestFiveOfAPinWithoutAName(t *testing.T) {
	m := material(t)
	for _, name := range []string{"red", "red 2", ""} {
		m.Pins = slices.Clone(m.Pins[:1])
		m.Pins[0].Name = name
		v := made(t, m).Five.Pages[0].Views
		if look := v[0].Prints[0].Look; look == nil || *look != m.Pins[0] || v[1].Prints[0].Look != nil {
			t.Errorf("%q: the place to look at is %v", name, look)
		}
		if v[0].Say != "Watch this red." || v[1].Say != "This red: orange-brown on Pearl." {
			t.Errorf("%q: %q, %q", name, v[0].Say, v[1].Say)
		}
	}
}

// All that is said is whole sentences, on every paper, for both pictures and every mistake.
func TestFiveSpeaksInSentences(t *testing.T) {
	for _, m := range []lesson.Material{material(t), inSRGB(t)} {
		m.Pins = m.Pins[:2]
		for _, paper := range m.Papers {
			m.Right.Paper = paper
			for _, s := range made(t, m).Mistakes() {
				m.Keep.Slips = s.ID
				for _, p := range made(t, m).Five.Pages {
					var said []string
					for _, v := range p.Views {
						said = append(append(said, v.Say), v.More...)
						for _, x := range v.Prints {
							if x.Told != "" {
								said = append(said, x.Told)
							}
						}
					}
					for _, line := range append(said, p.Figures...) {
						if line == "" || !strings.ContainsAny(line[len(line)-1:], ".:?") || strings.ContainsAny(line, "\n") || strings.Contains(line, "  ") ||
							strings.Contains(line, "..") || line[0] >= 'a' && line[0] <= 'z' {
							t.Errorf("%s on %s, ‘%s’: %q", s.ID, paper, p.Title, line)
						}
					}
				}
			}
		}
		m.Keep.Slips = ""
	}
}

// The rewritten picture is what the other space's numbers of its colours are.
func TestRewrittenLevels(t *testing.T) {
	m := material(t)
	f := made(t, m).Five
	levels, err := f.Rewritten.Levels(t.Context(), engine(t), raster.Levels(m.Numbers))
	if err != nil {
		t.Fatal(err)
	}
	romm, _ := space.ByID("romm")
	px := levels[0]
	src := m.Numbers
	for px.W < src.W {
		src = raster.Halve(src)
	}
	if px.W != src.W || px.H != src.H || px.Channels != 3 {
		t.Fatalf("%d by %d", px.W, px.H)
	}
	// The fine grid's own 99.9th percentile, 0.7, and one rounding to 8 bits; colours that
	// sRGB clips are left out.
	const tolerance = 1.0 // ΔE00
	seen := 0
	for y := 0; y < px.H; y += 97 {
		for x := 0; x < px.W; x += 89 {
			n, got := src.At(nil, x, y), px.At(nil, x, y)
			is := romm.ToLab(n[0], n[1], n[2])
			if want := space.SRGB().FromLab(is); slices.Min(want[:]) < 0.02 || slices.Max(want[:]) > 0.98 {
				continue
			}
			seen++
			if d := cie.DeltaE00(is, space.SRGB().ToLab(got[0], got[1], got[2])); d > tolerance {
				t.Errorf("pixel %d, %d is off by ΔE00 %.2f", x, y, d)
			}
		}
	}
	if seen < 100 {
		t.Fatalf("only %d pixels were looked at", seen)
	}
}
