// Package evenness measures how evenly a paper's profile prints colours that lie
// side by side: a table from Lab that jumps tears skies and folds apart, however
// near each single colour is to the one that was asked for.
//
// All colours are CIELAB under D50, relative to the paper's white. A step is the
// CIEDE2000 difference of two prints over the difference of the two colours asked
// for: 1 is exact, 0 flattens, much more than 1 tears.
package evenness

import (
	"math"
	"math/rand/v2"
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Print returns what colours come out as, in the same order.
type Print func(asked []cie.Lab) []cie.Lab

// Steps sums up steps.
type Steps struct {
	Count int
	// P999 is the 99.9th percentile by nearest rank, Max the largest step, between
	// the two colours of Worst.
	P999, Max float64
	Worst     [2]cie.Lab
}

// Figures are what [Measure] finds.
type Figures struct {
	// SRGB are the steps between neighbours of a lattice inside sRGB; Shell those
	// inside ROMM RGB between colours that come out within ShellDepth of what was
	// asked for; Lines those along straight lines through the sRGB cube.
	SRGB, Shell, Lines Steps
	// Fall is by how much L* falls, at most, on ramps from black over a full colour
	// of sRGB to white, where it should rise; FallHue is that ramp's HSV hue.
	Fall, FallHue float64
	// Clip is the mean CIEDE2000 difference between asked and printed over the
	// lattice inside sRGB, Wide the same inside ROMM RGB.
	Clip, Wide float64
}

const (
	// Lattice is the distance of neighbours in L*, a* and b*: about that of the
	// nodes of a profile's table near neutral.
	Lattice = 4
	// ShellDepth is how far outside its reach a paper is asked for colours by
	// pictures in a wide space, in ΔE00.
	ShellDepth = 10
	// flat leaves out pairs that are asked for so close together that rounding
	// would decide.
	flat = 0.05
)

// Measure measures print. It takes about 200,000 colours.
func Measure(print Print) Figures {
	srgb := space.SRGB()
	romm, _ := space.ByID("romm")
	var f Figures
	all := lattice(romm)
	printed := print(all)
	at := make(map[[3]int]int, len(all))
	small := make([]bool, len(all))
	near := make([]bool, len(all))
	inSRGB := within(srgb)
	n := 0
	for i, c := range all {
		at[place(c)] = i
		d := cie.DeltaE00(c, printed[i])
		f.Wide += d / float64(len(all))
		near[i] = d <= ShellDepth
		if small[i] = inSRGB(c); small[i] {
			f.Clip += d
			n++
		}
	}
	f.Clip /= float64(n)
	var inside, shell collector
	for i, c := range all {
		p := place(c)
		for axis := range p {
			q := p
			q[axis]++
			j, ok := at[q]
			if !ok {
				continue
			}
			if small[i] && small[j] {
				inside.add(c, all[j], printed[i], printed[j])
			}
			if near[i] && near[j] {
				shell.add(c, all[j], printed[i], printed[j])
			}
		}
	}
	f.SRGB, f.Shell = inside.sum(), shell.sum()
	f.Lines = lines(srgb, print)
	f.Fall, f.FallHue = fall(srgb, print)
	return f
}

func place(c cie.Lab) [3]int {
	return [3]int{int(math.Round(c.L / Lattice)), int(math.Round(c.A / Lattice)), int(math.Round(c.B / Lattice))}
}

// within returns whether a space holds a colour.
func within(s space.Space) func(cie.Lab) bool {
	inverse, _ := s.ToXYZ().Inverse()
	return func(c cie.Lab) bool {
		x := c.ToXYZ(cie.D50)
		for _, v := range inverse.Apply([3]float64{x.X, x.Y, x.Z}) {
			if v < 0 || v > 1 {
				return false
			}
		}
		return true
	}
}

func lattice(s space.Space) (all []cie.Lab) {
	in := within(s)
	for l := 0; l <= 100; l += Lattice {
		for a := -128; a <= 124; a += Lattice {
			for b := -128; b <= 124; b += Lattice {
				if c := (cie.Lab{L: float64(l), A: float64(a), B: float64(b)}); in(c) {
					all = append(all, c)
				}
			}
		}
	}
	return all
}

type step struct {
	size float64
	pair [2]cie.Lab
}

type collector []step

func (s *collector) add(from, to, printedFrom, printedTo cie.Lab) {
	if in := cie.DeltaE00(from, to); in > flat {
		*s = append(*s, step{cie.DeltaE00(printedFrom, printedTo) / in, [2]cie.Lab{from, to}})
	}
}

func (s collector) sum() Steps {
	if len(s) == 0 {
		return Steps{}
	}
	slices.SortFunc(s, func(a, b step) int {
		switch {
		case a.size < b.size:
			return -1
		case a.size > b.size:
			return 1
		}
		return 0
	})
	last := s[len(s)-1]
	return Steps{len(s), s[(len(s)*999+999)/1000-1].size, last.size, last.pair}
}

// lines walks straight lines between random points on the faces of the cube.
func lines(s space.Space, print Print) Steps {
	const count, points = 400, 65
	r := rand.New(rand.NewPCG(1931, 1976))
	face := func() [3]float64 {
		v := [3]float64{r.Float64(), r.Float64(), r.Float64()}
		v[r.IntN(3)] = float64(r.IntN(2))
		return v
	}
	var all []cie.Lab
	for range count {
		a, b := face(), face()
		for i := range points {
			t := float64(i) / (points - 1)
			all = append(all, s.ToLab(a[0]+t*(b[0]-a[0]), a[1]+t*(b[1]-a[1]), a[2]+t*(b[2]-a[2])))
		}
	}
	printed := print(all)
	var c collector
	for i := range all {
		if i%points > 0 {
			c.add(all[i-1], all[i], printed[i-1], printed[i])
		}
	}
	return c.sum()
}

func fall(s space.Space, print Print) (most, hue float64) {
	const hues, points = 72, 129
	var all []cie.Lab
	for h := range hues {
		c := full(float64(h) * 360 / hues)
		for i := range points {
			t := 2 * float64(i) / (points - 1)
			v := [3]float64{c[0] * t, c[1] * t, c[2] * t}
			if t > 1 {
				v = [3]float64{c[0] + (t-1)*(1-c[0]), c[1] + (t-1)*(1-c[1]), c[2] + (t-1)*(1-c[2])}
			}
			all = append(all, s.ToLab(v[0], v[1], v[2]))
		}
	}
	top := 0.0
	for i, c := range print(all) {
		if i%points == 0 || c.L > top {
			top = c.L
		}
		if top-c.L > most {
			most, hue = top-c.L, float64(i/points)*360/hues
		}
	}
	return most, hue
}

// full returns the full colour of an HSV hue in degrees.
func full(hue float64) [3]float64 {
	var v [3]float64
	for ch := range v {
		d := math.Abs(math.Remainder(hue-120*float64(ch), 360)) / 60
		v[ch] = min(max(2-d, 0), 1)
	}
	return v
}
