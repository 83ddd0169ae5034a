package printfile

import (
	"fmt"
	"math"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/paper"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// Verdict answers whether a picture was converted for printing already.
type Verdict struct {
	// Converted says that it was, Certain that its profile says so and not only the
	// look of its numbers.
	Converted, Certain bool
	// Paper names the paper or profile whose numbers it holds.
	Paper string
	// Why is a sentence for the person, "" for a picture that was not.
	Why string
}

// Converted finds out whether a picture's numbers are a print's already, so that
// converting them again would be a mistake.
//
// An embedded profile of class output is proof. Without one, a black and white picture
// in RGB can be told by its numbers: conversion moves greys from equal red, green and
// blue to a line that is the paper's own. The verdict is that they moved when two
// fifths of the pixels lie on the line of one of the papers given, where that is
// clearly off equal numbers, and six times as many as on its mirror image, which a mere
// toning would fill as well as not. A coloured picture's numbers tell nothing that
// could be relied on (tried on eight photographs: pictures that were never converted
// have as much on such a line as converted ones), nor do papers whose greys stay equal
// numbers, as those of the built-in ones: no word does not mean that all is well.
func Converted(e Engine, s setup.Source, papers []paper.Paper) (Verdict, error) {
	if s.Profile.Class() == icc.ClassOutput {
		name := s.Profile.Name()
		return Verdict{true, true, name, fmt.Sprintf("This picture was converted for printing already: it holds the numbers of %s. Converting it once more is the very mistake that spoils prints.", name)}, nil
	}
	if s.Picture.Channels != 3 || s.Profile.ColorSpace() != icc.SpaceRGB {
		return Verdict{}, nil
	}
	h := gather(s.Pixels())
	best, most := "", 0.0
	for _, p := range papers {
		if p.Profile.ColorSpace() != icc.SpaceRGB {
			continue
		}
		for _, i := range []proof.Intent{proof.RelativeColorimetric, proof.Perceptual} {
			line, err := greyLine(e, p.Profile, i)
			if err != nil {
				return Verdict{}, err
			}
			if share := h.moved(line); share > most {
				best, most = p.Name, share
			}
		}
	}
	if best == "" {
		return Verdict{}, nil
	}
	return Verdict{true, false, best, fmt.Sprintf("This picture looks as if it had been converted for %s already, although its file does not say so: %.0f %% of it lie where that paper’s greys do. Look where it came from before you convert it.", best, most*100)}, nil
}

// greyLine returns the numbers of a paper for 256 greys.
func greyLine(e Engine, p *proof.Profile, intent proof.Intent) ([][3]float64, error) {
	srgb := proof.SpaceProfile(space.SRGB())
	c, err := e.Chain(proof.Plan{Source: srgb, Paper: p, Screen: srgb,
		Conversions: []proof.Conversion{{From: srgb, To: p, Intent: intent, BPC: true, By: setup.Converter}}})
	if err != nil {
		return nil, err
	}
	defer c.Close()
	var src []float64
	for i := range 256 {
		v := float64(i) / 255
		src = append(src, v, v, v)
	}
	device, err := c.Device(src)
	if err != nil {
		return nil, err
	}
	out := make([][3]float64, 256)
	for i, v := range device {
		out[i/3][i%3] = v * 255
	}
	return out, nil
}

// chroma is a picture's pixels by their sum and by how far red and blue lie from green,
// in steps of 8 bits, near the line of equal numbers.
type chroma struct {
	count [256][2*offEqual + 1][2*offEqual + 1]int32
	total int
}

// offEqual is how far from equal numbers a grey is looked for.
const offEqual = 40

// gather counts some of the pixels: a quarter million are enough for shares.
func gather(px raster.Pixels) *chroma {
	h := &chroma{}
	step := max(1, int(math.Sqrt(float64(px.W)*float64(px.H)/250_000)))
	var v []float64
	for y := 0; y < px.H; y += step {
		for x := 0; x < px.W; x += step {
			v = px.At(v[:0], x, y)
			h.total++
			r, g, b := v[0]*255, v[1]*255, v[2]*255
			dr, db := int(math.Round(r-g)), int(math.Round(b-g))
			if max(dr, -dr) <= offEqual && max(db, -db) <= offEqual {
				h.count[int(math.Round((r+g+b)/3))][dr+offEqual][db+offEqual]++
			}
		}
	}
	return h
}

// Places on a line count where it is clearly off equal numbers, and neither nearly
// black nor nearly white, where lines meet and pictures clip.
const (
	clearOff  = 6.0 // steps of 8 bits
	leastSeen = 0.4
	timesMore = 6
)

// moved returns the share of pixels on a line, 0 unless they tell that the greys have
// moved there.
func (h *chroma) moved(line [][3]float64) float64 {
	var on, equal, mirror int
	for level := 25; level <= 230; level++ {
		dr, db := offsets(line, float64(level))
		if math.Max(math.Abs(dr), math.Abs(db)) < clearOff {
			continue
		}
		on += h.around(level, dr, db)
		equal += h.around(level, 0, 0)
		mirror += h.around(level, -dr, -db)
	}
	if share := float64(on) / float64(max(h.total, 1)); share >= leastSeen && on >= timesMore*max(equal, mirror) {
		return share
	}
	return 0
}

// offsets returns how far red and blue lie from green where the line's mean is level.
func offsets(line [][3]float64, level float64) (dr, db float64) {
	mean := func(v [3]float64) float64 { return (v[0] + v[1] + v[2]) / 3 }
	i := 0
	for i < len(line)-2 && mean(line[i+1]) < level {
		i++
	}
	a, b := line[i], line[i+1]
	f := 0.0
	if d := mean(b) - mean(a); d > 0 {
		f = min(max((level-mean(a))/d, 0), 1)
	}
	at := func(k int) float64 { return a[k]*(1-f) + b[k]*f }
	return at(0) - at(1), at(2) - at(1)
}

// around counts pixels of a level within a step and a half of a place.
func (h *chroma) around(level int, dr, db float64) int {
	n := 0
	x, y := int(math.Round(dr))+offEqual, int(math.Round(db))+offEqual
	for i := max(x-1, 0); i <= min(x+1, 2*offEqual); i++ {
		for j := max(y-1, 0); j <= min(y+1, 2*offEqual); j++ {
			n += int(h.count[level][i][j])
		}
	}
	return n
}
