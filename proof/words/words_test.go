package words

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// munsell holds a colour of the renotation (Newhall, Nickerson and Judd 1943):
// xy under illuminant C, and Y per cent relative to magnesium oxide.
type munsell struct {
	notation string
	x, y, Y  float64
	name     string
}

func (m munsell) lab() cie.Lab {
	toD50 := cie.Adaptation(cie.FromXY(0.3101, 0.3162), cie.D50)
	// 0.975 is the reflectance of magnesium oxide (ASTM D1535).
	return cie.FromXY(m.x, m.y).Scale(m.Y / 100 * 0.975).Transform(toD50).ToLab(cie.D50)
}

// Colours whose ISCC-NBS name is not in doubt: each lies well inside its block
// of the charts, which is named in the comment.
func TestNamesAtMunsellColours(t *testing.T) {
	for _, m := range []munsell{
		{"5R 6/8", 0.4187, 0.3251, 30.05, "pink"},           // deep pink
		{"5R 6/18", 0.5552, 0.3138, 30.05, "red"},           // vivid red
		{"5R 2/10", 0.5557, 0.2633, 3.126, "red"},           // deep red
		{"10R 6/18", 0.6009, 0.3720, 30.05, "orange"},       // vivid reddish orange
		{"5YR 6/14", 0.5423, 0.4188, 30.05, "orange"},       // orange
		{"7.5YR 5/4", 0.3991, 0.3714, 19.77, "brown"},       // light brown
		{"10YR 6/14", 0.5200, 0.4623, 30.05, "yellow"},      // vivid orange yellow
		{"2.5Y 6/12", 0.4928, 0.4730, 30.05, "yellow"},      // vivid yellow
		{"5Y 5/8", 0.4579, 0.4692, 19.77, "olive"},          // light olive
		{"10Y 6/12", 0.4488, 0.5237, 30.05, "yellow"},       // vivid greenish yellow
		{"5GY 5/10", 0.3928, 0.5485, 19.77, "yellow-green"}, // strong yellow green
		{"5GY 6/6", 0.3622, 0.4438, 30.05, "yellow-green"},  // moderate yellow green
		{"10GY 5/10", 0.3028, 0.5237, 19.77, "green"},       // strong yellowish green
		{"5G 5/10", 0.2329, 0.4331, 19.77, "green"},         // strong green
		{"5BG 5/10", 0.1850, 0.3280, 19.77, "blue-green"},   // strong bluish green
		{"5B 5/10", 0.1729, 0.2347, 19.77, "blue"},          // strong greenish blue
		{"10B 5/8", 0.2067, 0.2344, 19.77, "blue"},
		{"5PB 5/10", 0.2080, 0.2041, 19.77, "blue"},
		{"7.5PB 5/20", 0.1794, 0.1239, 19.77, "blue"}, // vivid purplish blue
		{"10PB 5/14", 0.2299, 0.1698, 19.77, "violet"},
		{"10PB 5/10", 0.2478, 0.2030, 19.77, "violet"},
		{"5P 5/10", 0.2845, 0.2137, 19.77, "purple"},
		{"10P 5/10", 0.3308, 0.2328, 19.77, "purple"},  // reddish purple
		{"5RP 5/12", 0.4022, 0.2523, 19.77, "magenta"}, // purplish red
		{"10RP 6/10", 0.4150, 0.2989, 30.05, "pink"},   // deep purplish pink
		{"10R 5/14", 0.5771, 0.3664, 19.77, "orange"},  // vivid reddish orange
		{"10R 2/4", 0.4481, 0.3330, 3.126, "brown"},    // dark reddish brown
		{"7.5R 2/10", 0.5952, 0.2874, 3.126, "red"},    // deep red
		{"5R 1/2", 0.3908, 0.2929, 1.21, "red"},        // blackish red, C* below 8
		{"2.5R 2/4", 0.4021, 0.2900, 3.126, "red"},     // dark red
		{"2.5PB 5/2", 0.2847, 0.2942, 19.77, "blue"},   // pale blue, C* just above 8
	} {
		c := m.lab()
		if got := Name(c); got != m.name {
			t.Errorf("Name(%s = %v, C* %.1f, h %.1f) = %q, want %q", m.notation, c, c.Chroma(), c.Hue(), got, m.name)
		}
	}
}

// Unique hues as 185 observers set them on a display: Xiao, Wuerger, Fu and
// Karatzas, Color Research and Application 36 (2011) 316-323, averages of the
// published data, adapted from the neutral grey of the same data.
func TestUniqueHues(t *testing.T) {
	grey := cie.XYZ{X: 57.7416, Y: 59.86, Z: 77.5401}
	toD50 := cie.Adaptation(grey.Scale(1/grey.Y), cie.D50)
	for _, u := range []struct {
		x, y, z float64
		want    Hue
	}{
		{54.288, 57.432, 98.2996, Blue}, {32.8953, 36.6939, 90.2777, Blue}, {7.6827, 8.2299, 20.6067, Blue},
		{18.0616, 21.3814, 25.1742, Green}, {38.0833, 57.5148, 51.5535, Green}, {6.6155, 8.2579, 9.0959, Green},
		{52.5833, 35.8582, 31.5576, Red}, {35.9571, 20.6166, 14.4877, Red}, {13.0029, 7.8642, 6.0006, Red},
		{54.5198, 57.0844, 13.3723, Yellow}, {20.3535, 21.0859, 7.1127, Yellow},
	} {
		c := cie.XYZ{X: u.x / 100, Y: u.y / 100, Z: u.z / 100}.Transform(toD50).ToLab(cie.D50)
		if got := HueOf(c); got != u.want {
			t.Errorf("HueOf(unique %v at h %.1f) = %v", u.want, c.Hue(), got)
		}
	}
}

// The 24-patch chart, Lab D50 of 2005 as published by Pascale ("RGB Coordinates
// of the Macbeth ColorChecker"); the chart maker's own names say what is meant.
func TestChartNames(t *testing.T) {
	for _, p := range []struct {
		c    cie.Lab
		want string
	}{
		{cie.Lab{L: 37.986, A: 13.555, B: 14.059}, "brown"}, // dark skin
		{cie.Lab{L: 49.927, A: -4.88, B: -21.925}, "blue"},
		{cie.Lab{L: 43.139, A: -13.095, B: 21.905}, "yellow-green"}, // foliage
		{cie.Lab{L: 62.661, A: 36.067, B: 57.096}, "orange"},
		{cie.Lab{L: 40.02, A: 10.41, B: -45.964}, "blue"}, // purplish blue
		{cie.Lab{L: 51.124, A: 48.239, B: 16.248}, "red"}, // moderate red
		{cie.Lab{L: 30.325, A: 22.976, B: -21.587}, "purple"},
		{cie.Lab{L: 72.532, A: -23.709, B: 57.255}, "yellow-green"},
		{cie.Lab{L: 28.778, A: 14.179, B: -50.297}, "blue"},
		{cie.Lab{L: 55.261, A: -38.342, B: 31.37}, "green"},
		{cie.Lab{L: 42.101, A: 53.378, B: 28.19}, "red"},
		{cie.Lab{L: 81.733, A: 4.039, B: 79.819}, "yellow"},
		{cie.Lab{L: 96.539, A: -0.425, B: 1.186}, "white"},
		{cie.Lab{L: 50.867, A: -0.153, B: -0.27}, "grey"},
		{cie.Lab{L: 20.461, A: -0.079, B: -0.973}, "black"},
	} {
		if got := Name(p.c); got != p.want {
			t.Errorf("Name(%v, h %.1f) = %q, want %q", p.c, p.c.Hue(), got, p.want)
		}
	}
	for _, c := range []cie.Lab{{L: 37.986, A: 13.555, B: 14.059}, {L: 65.711, A: 18.13, B: 17.81}, cie.LCh{L: 65, C: 25.4, H: 50.5}.Lab()} {
		if !SkinLike(c) {
			t.Errorf("SkinLike(%v) = false", c)
		}
	}
	for _, c := range []cie.Lab{{L: 62.661, A: 36.067, B: 57.096}, {L: 50, A: 5, B: 5}, {L: 10, A: 10, B: 10}, {L: 43, A: -13, B: 22}} {
		if SkinLike(c) {
			t.Errorf("SkinLike(%v) = true", c)
		}
	}
}

// The corners of sRGB carry their everyday names (Lab D50 computed from the
// primaries of IEC 61966-2-1).
func TestPrimariesNames(t *testing.T) {
	for _, p := range []struct {
		c    cie.Lab
		want Hue
	}{
		{cie.Lab{L: 54.29, A: 80.81, B: 69.89}, Red},
		{cie.Lab{L: 87.82, A: -79.27, B: 80.99}, Green},
		{cie.Lab{L: 29.57, A: 68.30, B: -112.03}, Blue},
		{cie.Lab{L: 97.61, A: -15.75, B: 93.39}, Yellow},
	} {
		if got := HueOf(p.c); got != p.want {
			t.Errorf("HueOf(%v, h %.1f) = %v, want %v", p.c, p.c.Hue(), got, p.want)
		}
	}
}

func TestHueCircleIsClosed(t *testing.T) {
	for _, l := range []float64{0, 3, 20, 50, 95} {
		for _, c := range []float64{9, 50, 130} {
			seen := map[Hue]bool{}
			last, changes := HueOf(lch(l, c, 359.9)), 0
			for a := 0.0; a < 360; a += 0.1 {
				h := HueOf(lch(l, c, a))
				if h != last {
					changes++
					if last.Next(1) != h || h.Next(-1) != last {
						t.Fatalf("L* %g, C* %g: at %.1f degrees %v follows %v", l, c, a, h, last)
					}
				}
				seen[h], last = true, h
			}
			if len(seen) != int(hueCount) || changes != int(hueCount) {
				t.Errorf("L* %g, C* %g: %d hues in %d pieces, want %d each", l, c, len(seen), changes, hueCount)
			}
		}
	}
}

func lch(l, c, h float64) cie.Lab { return cie.LCh{L: l, C: c, H: h}.Lab() }

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		from, to cie.Lab
		want     string
	}{
		{lch(45, 70, 30), lch(43, 60, 44), "turns 14 degrees from red towards orange, duller, a little darker"},
		{lch(45, 70, 30), lch(45, 70, 30.4), "unchanged to the eye"},
		{lch(45, 70, 30), lch(45, 70, 27), "turns 3 degrees from red towards magenta"},
		{lch(65, 40, 30), lch(65, 40, 20), "turns 10 degrees from red towards pink"},
		{lch(43, 26, 120), lch(43, 26, 108), "turns 12 degrees from yellow-green towards yellow"},
		{lch(40, 45, 64), lch(40, 45, 74), "turns 10 degrees from brown towards yellow"},
		{lch(65, 25, 50), lch(65, 25, 60), "turns 10 degrees towards yellow"}, // skin-like
		{lch(45, 70, 30), lch(45, 70, 90), "turns 60 degrees from red past orange to yellow"},
		{lch(50, 50, 350), lch(50, 50, 20), "turns 30 degrees from magenta towards red"},
		{lch(50, 0, 0), lch(50, 1.2, 60), "turns slightly warm"},
		{lch(50, 0, 0), lch(50, 2.5, 140), "turns greenish"},
		{lch(50, 0, 0), lch(50, 12, 265), "turns strongly bluish"},
		{lch(50, 6, 70), lch(50, 1, 70), "turns clearly more neutral"},
		{lch(50, 4, 60), lch(50, 3, 240), "turns clearly cool"},
		{lch(50, 0, 0), lch(56, 0, 0), "clearly lighter"},
		{lch(50, 0, 0), lch(48.5, 0, 0), "a little darker"},
		{lch(50, 20, 265), lch(50, 5, 265), "much duller (almost grey)"},
		{lch(50, 20, 150), lch(50, 40, 150), "much more vivid"},
	} {
		if got := Compare(c.from, c.to).Sentence(); got != c.want {
			t.Errorf("%v to %v: %q, want %q (%+v)", c.from.LCh(), c.to.LCh(), got, c.want, Compare(c.from, c.to).Terms)
		}
	}
}

// A difference spread over three components, none of which reaches 1.
func TestBarely(t *testing.T) {
	c := Compare(lch(50, 30, 150), lch(50.8, 31.8, 147.6))
	if c.Same() || c.Named() {
		t.Fatalf("terms %+v, ΔE00 %.2f: not the case meant", c.Terms, c.DeltaE00)
	}
	if got := c.Sentence(); !strings.HasPrefix(got, "barely changed, most of it in ") {
		t.Errorf("sentence %q", got)
	}
}

func TestOnSheet(t *testing.T) {
	c := Compare(lch(45, 70, 30), lch(45, 64, 33))
	if got, want := c.OnSheet("pearl", "shirt"), "On pearl this shirt prints 3 degrees towards orange and a little duller"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := c.OnSheet("matte", "Boat 3"), "On matte Boat 3 prints 3 degrees towards orange and a little duller"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	same := Compare(lch(45, 70, 30), lch(45, 70, 30))
	if got, want := same.OnSheet("pearl", ""), "On pearl this colour prints unchanged to the eye"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	grey := Compare(lch(50, 0, 0), lch(45, 1.2, 60))
	if got, want := grey.OnSheet("washi", "hull"), "On washi this hull prints slightly warm and clearly darker"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Without a figure, and to follow whatever it is told of.
func TestPlainly(t *testing.T) {
	for _, c := range []struct {
		from, to cie.Lab
		want     string
	}{
		{lch(45, 70, 30), lch(43, 60, 44), "strongly turned from red towards orange, duller and a little darker"},
		{lch(45, 70, 30), lch(45, 70, 30), "unchanged to the eye"},
		{lch(50, 0, 0), lch(45, 1.2, 60), "slightly warm and clearly darker"},
		{lch(50, 0, 0), lch(45, 0, 0), "clearly darker"},
		{lch(50, 30, 150), lch(50.8, 31.8, 147.6), "barely changed"},
	} {
		if got := Compare(c.from, c.to).Plainly(); got != c.want {
			t.Errorf("%v to %v: %q, want %q", c.from.LCh(), c.to.LCh(), got, c.want)
		}
	}
}

// A pin that is several things is spoken of as several.
func TestOfMany(t *testing.T) {
	red, turned, dark := lch(45, 70, 30), lch(43, 60, 44), lch(30, 70, 30)
	for _, c := range []struct{ got, want string }{
		{Compare(red, turned).Because("reeds", "R"), "These reeds turn 14 degrees from red towards orange, duller, a little darker, because R"},
		{Compare(red, dark).Because("reeds", "R"), "These reeds are much darker, because R"},
		{Compare(red, red).Because("reeds", "R"), "These reeds do not show it: R"},
		{Compare(red, dark).Of("skin-like"), "This skin-like colour is much darker"}, // the name that pins get which are proposed
		{Compare(red, dark).Of("skin-like 2"), "This skin-like colour 2 is much darker"},
		{Compare(red, dark).Because("glass", "R"), "This glass is much darker, because R"},
		{Compare(red, dark).Because("Swiftwings", "R"), "Swiftwings is much darker, because R"},
		{Compare(red, dark).OnSheet("Pearl", "leaves"), "On Pearl these leaves print much darker"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestBecause(t *testing.T) {
	c := Compare(lch(45, 70, 30), lch(43, 60, 44))
	want := "This shirt turns 14 degrees from red towards orange, duller, a little darker, because the driver took Display P3 numbers for sRGB numbers"
	if got := c.Because("shirt", Misread("the driver", "Display P3", "sRGB")); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	d := Compare(lch(50, 0, 0), lch(45, 0, 0))
	if got, want := d.Because("hull", Never("ROMM RGB", "pearl")), "This hull is clearly darker, because nobody converted: ROMM RGB numbers were sent as if they were the numbers of pearl"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	same := Compare(lch(50, 0, 0), lch(50, 0, 0))
	if got, want := same.Because("hull", OtherPaper("pearl", "matte")), "This hull does not show it: the numbers were made for pearl and printed on matte"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Whatever the two colours, a sentence names exactly the components whose terms
// reach 1, never a hue of near-neutrals, and degrees that agree with the angle.
func TestSentencesSayWhatTheFiguresSay(t *testing.T) {
	n := 0
	for l := 10.0; l < 100; l += 20 {
		for ch := 0.0; ch < 90; ch += 13 {
			for h := 0.0; h < 360; h += 17 {
				for _, d := range [][3]float64{{0, 0, 0}, {5, 3, 9}, {-4, 12, -20}, {0.5, -6, 70}, {-9, -11, 175}, {0, 0, -2}} {
					a, b := lch(l, ch, h), lch(l+d[0], max(0, ch+d[1]), h+d[2])
					c := Compare(a, b)
					s := c.Sentence()
					n++
					if (s == phraseSame) != (c.DeltaE00 < 1) {
						t.Fatalf("%v to %v: %q at ΔE00 %.2f", a, b, s, c.DeltaE00)
					}
					if strings.Contains(s, "degree") != (c.DeltaE00 >= 1 && math.Abs(c.Terms.Hue) >= 1 && a.Chroma() >= 8 && b.Chroma() >= 8) {
						t.Fatalf("%v to %v: %q with terms %+v", a, b, s, c.Terms)
					}
					if c.DeltaE00 >= 1 && strings.Contains(s, "darker") != (c.Terms.Lightness <= -1) {
						t.Fatalf("%v to %v: %q with terms %+v", a, b, s, c.Terms)
					}
					if strings.Contains(s, "duller") && c.Terms.Chroma > -1 {
						t.Fatalf("%v to %v: %q with terms %+v", a, b, s, c.Terms)
					}
					if c.Hue != Unnamed && math.Abs(math.Abs(cie.HueTurn(a.Hue(), b.Hue()))-float64(c.Degrees())) > 0.51 {
						t.Fatalf("%v to %v: %d degrees", a, b, c.Degrees())
					}
				}
			}
		}
	}
	if n < 4000 {
		t.Errorf("only %d sentences", n)
	}
}

func TestGrades(t *testing.T) {
	for _, g := range []struct {
		term float64
		want Grade
	}{{0, Unnamed}, {0.999, Unnamed}, {-1, Little}, {1.99, Little}, {2, Plain}, {-4, Clear}, {8, Much}, {math.NaN(), Unnamed}} {
		if got := GradeOf(g.term); got != g.want {
			t.Errorf("GradeOf(%g) = %d, want %d", g.term, got, g.want)
		}
	}
}

func ExampleChange_OnSheet() {
	shirt := cie.Lab{L: 44, A: 64, B: 42}
	printed := cie.Lab{L: 43, A: 57, B: 44}
	change := Compare(shirt, printed)
	fmt.Println(change.Sentence())
	fmt.Println(change.OnSheet("matte", "shirt"))
	// Output:
	// turns 4 degrees from red towards orange, a little duller
	// On matte this shirt prints 4 degrees towards orange and a little duller
}

func TestNamesInASentence(t *testing.T) {
	for _, c := range [][2]string{
		{The("shirt"), "the shirt"}, {The("Boat 3"), "Boat 3"}, {The("ähre"), "the ähre"}, {The(""), "this colour"},
		{Capital("ähre"), "Ähre"}, {Capital(""), ""}, {Stop("So it is"), "So it is."}, {Stop("So it is."), "So it is."}, {Stop(""), ""},
		{Degrees(1), "1 degree"}, {Degrees(14), "14 degrees"},
	} {
		if c[0] != c[1] {
			t.Errorf("%q, want %q", c[0], c[1])
		}
	}
}

// Values of the wrong kind are told by their place in the file, without Go's types.
func TestUnfitJSON(t *testing.T) {
	var job struct {
		Job struct {
			PPI  float64 `json:"ppi"`
			Crop struct{ W float64 }
		} `json:"job"`
	}
	for text, want := range map[string]string{
		`{"job":{"ppi":"x"}}`: `its "job.ppi" cannot be a text`, `{"job":{"crop":{"W":[1]}}}`: `its "job.crop.w" cannot be a list`,
		`{"job":7}`: `its "job" cannot be a number`, `[]`: "it cannot be a list", `{"job":{"ppi":1e999}}`: `its "job.ppi" cannot be the number 1e999`,
		`{`: "unexpected end of JSON input",
	} {
		if got := Unfit(json.Unmarshal([]byte(text), &job)); got == nil || got.Error() != want {
			t.Errorf("%s is told as %v, want %s", text, got, want)
		}
	}
}
