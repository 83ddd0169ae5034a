package view

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/light"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// kelvinCard tells what is known of the screen and of the light prints are seen in.
func kelvinCard() Card {
	return Card{ID: "kelvin", Name: "Kelvin and candela: screen and light", Key: "K", Place: WholeWindow,
		Help:  "what is known of the screen, a check by eye, the light to judge prints in, and how a print shifts under another",
		Build: func(h *Host) Built { return newKelvin(h).built() }}
}

// kelvin is the open card: four leaves of which one is seen.
type kelvin struct {
	h      *Host
	engine session.Engine
	ctx    context.Context
	cancel context.CancelFunc

	leaf   int
	leaves *widget.Choice
	boxes  [4]*fyne.Container
	foot   *widget.Prose

	// the screen
	screenKey string
	screen    *light.Screen
	trouble   string
	facts     *layout.Column
	meaning   *layout.Column

	// the check
	check                *widget.Drawing
	half                 atomic.Int32
	dark, pale           *widget.Choice
	darkSeen, paleSeen   int
	darkTold, paleTold   *widget.Prose
	levels               map[uint8]float64
	neutral, neutralTold *widget.Prose

	// the light prints are judged in
	conditions *layout.Column
	bright     *layout.Column
	lux, lum   *widget.Slide
	factor     *widget.Prose
	onDesk     *widget.Toggle

	// another light
	kelvinSlide, luxSlide *widget.Slide
	kelvins, luxes        float64
	shifts                *widget.ShiftTable
	shiftTold             *widget.Prose
	cautions              *layout.Column
	shiftOf               []cie.Lab
	shiftSeen             []color.RGBA
}

const kelvinFoot = "A proof is only as good as the screen’s calibration and the light the print is judged in. Left and right turn the leaves."

func newKelvin(h *Host) *kelvin {
	k := &kelvin{h: h, kelvins: 2850, luxes: 500, darkSeen: -1, paleSeen: -1, levels: map[uint8]float64{}}
	k.ctx, k.cancel = context.WithCancel(context.Background())
	k.engine = h.Session.Engine()
	k.foot = widget.NewProse(kelvinFoot, toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	k.leaves = widget.NewChoice([]string{"The screen", "Check by eye", "Light for judging", "Another light"}, 0, k.turn)
	k.leaves.Explain("Four leaves; the left and right keys turn them.", k.tell)
	k.makeScreen()
	k.makeCheck()
	k.makeJudging()
	k.makeOther()
	return k
}

func (k *kelvin) tell(s string) {
	k.foot.SetText(cmp.Or(s, kelvinFoot))
}

func (k *kelvin) turn(i int) {
	k.leaf = i
	k.leaves.Set(i)
	for n, b := range k.boxes {
		show(b, n == i)
	}
	if i == 1 {
		k.check.Again()
	}
	k.boxes[i].Refresh()
}

func (k *kelvin) built() Built {
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		set(k.leaves, 0, 0, min(s.Width, 640), 34)
		foot := widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText)) * 2
		set(k.foot, 0, s.Height-foot, s.Width, foot)
		for _, b := range k.boxes {
			set(b, 0, 48, s.Width, s.Height-48-foot-8)
		}
	}}, k.leaves, k.boxes[0], k.boxes[1], k.boxes[2], k.boxes[3], k.foot)
	k.turn(0)
	return Built{Content: content, Update: k.update, Close: k.cancel, Key: k.typed}
}

func (k *kelvin) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyLeft:
		k.turn(max(k.leaf-1, 0))
	case fyne.KeyRight:
		k.turn(min(k.leaf+1, 3))
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyPageUp, fyne.KeyPageDown, fyne.KeyHome, fyne.KeyEnd:
		switch k.leaf {
		case 2:
			k.lux.TypedKey(e)
		case 3:
			k.kelvinSlide.TypedKey(e)
		default:
			return false
		}
	default:
		return false
	}
	return true
}

func (k *kelvin) update(now session.State) {
	k.followScreen(now)
	k.followJudging(now)
	k.followOther(now)
}

// The leaf of the screen.

func (k *kelvin) makeScreen() {
	k.facts, k.meaning = layout.NewColumn(), layout.NewColumn()
	k.boxes[0] = halves(k.facts, k.meaning, 0.55)
}

func (k *kelvin) followScreen(now session.State) {
	if k.screenKey != now.Screen.Key {
		k.screenKey, k.screen, k.trouble = now.Screen.Key, nil, ""
		k.levels = map[uint8]float64{}
		set := setup.Setup{Source: "srgb", Screen: now.Screen.Key} // for its screen alone
		key := now.Screen.Key
		go func() {
			plan, err := k.engine.Plan(nil, set)
			var s light.Screen
			var half uint8
			levels := map[uint8]float64{}
			if err == nil {
				if half, err = light.Half(k.engine, plan.Screen); err == nil {
					for _, l := range append(slices.Clone(darkLevels), paleLevels...) {
						levels[l], _ = light.Unseen(k.engine, plan.Screen, l)
					}
					s, err = light.InspectScreen(k.ctx, k.engine, plan.Screen)
				}
			}
			k.h.Session.Post(func() {
				if k.ctx.Err() != nil || k.screenKey != key {
					return
				}
				if err != nil {
					k.trouble = session.Explain(err, "").Headline
				} else {
					k.screen, k.levels = &s, levels
					k.half.Store(int32(half))
				}
				k.check.Again()
				k.fillScreen(k.h.State())
				k.tellCheck()
			})
		}()
	}
	k.fillScreen(now)
}

func (k *kelvin) fillScreen(now session.State) {
	var facts, meaning []fyne.CanvasObject
	line := func(name, value, means string) {
		t := widget.NewText(name, toolkittheme.SizeNameText, theme.ColorQuiet, false)
		objs := []fyne.CanvasObject{layout.Prose(value)}
		if means != "" {
			objs = append(objs, layout.Caption(means))
		}
		facts = append(facts, container.New(layout.Labelled{Column: 140, Top: true}, t, container.New(&layout.Flow{}, objs...)))
	}
	facts = append(facts, heading("What is known"))
	name := now.Screen.Name
	if now.Screen.Assumed {
		line("Profile", name+", assumed", "Nobody told which profile this screen has. On a screen with a wider gamut every proof is then too vivid, and every word about it stays true of the paper but not of what you see.")
	} else {
		line("Profile", name, "The sheets are shown through it.")
	}
	switch s := k.screen; {
	case k.trouble != "":
		facts = append(facts, layout.Prose(k.trouble))
	case s == nil:
		facts = append(facts, layout.Caption("The profile is being measured out …"))
	default:
		if s.Version != "" {
			line("ICC version", s.Version, "")
		}
		switch {
		case s.Version == "":
			line("Age", "–", "A published space has no age. A screen has: its lamps and panel drift.")
		case s.Made.IsZero():
			line("Made", "its header gives no date", "Make a new one when you don’t know how old it is.")
		default:
			line("Made", s.Made.Local().Format("2 January 2006")+", "+light.Age(s.Made, time.Now()),
				"The date in the profile’s header. Common practice, no source: measure a screen anew every month or two.")
		}
		if s.Kelvin > 0 {
			line("White", fmt.Sprintf("%.0f K", math.Round(s.Kelvin/10)*10), whiteMeaning(s))
		} else {
			line("White", "far from any daylight", "The profile’s own white is no white of a screen; it may have been made wrongly.")
		}
		if s.Luminance > 0 {
			line("Luminance", fmt.Sprintf("%.0f cd/m²", s.Luminance), "Of white, as the profile says it was when it was made.")
		} else {
			line("Luminance", "the profile does not say", "Measure it, or estimate it on the leaf ‘Light for judging’.")
		}
		line("Black", "L* "+words.Figure(math.Max(0, s.Black)), "By the profile. Light that falls on the screen lifts it: judge in a dim room.")
		line("Gamut", fmt.Sprintf("%s, %.2f times sRGB", words.Volume(s.Volume), s.Volume/s.SRGB), "How many colours it can show; where it ends is a line on the card ‘Verges’.")
	}
	choosePress := widget.NewPress("Say which profile the screen has…", func() { k.h.Do(session.AskFor{Ask: session.AskScreen}) })
	choosePress.Explain("Choose the profile that your calibration made (.icc, .icm), or one of the built-in spaces.", k.tell)
	facts = append(facts, container.New(layout.Abreast{Gap: 8}, choosePress))

	meaning = append(meaning, heading("What it means for your proofs"),
		layout.Prose("A proof shows a print’s colours by the numbers that this profile says the screen needs. If the screen has moved since the profile was made, all sheets are off together; "+
			"the differences between them stay right to first order."),
		layout.Prose("So calibrate first, then look. The leaf ‘Check by eye’ finds gross faults without an instrument; it replaces none."))
	if now.Cell.Exact {
		meaning = append(meaning, layout.Caption(fmt.Sprintf("At this window’s scale of %.4g every computed pixel is one pixel of the screen.", now.Cell.Scale)))
	} else {
		meaning = append(meaning, layout.Caption(fmt.Sprintf("At this window’s scale of %.4g pixels can’t be placed exactly; fine patterns below may show beats.", now.Cell.Scale)))
	}
	k.facts.Fill(facts...)
	k.meaning.Fill(meaning...)
}

func whiteMeaning(s *light.Screen) string {
	text := "The screen’s own white by its profile, as the daylight or lamp that is nearest to it"
	if s.Off > 0.005 {
		text += fmt.Sprintf("; it is %.3f off that in u, v, greener or pinker", s.Off)
	}
	return text + ". Beside a print under D50 (5000 K) a screen near 5000 K needs least getting used to."
}

// The leaf of the check.

// The greys of the check, as bytes: steps from black and steps from white.
var (
	darkLevels = []uint8{1, 2, 3, 4, 6, 8, 12, 16}
	paleLevels = []uint8{254, 253, 252, 251, 249, 247, 243, 239}
)

func (k *kelvin) makeCheck() {
	k.check = widget.NewDrawing(k.h.Session.Post, k.paintCheck)
	names := func(l []uint8) []string {
		out := []string{}
		for i := range l {
			out = append(out, fmt.Sprint(i+1))
		}
		return append(out, "none")
	}
	k.dark = widget.NewChoice(names(darkLevels), -1, func(i int) { k.darkSeen = i; k.dark.Set(i); k.tellCheck() })
	k.dark.Explain("The first field of the dark row that you can tell from the black round it, counted from the left.", k.tell)
	k.pale = widget.NewChoice(names(paleLevels), -1, func(i int) { k.paleSeen = i; k.pale.Set(i); k.tellCheck() })
	k.pale.Explain("The first field of the light row that you can tell from the white round it, counted from the left.", k.tell)
	prose := func(s string) *widget.Prose {
		return widget.NewProse(s, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	}
	k.darkTold, k.paleTold = prose(""), prose("")
	k.neutral = widget.NewProse("Greys: every field has one number for red, green and blue. If one looks tinted beside the others, the calibration is off there.",
		toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	k.neutralTold = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	ask := func(s string) *widget.Prose {
		return widget.NewProse(s, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 1)
	}
	askDark, askPale := ask("First field you see in the dark row"), ask("First field you see in the light row")
	k.boxes[1] = container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const gap = 28
		line := widget.LineHeight(widget.Size(toolkittheme.SizeNameText))
		low := 62 + 3*line + 6 + 3*line
		set(k.check, 0, 0, s.Width, max(s.Height-low-12, 120))
		y := max(s.Height-low, 132)
		w := (s.Width - gap) / 2
		set(askDark, 0, y, w, 22)
		set(k.dark, 0, y+24, w, 32)
		set(k.darkTold, 0, y+62, w, 3*line)
		set(askPale, w+gap, y, w, 22)
		set(k.pale, w+gap, y+24, w, 32)
		set(k.paleTold, w+gap, y+62, w, 3*line)
		y += 62 + 3*line + 6
		set(k.neutral, 0, y, w, 3*line)
		set(k.neutralTold, w+gap, y, w, 3*line)
	}}, k.check, askDark, askPale, k.dark, k.pale, k.darkTold, k.paleTold, k.neutral, k.neutralTold)
	k.tellCheck()
}

// paintCheck paints the patches with exact bytes: four bands from top to bottom,
// the dark one as far from the white one as can be.
func (k *kelvin) paintCheck(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	s := plot.New(w, h, color.RGBA{0, 0, 0, 255})
	var words []widget.Word
	grey := func(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }
	band := h / 4
	steps := func(top, bottom int, ground, ink uint8, levels []uint8) {
		s.Fill(image.Rect(0, top, w, bottom), grey(ground))
		cell := w / len(levels)
		foot := int(20 * scale)
		if bottom-top < 3*foot { // too low for numbers
			foot = 0
		}
		room := bottom - top - foot
		side := max(min(cell*6/10, room*8/10), 4)
		for i, v := range levels {
			x, y := i*cell+(cell-side)/2, top+(room-side)/2+foot/5
			s.Fill(image.Rect(x, y, x+side, y+side), grey(v))
			if foot == 0 {
				continue
			}
			words = append(words, widget.Word{Text: fmt.Sprint(i + 1), X: float64(x + side/2), Y: float64(bottom) - 10*scale,
				Align: fyne.TextAlignCenter, Size: 12, Ink: grey(ink)})
		}
	}
	steps(0, band, 0, 72, darkLevels)
	steps(3*band, h, 255, 170, paleLevels)
	// Greys from dark to light without a gap.
	const greys = 15
	for i := range greys {
		s.Fill(image.Rect(i*w/greys, band, (i+1)*w/greys, 2*band), grey(uint8(16+i*16)))
	}
	// Rows of black and white in turn beside an even grey of the same luminance
	// by the profile.
	half := uint8(k.half.Load())
	s.Fill(image.Rect(0, 2*band, w, 3*band), grey(half))
	if half > 0 {
		for y := 2 * band; y < 3*band; y++ {
			v := uint8(255 * ((y - 2*band) % 2))
			for i := range 4 {
				x0 := w*(2*i)/8 + w/16
				s.Fill(image.Rect(x0, y, x0+w/8, y+1), grey(v))
			}
		}
	}
	return s.Img, words
}

func (k *kelvin) tellCheck() {
	paper := ""
	var black float64
	sh, n := k.h.State().Proof()
	if p, ok := k.h.Session.Store().Paper(sh.Paper); ok && n >= 0 && p.Facts != nil {
		paper, black = p.Name, p.Black().L
	}
	unknown := "Its lightness is known when the profile is measured out."
	tell := func(seen int, levels []uint8, dark bool) string {
		if seen < 0 {
			if dark {
				return "Dim the room, look straight at the screen, and count from the left."
			}
			return "White fields on white: count from the left."
		}
		if seen == len(levels) {
			end := levels[len(levels)-1]
			l, ok := k.levels[end]
			if !ok {
				return unknown
			}
			if dark {
				return fmt.Sprintf("All up to byte %d (L* %.1f) is one black to you. Shadows can’t be judged on this screen: raise its black, or keep light off it.", end, l)
			}
			return fmt.Sprintf("All from byte %d (L* %.1f) on is one white to you: the screen’s contrast is set too high, or light falls on it.", end, l)
		}
		l, ok := k.levels[levels[seen]]
		if !ok {
			return unknown
		}
		if !dark {
			return fmt.Sprintf("You tell byte %d (L* %.1f) from white. Highlights that differ by less than %.1f in L* look alike to you.", levels[seen], l, 100-l)
		}
		s := fmt.Sprintf("You tell byte %d (L* %.1f by the profile) from black; what is darker looks alike to you.", levels[seen], l)
		switch {
		case paper == "":
		case l < black:
			s += fmt.Sprintf(" %s’s black is L* %.1f: this screen shows you more of the shadows than that paper holds.", paper, black)
		default:
			s += fmt.Sprintf(" %s’s black is L* %.1f: its deepest shadows can’t be judged here.", paper, black)
		}
		return s
	}
	k.darkTold.SetText(tell(k.darkSeen, darkLevels, true))
	k.paleTold.SetText(tell(k.paleSeen, paleLevels, false))
	if half := k.half.Load(); half > 0 {
		k.neutralTold.SetText(fmt.Sprintf("Lines: from a few steps back they and the even grey between (byte %d, half the light by the profile) look equally bright. "+
			"If not, the screen does not do what its profile says.", half))
	} else {
		k.neutralTold.SetText("Lines: they are drawn when the profile is measured out.")
	}
}

// The leaf of the light that prints are judged in.

func (k *kelvin) makeJudging() {
	s := k.h.State().Looking
	k.conditions, k.bright = layout.NewColumn(), layout.NewColumn()
	change := func(f func(*session.Looking)) {
		l := k.h.State().Looking
		f(&l)
		k.h.Do(session.SetLooking{Looking: l})
	}
	k.lux = widget.NewSlide("Light on the print", 15, 2500, 5, s.Lux, func(v float64) string { return fmt.Sprintf("%.0f lx", v) },
		func(v float64) { change(func(l *session.Looking) { l.Lux = v }) })
	k.lux.Explain("Illuminance on the print in lux, by a lux meter laid on it. A lit living room has 50 to 300 lx, a window place 500 and more (common practice, no source).", k.tell)
	k.lum = widget.NewSlide("White of the screen", 40, 400, 5, s.Luminance, func(v float64) string { return fmt.Sprintf("%.0f cd/m²", v) },
		func(v float64) { change(func(l *session.Looking) { l.Luminance = v }) })
	k.lum.Explain("Luminance of the screen’s white in candela per square metre: what calibration was set to, or what an instrument reads.", k.tell)
	k.factor = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 8)
	k.onDesk = widget.NewToggle("Show the sheets so", s.TooBright, func(on bool) { change(func(l *session.Looking) { l.TooBright = on }) })
	k.onDesk.Explain("The slip ‘screen too bright’: all sheets on the desk are shown with this factor, as a print in that light looks to an eye that is used to the screen. Figures don’t change.", k.tell)
	k.bright.Fill(heading("Is the screen too bright?"), k.lux, k.lum, k.factor, k.onDesk,
		layout.Caption("Factor: light on the print (lux) divided by π and by the screen’s white (cd/m²). It darkens the sheets’ light, before the screen’s profile; it is no part of any ΔE00."))
	k.boxes[2] = halves(k.conditions, k.bright, 0.5)
}

func (k *kelvin) followJudging(now session.State) {
	l := now.Looking
	k.lux.Set(l.Lux)
	k.lum.Set(l.Luminance)
	k.onDesk.Set(l.TooBright)
	name, white := k.paperWhite(now)
	k.factor.SetText(light.Bright(l.Lux, l.Luminance, name, white))
	k.bright.Again()
	objs := []fyne.CanvasObject{heading("Light and screens to judge prints by")}
	for _, c := range light.Conditions() {
		value := ""
		if c.Lux > 0 {
			value = fmt.Sprintf("%.0f lx, %s", c.Lux, c.White)
			if c.Tolerance > 0 {
				value = fmt.Sprintf("%.0f ± %.0f lx, %s", c.Lux, c.Tolerance, c.White)
			}
			if white > 0 {
				value += fmt.Sprintf("; %s’s white then has %.0f cd/m²", name, light.Luminance(c.Lux, white))
			}
		} else if c.ScreenTo > 0 {
			value = fmt.Sprintf("white of %.0f to %.0f cd/m², %s", c.Screen, c.ScreenTo, c.White)
		} else {
			value = fmt.Sprintf("white of at least %.0f cd/m², %s", c.Screen, c.White)
		}
		t := widget.NewProse(c.Name, toolkittheme.SizeNameText, theme.ColorQuiet, 3)
		objs = append(objs, container.New(layout.Labelled{Column: 150, Top: true}, t,
			container.New(&layout.Flow{}, layout.Prose(value), layout.Caption("Source: "+c.Source))))
	}
	objs = append(objs, layout.Caption("D50 is daylight of 5000 K, the light that profiles and all figures of this program are made for; D65 is 6500 K."))
	k.conditions.Fill(objs...)
}

// paperWhite is the active proof's paper by name, with the luminance factor of its
// white; 0 where it is not known.
func (k *kelvin) paperWhite(now session.State) (string, float64) {
	sh, n := now.Proof()
	if p, ok := k.h.Session.Store().Paper(sh.Paper); ok && n >= 0 && p.White().L > 0 {
		return p.Name, p.White().ToXYZ(cie.D50).Y
	}
	return "", 0
}

// The leaf of another light.

func (k *kelvin) makeOther() {
	k.kelvinSlide = widget.NewSlide("Colour of the light", 1800, 12000, 50, k.kelvins, func(v float64) string {
		return fmt.Sprintf("%.0f K  %s", v, lightName(v))
	}, func(v float64) { k.kelvins = v; k.followOther(k.h.State()) })
	k.kelvinSlide.Explain("Correlated colour temperature of the lamp: a bulb has 2700 to 2900 K, daylight 5000 to 6500 K. Lamps of 4000 K and more are taken as daylight, others as a bulb.", k.tell)
	k.luxSlide = widget.NewSlide("How much of it", 15, 2500, 5, k.luxes, func(v float64) string { return fmt.Sprintf("%.0f lx", v) },
		func(v float64) { k.luxes = v; k.followOther(k.h.State()) })
	k.luxSlide.Explain("The brighter a light is, the more the eye gets used to it; what it does not get used to is seen as a shift.", k.tell)
	k.shifts = widget.NewShiftTable()
	k.shiftTold = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 4)
	k.cautions = layout.NewColumn()
	scroll := container.NewVScroll(k.shifts)
	k.boxes[3] = container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const gap = 32
		w := (s.Width - gap) / 2
		h := widget.SlideHeight()
		set(k.kelvinSlide, 0, 0, w, h)
		set(k.luxSlide, w+gap, 0, w, h)
		line := widget.LineHeight(widget.Size(toolkittheme.SizeNameText))
		set(k.shiftTold, 0, h+8, s.Width, 2*line)
		low := max(s.Height*0.24, 100)
		set(scroll, 0, h+16+2*line, s.Width, s.Height-h-16-2*line-low-8)
		k.cautions.Put(0, s.Height-low, s.Width, low)
	}}, k.kelvinSlide, k.luxSlide, k.shiftTold, scroll, k.cautions.Scroll)
}

func lightName(kelvin float64) string {
	switch {
	case kelvin < 2300:
		return "candle-like"
	case kelvin < 3300:
		return "warm bulb"
	case kelvin < 4600:
		return "cool lamp"
	case kelvin < 5400:
		return "daylight"
	case kelvin < 7000:
		return "noon daylight"
	}
	return "shade"
}

// followOther computes how the print of the active proof shifts under the light.
func (k *kelvin) followOther(now session.State) {
	sh, n := now.Proof()
	p, ok := k.h.Session.Store().Paper(sh.Paper)
	if n < 0 || !ok {
		k.shiftTold.SetText("No proof lies on the desk; there is no print to light.")
		k.shifts.SetRows(nil)
		return
	}
	degree := light.Adaptation(k.luxes)
	white := p.White()
	names, labs := []string{p.Name + "’s white"}, []cie.Lab{white}
	for i := range now.NumPins {
		if val := now.Values[n][i]; val.Known {
			names = append(names, now.Pins[i].Name)
			labs = append(labs, gamut.ToAbsolute(val.Relative, white))
		}
	}
	var rows []widget.ShiftRow
	all := append([]cie.Lab(nil), labs...)
	most, mostName := 0.0, ""
	for i, c := range labs {
		to, err := light.Shift(c, k.kelvins, degree)
		if err != nil {
			k.shiftTold.SetText(session.Explain(err, "").Headline)
			k.shifts.SetRows(nil)
			return
		}
		ch := words.Compare(c, to)
		if ch.DeltaE00 > most {
			most, mostName = ch.DeltaE00, names[i]
		}
		rows = append(rows, widget.ShiftRow{Name: names[i], Words: ch.Sentence(),
			Figures: fmt.Sprintf("L* a* b*  %s  →  %s     ΔE00 %.1f", labText(c), labText(to), ch.DeltaE00)})
		all = append(all, to)
	}
	for i := range rows {
		rows[i].Before, rows[i].After = k.seen(all, i), k.seen(all, len(rows)+i)
	}
	k.shifts.SetRows(rows)
	told := fmt.Sprintf("The print on %s, made for 5000 K, in %.0f lx of %.0f K. An eye that looks about there gets used to the light by %.0f %%; the rest is seen as this shift.",
		p.Name, k.luxes, k.kelvins, 100*degree)
	if most >= 1 {
		told += fmt.Sprintf(" Most of all: %s, by ΔE00 %.1f.", mostName, most)
	} else {
		told += " Nothing shifts by as much as 1 ΔE00."
	}
	k.shiftTold.SetText(told)
	k.colour(now, all)
	k.caution(p, sh)
}

func labText(c cie.Lab) string { return fmt.Sprintf("%.0f %s %s", c.L, minus(c.A), minus(c.B)) }

// seen is the i-th of the colours as bytes of the screen, grey while not known.
func (k *kelvin) seen(all []cie.Lab, i int) color.RGBA {
	if len(k.shiftOf) == len(all) && i < len(k.shiftSeen) {
		return k.shiftSeen[i] // of the moment before, until the new ones are there
	}
	return plotGround
}

// colour finds the screen's bytes of the swatches.
func (k *kelvin) colour(now session.State, all []cie.Lab) {
	if slices.Equal(all, k.shiftOf) {
		return
	}
	k.shiftOf = all
	set := setup.Setup{Source: "srgb", Screen: now.Screen.Key} // for its screen alone
	go func() {
		plan, err := k.engine.Plan(nil, set)
		if err != nil {
			return
		}
		seen, err := gamut.Paint(k.engine, plan.Screen, all)
		if err != nil || k.ctx.Err() != nil {
			return // the first leaf tells what is wrong with the screen's profile
		}
		k.h.Session.Post(func() {
			if k.ctx.Err() == nil && slices.Equal(all, k.shiftOf) {
				k.shiftSeen = seen
				k.followOther(k.h.State())
			}
		})
	}()
}

func (k *kelvin) caution(p session.Paper, sh session.Sheet) {
	objs := []fyne.CanvasObject{}
	for _, c := range light.Cautions(k.kelvins, false) {
		objs = append(objs, layout.Caption(c))
	}
	b := p.White().B
	uv := "If the paper has an optical brightener (its maker tells), its colours hold for light with ultraviolet only: under lamps without it, or behind glass that holds it back, white turns yellower than shown here."
	if b < -2 {
		uv = fmt.Sprintf("%s’s white is bluish (b* %s), as an optical brightener makes it. If it has one, its colours hold for light with ultraviolet only: under lamps without it, or behind glass that holds it back, "+
			"white and light colours turn yellower than shown here.", p.Name, minus(b))
	}
	objs = append(objs, layout.Caption(uv),
		layout.Caption("Computed by Bradford adaptation (ICC.1:2022, annex E) from the print’s colours under D50; the degree by CIE 159:2004 (CIECAM02) for an average surround."))
	k.cautions.Fill(objs...)
}
