package view

import (
	"fmt"
	"image/color"
	"math"

	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/words"
)

const vergesFoot = "Squares are the picture’s own colours within 5 Lab units of the cut, every pixel counted; a line is where a paper ends. " +
	"What lies outside a line, that paper can’t print. A click in one diagram moves the cut of the other."

const noPinsText = "No pins on the picture yet. With pins, a click on one cuts through its colour."

// vergeScene is all that is painted, never changed once it is made.
type vergeScene struct {
	light, hue float64
	most       float64 // the largest chroma of the scale
	points     []gamut.Point
	pixels     float64
	lines      []sceneLine
	pins       []scenePin
}

type sceneLine struct {
	name    string
	pattern plot.Pattern
	outline *gamut.Outline
	heavy   bool
}

type scenePin struct {
	name     string
	at, goes cie.Lab
	moved    bool
	colour   color.RGBA
	chosen   bool
}

// The scale goes to 60 at least and to 140 at most, in tens.
const (
	leastScale = 60
	mostScale  = 140
)

func (v *verges) newScene(now session.State) *vergeScene {
	sc := &vergeScene{light: v.light, hue: v.hue, most: leastScale}
	if v.cloud != nil {
		sc.points, sc.pixels = v.cloud.Points, v.cloud.Pixels
		sc.most = math.Max(sc.most, v.cloud.MostChroma())
	}
	sh, n := now.Proof()
	for _, l := range v.lines {
		if o := l.end(v.absolute).outline; l.on && o != nil {
			sc.lines = append(sc.lines, sceneLine{l.name, l.pattern, o, n >= 0 && l.id == sh.Paper && l.id != ""})
			sc.most = math.Max(sc.most, o.MostChroma())
		}
	}
	sc.most = math.Min(mostScale, 10*math.Ceil(sc.most*1.03/10))
	sc.pins = v.scenePins(now, max(n, 0))
	return sc
}

// scenePins are the pins whose colour is known, with where a sheet prints them.
func (v *verges) scenePins(now session.State, sheet int) []scenePin {
	var pins []scenePin
	for i, val := range now.Values[sheet][:now.NumPins] {
		if !val.Known {
			continue
		}
		p := scenePin{name: now.Pins[i].Name, chosen: i == now.Pin, colour: v.pinSeen.at(i), at: val.Original}
		if sh := now.Sheets[sheet]; sh.IsProof() {
			p.goes, p.moved = val.Relative, true
			if paper, ok := v.h.Session.Store().Paper(sh.Paper); ok && v.absolute {
				p.goes = p.goes.OnWhite(paper.White())
			}
		}
		pins = append(pins, p)
	}
	return pins
}

// sliceText says what a slice of the picture holds, and how much of that lies outside
// the active sheet's paper.
func (sc *vergeScene) sliceText(in gamut.Slice, which string) string {
	switch {
	case sc.points == nil:
		return ""
	case in.Weight == 0:
		return "Nothing of the picture is " + which + "."
	}
	text := fmt.Sprintf("%s of the picture is %s", words.Share(in.Weight/sc.pixels), which)
	for _, l := range sc.lines {
		if l.heavy {
			return fmt.Sprintf("%s, %s of it outside %s.", text, words.Share(in.Beyond(l.outline)), l.name)
		}
	}
	return text + "."
}
