package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/kovidgoyal/imaging/prism/meta/icc"

	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/space"
)

// colours are a few hundred: a lattice, the grey axis, and some at random with
// fractions.
func colours() [][]float64 {
	var c [][]float64
	for r := 0.0; r <= 255; r += 51 {
		for g := 0.0; g <= 255; g += 51 {
			for b := 0.0; b <= 255; b += 51 {
				c = append(c, []float64{r, g, b})
			}
		}
	}
	for v := 0.0; v <= 255; v += 8.5 {
		c = append(c, []float64{v, v, v})
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 80 {
		c = append(c, []float64{
			math.Round(random.Float64()*255e3) / 1e3, math.Round(random.Float64()*255e3) / 1e3, math.Round(random.Float64()*255e3) / 1e3,
		})
	}
	return c
}

// The utility prints four decimals and is fed with them from link to link; the
// library itself computes tables in single precision. In Lab this comes to a few
// thousandths.
const (
	labTolerance    = 0.01
	screenTolerance = 0.03 // of 255: a step of Lab 0.01 is up to 0.03 in dark colours
	inkTolerance    = 1e-4 // of 1: steep curves near their ends multiply the rounding between two links
	reachTolerance  = 0.02 // ΔE00: near black the ideal inks' profile multiplies the rounding, too
)

// target is a paper with what the utility needs to know of it.
type target struct {
	name, ref, file string
	channels        int
	full            float64 // what the utility counts a channel to
	source          string  // flag of ours
	sourceFile      string  // name for the utility
}

func targets(t *testing.T) []target {
	cmyk := func(name string) target {
		return target{name, profiles + name, profiles + name, 4, 100, "srgb", "*sRGB"}
	}
	pearl, cotton := paperFile(t, "pearl", ""), paperFile(t, "cotton", "")
	return []target{
		cmyk("FOGRA39L_coated.icc"), cmyk("ISOcoated_v2_300_bas.icc"), cmyk("cmyk.icc"), cmyk("default_cmyk.icc"),
		cmyk("ps_cmyk.icc"), // version 4, perceptual tables only, XYZ as connection space
		{"pearl from a file's space", "pearl", pearl, 3, 255, profiles + "rommrgb.icc", profiles + "rommrgb.icc"},
		{"cotton", "cotton", cotton, 3, 255, "srgb", "*sRGB"},
	}
}

// Every intent, compensation and look against the reference utility, link by link.
// It is the same library: this checks which links are made and in which order, not
// the library's arithmetic.
func TestValuesAgainstTransicc(t *testing.T) {
	all := colours()
	for _, p := range targets(t) {
		t.Run(p.name, func(t *testing.T) {
			t.Parallel()
			original := transicc(t, all, "-i", p.sourceFile, "-o", "*Lab", "-t1")
			there := transicc(t, original, "-i", "*Lab", "-o", p.file, "-t1")
			again := transicc(t, there, "-i", p.file, "-o", "*Lab", "-t1")
			for intent, name := range []string{"perceptual", "relative", "saturation", "absolute"} {
				for _, bpc := range []string{"on", "off"} {
					args := []string{"-i", p.sourceFile, "-o", p.file, fmt.Sprintf("-t%d", intent)}
					if bpc == "on" {
						args = append(args, "-b")
					}
					device := clipped(transicc(t, all, args...), p.full)
					for look, white := range map[string]string{"-t1": "screen", "-t3": "paper"} {
						print := transicc(t, device, "-i", p.file, "-o", "*Lab", look)
						screen := clipped(transicc(t, print, "-i", "*Lab", "-o", "*sRGB", "-t1"), 255)
						got := values(t, all, "-source", p.source, "-paper", p.ref, "-intent", name, "-bpc", bpc, "-white", white, "-device")
						compare(t, fmt.Sprintf("%s, compensation %s, %s's white", name, bpc, white), got, p, original, device, print, screen)
						checkDifferences(t, got, again)
					}
				}
			}
		})
	}
}

// compare checks a table of ours against the links run by the utility; nil ones
// are passed over.
func compare(t *testing.T, what string, got table, p target, original, device, print, screen [][]float64) {
	t.Helper()
	for _, c := range []struct {
		name      string
		got, want [][]float64
		tolerance float64
	}{
		{"original", got.rows("L0", "a0", "b0"), original, labTolerance},
		{"device", got.inks(p.channels), scaled(device, 1/p.full), inkTolerance},
		{"print", got.rows("L", "a", "b"), print, labTolerance},
		{"screen", got.rows("R", "G", "B"), screen, screenTolerance},
	} {
		if c.want == nil {
			continue
		}
		if row, d := worst(c.got, c.want); !(d <= c.tolerance) {
			t.Errorf("%s: %s of row %d = %.4f, want %.4f ± %g", what, c.name, row, c.got[row], c.want[row], c.tolerance)
		}
	}
}

// checkDifferences checks the two difference columns by the formula, which has
// published pairs of its own in package cie.
func checkDifferences(t *testing.T, got table, again [][]float64) {
	t.Helper()
	for i := range got["L"] {
		at := func(l, a, b string) cie.Lab { return cie.Lab{L: got[l][i], A: got[a][i], B: got[b][i]} }
		if d := math.Abs(cie.DeltaE00(at("L0", "a0", "b0"), at("L", "a", "b")) - got["dE00"][i]); d > 1e-4 {
			t.Errorf("row %d: dE00 is off by %.5f", i, d)
		}
		reach := cie.DeltaE00(at("L0", "a0", "b0"), cie.Lab{L: again[i][0], A: again[i][1], B: again[i][2]})
		if d := math.Abs(reach - got["reach"][i]); d > reachTolerance {
			t.Errorf("row %d: reach = %.4f, want %.4f", i, got["reach"][i], reach)
		}
	}
}

// Every slip against the utility run step by step.
func TestSlipsAgainstTransicc(t *testing.T) {
	all := colours()
	pearl, cotton := paperFile(t, "pearl", ""), paperFile(t, "cotton", "")
	a98, fogra, web := profiles+"a98.icc", profiles+"FOGRA39L_coated.icc", profiles+"default_cmyk.icc"
	rgb := target{channels: 3, full: 255}
	cmyk := target{channels: 4, full: 100}
	convert := func(numbers [][]float64, full float64, args ...string) [][]float64 {
		return clipped(transicc(t, numbers, args...), full)
	}
	original := transicc(t, all, "-i", "*sRGB", "-o", "*Lab", "-t1")
	onPearl := convert(all, 255, "-i", "*sRGB", "-o", pearl, "-t1", "-b")
	onCotton := convert(all, 255, "-i", "*sRGB", "-o", cotton, "-t1", "-b")
	misread := convert(all, 255, "-i", a98, "-o", pearl, "-t1", "-b")
	for _, c := range []struct {
		name   string
		flags  []string
		paper  string // printed on
		kind   target
		device [][]float64
	}{
		{"none", nil, pearl, rgb, onPearl},
		{"twice", []string{"-slip", "twice"}, pearl, rgb,
			convert(onPearl, 255, "-i", "*sRGB", "-o", pearl, "-t0")},
		{"twice, second relative", []string{"-slip", "twice", "-second", "relative"}, pearl, rgb,
			convert(onPearl, 255, "-i", "*sRGB", "-o", pearl, "-t1")},
		{"twice, read as another space", []string{"-slip", "twice", "-reads", a98, "-second", "saturation"}, pearl, rgb,
			convert(onPearl, 255, "-i", a98, "-o", pearl, "-t2")},
		{"never", []string{"-slip", "never"}, pearl, rgb, all},
		{"other paper", []string{"-slip", "otherpaper", "-otherpaper", "cotton"}, pearl, rgb, onCotton},
		{"twice with the other paper", []string{"-slip", "twice,otherpaper", "-otherpaper", "cotton"}, pearl, rgb,
			convert(onPearl, 255, "-i", "*sRGB", "-o", cotton, "-t0")},
		{"wrong source", []string{"-slip", "wrongsource", "-reads", a98}, pearl, rgb, misread},
		{"wrong source, then twice", []string{"-slip", "twice,wrongsource", "-reads", a98}, pearl, rgb,
			convert(misread, 255, "-i", "*sRGB", "-o", pearl, "-t0")},
		{"wrong source with the other paper", []string{"-slip", "wrongsource,otherpaper", "-reads", a98, "-otherpaper", "cotton"}, pearl, rgb,
			convert(all, 255, "-i", a98, "-o", cotton, "-t1", "-b")},
		{"compensation", []string{"-slip", "compensation"}, pearl, rgb,
			convert(all, 255, "-i", "*sRGB", "-o", pearl, "-t1")},
		{"wrong media setting", []string{"-slip", "wrongsetting", "-setting", "matte"}, paperFile(t, "pearl", "matte"), rgb, onPearl},
		{"twice on inks", []string{"-slip", "twice", "-reads", web}, fogra, cmyk,
			convert(convert(all, 100, "-i", "*sRGB", "-o", fogra, "-t1", "-b"), 100, "-i", web, "-o", fogra, "-t0")},
		{"other paper on inks", []string{"-slip", "otherpaper", "-otherpaper", web}, fogra, cmyk,
			convert(all, 100, "-i", "*sRGB", "-o", web, "-t1", "-b")},
	} {
		paper := "pearl"
		if c.kind.channels == 4 {
			paper = fogra
		}
		for look, white := range map[string]string{"-t1": "screen", "-t3": "paper"} {
			print := transicc(t, c.device, "-i", c.paper, "-o", "*Lab", look)
			flags := append([]string{"-source", "srgb", "-paper", paper, "-white", white, "-device"}, c.flags...)
			compare(t, c.name+", "+white+"'s white", values(t, all, flags...), c.kind, original, c.device, print,
				clipped(transicc(t, print, "-i", "*Lab", "-o", "*sRGB", "-t1"), 255))
		}
	}
}

// A screen too bright dims the absolute look in XYZ and nothing else: the formula
// by hand, the screen by the utility.
func TestBrightScreen(t *testing.T) {
	all := colours()
	right := values(t, all, "-source", "srgb", "-paper", "pearl", "-white", "paper")
	dim := values(t, all, "-source", "srgb", "-paper", "pearl", "-white", "paper", "-slip", "brightscreen")
	if row, d := worst(right.rows("L", "a", "b", "dE00", "reach"), dim.rows("L", "a", "b", "dE00", "reach")); d != 0 {
		t.Errorf("row %d: the figures change by %g", row, d)
	}
	var look [][]float64
	for _, c := range right.rows("L", "a", "b") {
		// 315 lx on the print, 160 cd/m2 on the screen: 315 / pi / 160, rounded.
		l := cie.Lab{L: c[0], A: c[1], B: c[2]}.ToXYZ(cie.D50).Scale(0.63).ToLab(cie.D50)
		look = append(look, []float64{l.L, l.A, l.B})
	}
	want := clipped(transicc(t, look, "-i", "*Lab", "-o", "*sRGB", "-t1"), 255)
	if row, d := worst(dim.rows("R", "G", "B"), want); d > screenTolerance {
		t.Errorf("row %d: screen %.4f, want %.4f", row, dim.rows("R", "G", "B")[row], want[row])
	}
}

// A screen's own profile tells what it is fed with.
func TestScreenProfileAgainstTransicc(t *testing.T) {
	all := colours()
	for _, file := range []string{"a98.icc", "SwappedRedAndGreen.icc", "LStar-RGB.icc"} {
		got := values(t, all, "-source", "srgb", "-paper", "pearl", "-screen", profiles+file)
		want := clipped(transicc(t, got.rows("L", "a", "b"), "-i", "*Lab", "-o", profiles+file, "-t1"), 255)
		if row, d := worst(got.rows("R", "G", "B"), want); d > screenTolerance {
			t.Errorf("%s: row %d = %.4f, want %.4f", file, row, got.rows("R", "G", "B")[row], want[row])
		}
	}
}

// Built-in spaces against their own profiles in the utility. A profile in a file has
// rounded colorants: up to about 0.03 in Lab.
func TestSpacesAgainstTransicc(t *testing.T) {
	all := colours()
	for _, s := range space.All() {
		file := filepath.Join(t.TempDir(), s.ID+".icc")
		if err := os.WriteFile(file, s.ICC(), 0o600); err != nil {
			t.Fatal(err)
		}
		got := values(t, all, "-source", s.ID, "-paper", "pearl")
		want := transicc(t, all, "-i", file, "-o", "*Lab", "-t1")
		if row, d := worst(got.rows("L0", "a0", "b0"), want); d > 0.03 {
			t.Errorf("%s: row %d = %.4f, want %.4f", s.ID, row, got.rows("L0", "a0", "b0")[row], want[row])
		}
	}
}

// A second opinion: an implementation of ICC tables in Go that shares no code with
// Little CMS (kovidgoyal/imaging). Single and double precision apart, and where
// either clips, they agree far below what an eye sees.
func TestAgainstIndependentTables(t *testing.T) {
	const tolerance = 0.02 // ΔE00
	all := colours()
	for _, c := range []struct {
		ref      string
		data     []byte
		channels int
	}{
		{profiles + "FOGRA39L_coated.icc", nil, 4}, // lut16, 9 and 17 nodes
		{profiles + "ISOcoated_v2_300_bas.icc", nil, 4},
		{"pearl", builtinData(t, "pearl"), 3},
		{"cotton", builtinData(t, "cotton"), 3},
	} {
		if c.data == nil {
			data, err := os.ReadFile(c.ref)
			if err != nil {
				t.Fatal(err)
			}
			c.data = data
		}
		for intent, name := range map[icc.RenderingIntent]string{
			icc.PerceptualRenderingIntent: "perceptual", icc.RelativeColorimetricRenderingIntent: "relative", icc.SaturationRenderingIntent: "saturation",
		} {
			profile, err := icc.NewProfileReader(bytes.NewReader(c.data)).ReadProfile()
			if err != nil {
				t.Fatal(err)
			}
			into, err := profile.CreateTransformerToDevice(intent, false, false)
			if err != nil {
				t.Fatal(err)
			}
			look, err := profile.CreateTransformerToPCS(icc.RelativeColorimetricRenderingIntent, c.channels, false)
			if err != nil {
				t.Fatal(err)
			}
			got := values(t, all, "-source", "srgb", "-paper", c.ref, "-intent", name, "-bpc", "off")
			var largest float64
			for i, rgb := range all {
				// The original by the published matrix and curve, not by a library.
				o := space.SRGB().ToLab(rgb[0]/255, rgb[1]/255, rgb[2]/255)
				in, device, out := []float64{o.L, o.A, o.B, 0}, make([]float64, 4), make([]float64, 4)
				into.TransformGeneral(device, in)
				look.TransformGeneral(out, device)
				want := cie.Lab{L: out[0], A: out[1], B: out[2]}
				d := cie.DeltaE00(cie.Lab{L: got["L"][i], A: got["a"][i], B: got["b"][i]}, want)
				largest = max(largest, d)
				if d > tolerance || math.IsNaN(d) {
					t.Errorf("%s, %s: %v prints as %.3f %.3f %.3f, want %.3f", c.ref, name, rgb, got["L"][i], got["a"][i], got["b"][i], want)
				}
			}
			t.Logf("%s, %s: largest difference %.4f ΔE00", c.ref, name, largest)
		}
	}
}

func builtinData(t *testing.T, id string) []byte {
	t.Helper()
	p, err := paper.Open(t.TempDir()).Resolve(id)
	if err != nil {
		t.Fatal(err)
	}
	return p.Profile.Data()
}
