package check

import (
	"fmt"
	"math"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Group is a part of the sheet.
type Group uint8

// The groups, in the order in which they stand on the sheet.
const (
	Greys    Group = iota // the grey ramp
	Casts                 // greys with a slight cast of each hue
	Blacks                // the darkest steps
	Whites                // the lightest steps
	Hues                  // six hues from light over full to dark
	Memories              // colours that everybody knows, skin among them
	Groups
)

func (g Group) String() string {
	return [...]string{"grey ramp", "near greys", "near black", "near white", "six hues", "memory colours"}[g]
}

// Patch is one even field of the sheet.
type Patch struct {
	// ID is the group's letter and a number that counts from 1: G01.
	ID    string
	Name  string
	Group Group
	// RGB are the numbers in the sheet's space, 0 to 1, in steps of 1/255.
	RGB [3]float64
}

const letters = "GCBWHM"

// hueNames are the ramps, in the order of the hue circle; each is full where its
// channels are.
var hueNames = [6]string{"red", "yellow", "green", "cyan", "blue", "magenta"}

// steps of a hue: how much of the way to white (above 0) or black (below).
var hueSteps = [8]float64{0.75, 0.5, 0.25, 0, -0.2, -0.4, -0.6, -0.8}

// memory colours are round CIELAB figures near what such things look like; no
// source, and none is needed: the sheet's table says what they are.
var memories = []struct {
	name string
	lab  cie.Lab
}{
	{"very light skin", cie.Lab{L: 85, A: 8, B: 13}}, {"light skin", cie.Lab{L: 75, A: 14, B: 18}},
	{"tanned skin", cie.Lab{L: 65, A: 17, B: 23}}, {"brown skin", cie.Lab{L: 52, A: 17, B: 22}},
	{"dark skin", cie.Lab{L: 38, A: 15, B: 18}}, {"very dark skin", cie.Lab{L: 26, A: 10, B: 11}},
	{"blue sky", cie.Lab{L: 66, A: -8, B: -26}}, {"evening sky", cie.Lab{L: 78, A: 16, B: 14}},
	{"grass", cie.Lab{L: 52, A: -30, B: 38}}, {"reeds", cie.Lab{L: 62, A: 0, B: 38}},
	{"fir", cie.Lab{L: 32, A: -16, B: 12}}, {"sand", cie.Lab{L: 78, A: 3, B: 20}},
	{"brick", cie.Lab{L: 42, A: 34, B: 26}}, {"wood", cie.Lab{L: 45, A: 13, B: 26}},
	{"lemon", cie.Lab{L: 86, A: -3, B: 70}}, {"orange fruit", cie.Lab{L: 67, A: 36, B: 62}},
	{"tomato", cie.Lab{L: 46, A: 56, B: 40}}, {"plum", cie.Lab{L: 27, A: 22, B: -12}},
}

// Patches returns the even fields of a sheet in a space, in the order of the
// sheet. A memory colour that the space cannot hold is clipped to it.
func Patches(s space.Space) []Patch {
	var all []Patch
	counts := [Groups]int{}
	add := func(g Group, name string, rgb [3]float64) {
		counts[g]++
		for i, v := range rgb {
			rgb[i] = math.Round(255*min(max(v, 0), 1)) / 255
		}
		all = append(all, Patch{ID: fmt.Sprintf("%c%02d", letters[g], counts[g]), Name: name, Group: g, RGB: rgb})
	}
	const greys = 24
	for i := range greys {
		v := float64(i) / (greys - 1)
		add(Greys, fmt.Sprintf("grey %.0f %%", 100*v), [3]float64{v, v, v})
	}
	// A cast of 5 steps of 255 is seen by a trained eye (common practice, no source).
	for _, level := range []float64{64, 128, 192, 224} {
		for h, name := range hueNames {
			full := hueAt(h)
			var rgb [3]float64
			for k := range rgb {
				rgb[k] = (level + 10*full[k] - 5) / 255
			}
			add(Casts, fmt.Sprintf("grey %.0f %% towards %s", level/2.55, name), rgb)
		}
	}
	for i := range 12 {
		v := float64(3*i) / 255
		add(Blacks, fmt.Sprintf("black %d", 3*i), [3]float64{v, v, v})
	}
	for i := range 12 {
		v := float64(255-2*i) / 255
		add(Whites, fmt.Sprintf("white %d", 255-2*i), [3]float64{v, v, v})
	}
	for h, name := range hueNames {
		full := hueAt(h)
		for i, step := range hueSteps {
			var rgb [3]float64
			for k, v := range full {
				if step >= 0 {
					rgb[k] = v + (1-v)*step
				} else {
					rgb[k] = v * (1 + step)
				}
			}
			add(Hues, fmt.Sprintf("%s %d", name, i+1), rgb)
		}
	}
	for _, m := range memories {
		add(Memories, m.name, s.FromLab(m.lab))
	}
	return all
}

// hueAt returns the full numbers of one of the six hues.
func hueAt(h int) [3]float64 {
	var rgb [3]float64
	for k := range rgb {
		// Red is full within 60 degrees of its own hue, and so on.
		if d := (h - 2*k + 12) % 6; d <= 1 || d == 5 {
			rgb[k] = 1
		}
	}
	return rgb
}
