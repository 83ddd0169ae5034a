package words

import "firstsheet/proof/cie"

// Hue is one of the named sectors of the CIELAB hue circle, in the order of the
// hue angle.
type Hue uint8

// The sectors, counter-clockwise.
const (
	Red Hue = iota
	Orange
	Yellow
	YellowGreen
	Green
	BlueGreen
	Blue
	Violet
	Purple
	Magenta
	hueCount
)

// String returns the plain word for the hue.
func (h Hue) String() string { return hueWords[h%hueCount] }

// Next returns the neighbouring sector: counter-clockwise when turn is positive,
// clockwise when it is not.
func (h Hue) Next(turn float64) Hue {
	if turn > 0 {
		return (h + 1) % hueCount
	}
	return (h + hueCount - 1) % hueCount
}

// starts holds the hue angle in degrees at which each sector begins, for
// colours of middle lightness.
//
// The borders are those of the ISCC-NBS name charts, given as Munsell hues and
// placed in CIELAB at value 5, chroma 10 (value 6 for R, whose rows of value 5
// were not at hand) with Bradford adaptation from illuminant C. Two mixed names
// are parted, because one word must serve: reddish orange is orange from the
// hue on at which the last vivid red leaves the charts, and orange yellow is
// halved.
//
//	sector        from    h_ab   note
//	red           1R      15.8   see darkShift
//	orange        9R      40.9   see orangeStart, darkShift
//	yellow        10YR    74.8   middle of orange yellow (7YR to 1Y)
//	yellow-green  2GY    102.1
//	green         8GY    127.7
//	blue-green    9G     173.6
//	blue          10BG   205.5
//	violet        9PB    290.1   at chroma 40; see violetStart
//	purple        3P     306.9
//	magenta       3RP    345.0   purplish red in the source
var starts = [hueCount]float64{15.8, 40.9, 74.8, 102.1, 127.7, 173.6, 205.5, 290.1, 306.9, 345.0}

// orangeStart returns the angle where red ends: the renotation's 9R at value 6
// lies at 39, 41, 43 and 46 degrees for chromas 6, 10, 14 and 18 (C* 31, 53, 75
// and 99). It keeps the red primary of sRGB (41 degrees, C* 107) a red.
func orangeStart(chroma float64) float64 {
	return starts[Orange] + 0.11*(min(max(chroma, 30), 130)-53)
}

// darkShift returns what is added to the two borders of red, and by half to that
// of magenta, for a dark colour: the renotation's 1R lies at 15.8, 1 and -8 degrees at values 6, 2 and 1, its 10R
// at 44.6, 32 and 20 (44.4 at value 5).
func darkShift(lightness float64) float64 {
	switch {
	case lightness >= 50:
		return 0
	case lightness >= 20:
		return (lightness - 50) * 14 / 30
	}
	return -14 - (20 - max(0, lightness))
}

// violetStart returns the angle where blue ends. CIELAB bends lines of constant
// blue: the renotation's 9PB at value 5 lies at 290 degrees for chroma 10 (C* 40)
// and at 296 for chroma 20 (C* 85). Beyond that the line is continued, which
// keeps the blue primary of sRGB (301 degrees, C* 131) a blue; it ends
// short of purple.
func violetStart(chroma float64) float64 {
	const perUnit, limit = 0.14, 305
	return min(limit, starts[Violet]+perUnit*max(0, chroma-40))
}

// start returns the angle at which sector h begins for a colour of the given
// lightness and chroma, in [0, 360).
func (h Hue) start(lightness, chroma float64) float64 {
	switch h {
	case Red, Orange:
		a := starts[h]
		if h == Orange {
			a = orangeStart(chroma)
		}
		a += darkShift(lightness)
		if a < 0 {
			a += 360
		}
		return a
	case Magenta: // 332 degrees at value 1
		return starts[h] + darkShift(lightness)/2
	case Violet:
		return violetStart(chroma)
	}
	return starts[h]
}

// HueOf returns the sector of a colour's hue. It says nothing useful of
// colours of low chroma; see [Name].
func HueOf(c cie.Lab) Hue {
	angle, chroma := c.Hue(), c.Chroma()
	for h := Red; h < hueCount; h++ {
		from, to := h.start(c.L, chroma), h.Next(1).start(c.L, chroma)
		if from <= to && angle >= from && angle < to || from > to && (angle >= from || angle < to) {
			return h
		}
	}
	return Red // only for a hue that is not a number
}

// NamedChroma is the least C* at which a colour has a hue worth naming (own
// rule; near the chroma 1.5 that separates the greyish from the grey names in
// the ISCC-NBS charts, which is about C* 7).
const NamedChroma = 8

// L* of the Munsell values at which the ISCC-NBS charts change names, by the
// polynomial of ASTM D1535 (coefficients from memory; the renotation's own
// luminances at values 1, 2, 5 and 6 agree with it).
const (
	value25 = 25.3 // black to dark grey
	value35 = 35.6 // brown to dark reddish orange
	value45 = 45.9 // brown to orange at moderate chroma
	value55 = 56.1 // red to pink, olive to yellow
	value65 = 66.0 // light brown to yellowish pink
	value85 = 85.3 // light grey to white
)

// Name returns the plain word for a colour: a hue, one of pink, brown and olive
// (which are lighter or darker reds, oranges and yellows), or black, grey or
// white where C* is below [NamedChroma].
//
// Source: the ISCC-NBS charts, see the package comment, with these rounded
// rules: pink is a magenta or red of Munsell value 5.5 and more that is not
// vivid (chroma below 15), and a weak orange of value 6.5 and more; brown is an
// orange below value 4.5, save a reddish one (to 5YR) above value 3.5 and chroma
// 7, or an orange below value 6.5 whose chroma is under 6; olive is a yellow below
// value 5.5.
func Name(c cie.Lab) string {
	chroma := c.Chroma()
	if chroma < NamedChroma {
		switch {
		case c.L < value25:
			return phraseBlack
		case c.L > value85:
			return phraseWhite
		}
		return phraseGrey
	}
	// One unit of Munsell chroma is 4.4 (magenta) to 6.5 (yellow) units of C*
	// at value 5 in the renotation.
	hue := HueOf(c)
	switch hue {
	case Magenta, Red:
		if c.L >= value65 || c.L >= value55 && chroma < 15*4.8 {
			return phrasePink
		}
	case Orange:
		const weak, middling, reddish = 6 * 5.8, 7 * 5.8, 60.6
		switch {
		case c.L >= value35 && c.L < value45 && chroma >= middling && c.Hue() < reddish:
			return hue.String()
		case c.L < value45, c.L < value65 && chroma < weak:
			return phraseBrown
		case c.L >= value65 && chroma < weak:
			return phrasePink
		}
	case Yellow:
		if c.L < value55 {
			return phraseOlive
		}
	}
	return hue.String()
}

// Skin band: common practice, no source. It holds the two skin patches of the
// 24-patch chart (h 42 to 46, C* 20 to 26) and the preferred skin on displays of
// Chen et al. 2013 (L* 65, C* 25.4, h 50.5). Many woods, sands and brasses
// are in it too, and skins of different groups overlap in it.
const (
	skinHueFrom, skinHueTo       = 30, 70
	skinChromaFrom, skinChromaTo = 8, 40
	skinLightFrom, skinLightTo   = 20, 90
)

// SkinLike tells whether a colour is in the band where skin is found: hue 30 to
// 70 degrees, C* 8 to 40, L* 20 to 90. It is not a detector: say "skin-like".
func SkinLike(c cie.Lab) bool {
	h, chroma := c.Hue(), c.Chroma()
	return h >= skinHueFrom && h <= skinHueTo &&
		chroma >= skinChromaFrom && chroma <= skinChromaTo &&
		c.L >= skinLightFrom && c.L <= skinLightTo
}
