package view

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
	"sort"
	"sync/atomic"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/plot"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// vergesCard shows where papers end, and how the picture lies in them.
func vergesCard() Card {
	return Card{ID: "verges", Name: "Verges: where the papers end", Key: "V", Place: WholeWindow,
		Help:  "the picture’s colours against the ends of the papers, cut through by lightness and hue",
		Build: func(h *Host) Built { return newVerges(h).built() }}
}

// verge is one line of the diagram.
type verge struct {
	id, name string // id "" is the screen
	pattern  plot.Pattern
	on       bool
	row      *widget.LineRow
	outline  [2]*gamut.Outline // relative, absolute
	asked    [2]bool
	failed   [2]string
}

// verges is the open card. All its fields belong to the drawing goroutine but
// scene, which the painters read.
type verges struct {
	h      *Host
	engine session.Engine
	ctx    context.Context
	cancel context.CancelFunc

	lines    []*verge
	absolute bool
	light    float64 // L* of the slice by lightness
	hue      float64

	cloud     *gamut.Cloud
	cloudOf   cloudKey
	cloudStop context.CancelFunc
	counted   float64
	relay     func()

	scene atomic.Pointer[vergeScene]
	flat  *widget.Drawing // a*b*
	fall  *widget.Drawing // L*C*

	lightSlide, hueSlide *widget.Slide
	white                *widget.Choice
	key                  *fyne.Container
	pins                 *fyne.Container
	pinRows              []*widget.PaperRow
	pinLabs              []cie.Lab    // the pins' colours in the picture
	pinSeen              []color.RGBA // the same as bytes of the screen
	pinEmpty             *widget.Prose
	foot                 *widget.Prose
	flatTold, fallTold   *widget.Prose
	state                *widget.Prose
	library              int
}

type cloudKey struct {
	picture        int
	source, screen string
}

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

func newVerges(h *Host) *verges {
	v := &verges{h: h, light: 50, hue: 40, library: -1}
	v.ctx, v.cancel = context.WithCancel(context.Background())
	v.engine = h.Session.Engine()
	v.flat = widget.NewDrawing(h.Session.Post, v.paintFlat)
	v.fall = widget.NewDrawing(h.Session.Post, v.paintFall)
	v.flat.OnTap, v.fall.OnTap = v.tapFlat, v.tapFall
	v.lightSlide = widget.NewSlide("Cut at lightness", 2, 98, 1, v.light, func(x float64) string { return fmt.Sprintf("L* %.0f", x) },
		func(x float64) { v.light = x; v.paint() })
	v.lightSlide.Explain("Lightness of the cut on the left: 0 is black, 100 the white of the sheet. Arrow keys move it by 1.", v.tell)
	v.hueSlide = widget.NewSlide("Cut at hue", 0, 360, 1, v.hue, func(x float64) string {
		return fmt.Sprintf("%.0f°  %s", x, gamut.HueName(x))
	}, func(x float64) { v.hue = x; v.paint() })
	v.hueSlide.Round = true
	v.hueSlide.Explain("Hue of the cut on the right, as an angle round the left diagram. Arrow keys move it by 1 degree.", v.tell)
	v.white = widget.NewChoice([]string{"as white", "as printed"}, 0, func(i int) {
		v.absolute = i == 1
		v.white.Set(i)
		v.update(h.State())
	})
	v.white.Explain("As white: each paper’s own white counts as white, as an eye used to it sees it; reach and ΔE00 are counted so. "+
		"As printed: all papers against one common white.", v.tell)
	v.foot = widget.NewProse("", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 2)
	v.flatTold = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 2)
	v.fallTold = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 2)
	v.state = widget.NewProse("", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	v.pinEmpty = widget.NewProse("No pins on the picture yet. With pins, a click on one cuts through its colour.", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, 3)
	v.key = container.New(stack{gap: 2})
	v.pins = container.New(rowsLayout{})
	v.tell("")
	v.start()
	return v
}

const vergesFoot = "Squares are the picture’s own colours within 5 Lab units of the cut, every pixel counted; a line is where a paper ends. " +
	"What lies outside a line, that paper can’t print. A click in one diagram moves the cut of the other."

// tell explains a control on the card's own foot line: the window's is covered.
func (v *verges) tell(s string) {
	v.foot.SetText(cmp.Or(s, vergesFoot))
}

// start makes the lines: all papers and the screen, the desk's papers ticked.
func (v *verges) start() {
	s := v.h.State()
	on := map[string]bool{}
	for i := 0; i < s.Count; i++ {
		if !s.Sheets[i].Original {
			on[s.Sheets[i].Paper] = true
		}
	}
	if len(on) == 0 {
		on[s.Default.Paper] = true
	}
	for i := range s.Pins[:s.NumPins] {
		if i == max(s.Pin, 0) {
			if val := s.Values[max(s.Active, 0)][i]; val.Known {
				v.cutThrough(val.Original)
			}
		}
	}
	patterns := plot.Patterns()
	add := func(id, name string, ticked bool) {
		l := &verge{id: id, name: name, on: ticked, pattern: patterns[len(v.lines)%len(patterns)]}
		l.row = widget.NewLineRow(name, l.pattern, func(on bool) { l.on = on; v.update(v.h.State()) })
		v.lines = append(v.lines, l)
	}
	for _, p := range v.h.Session.Store().Papers() {
		add(p.ID, p.Name, on[p.ID])
	}
	// The desk's papers first: their patterns differ most.
	sort.SliceStable(v.lines, func(i, j int) bool { return v.lines[i].on && !v.lines[j].on })
	add("", "this screen", false)
	for i, l := range v.lines {
		l.pattern = patterns[i%len(patterns)]
		l.row.Pattern = l.pattern
		l.row.Explain("Tick to draw where "+l.name+" ends. Beneath: the volume of its gamut in cubic units of CIELAB, and the lightness of its black and white. "+
			"The wide line is the active sheet’s paper.", v.tell)
		v.key.Add(l.row)
	}
}

func (v *verges) cutThrough(c cie.Lab) {
	v.light = math.Round(math.Max(2, math.Min(98, c.L)))
	if c.Chroma() > 2 {
		v.hue = math.Mod(math.Round(c.Hue()), 360)
	}
	v.lightSlide.Set(v.light)
	v.hueSlide.Set(v.hue)
}

func (v *verges) built() Built {
	keyHead, pinHead, seen := heading("Papers"), heading("Pins"), widget.NewText("White", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false)
	left := widget.NewProse("From above: all hues of one lightness", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 1)
	right := widget.NewProse("From the side: one hue from black to white", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 1)
	left.Bold, right.Bold = true, true
	keys := container.NewVScroll(v.key)
	pins := container.NewVScroll(v.pins)
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) {
		side := min(max(s.Width*0.2, 264), 360)
		const gap = 20
		foot := v.foot.HeightFor(s.Width)
		if two := 2 * widget.LineHeight(widget.Size(toolkittheme.SizeNameCaptionText)); foot < two {
			foot = two // the height stays when the text changes
		}
		h := s.Height - foot - 10
		set(v.foot, 0, s.Height-foot, s.Width, foot)
		w := (s.Width - side - 2*gap) / 2
		slide := widget.SlideHeight()
		line := widget.LineHeight(widget.Size(toolkittheme.SizeNameText))
		box := min(w, h-26-slide-10-2*line)
		for i, d := range []*widget.Drawing{v.flat, v.fall} {
			x := float32(i) * (w + gap)
			set([]fyne.CanvasObject{left, right}[i], x, 0, w, 22)
			if i == 0 {
				set(d, x+(w-box)/2, 26, box, box)
			} else {
				set(d, x, 26, w, box)
			}
			set([]fyne.CanvasObject{v.lightSlide, v.hueSlide}[i], x, 26+box+10, w, slide)
			set([]fyne.CanvasObject{v.flatTold, v.fallTold}[i], x, 26+box+10+slide+2, w, 3*line)
		}
		x := s.Width - side
		set(keyHead, x, 0, side, 24)
		rows := widget.LineRowHeight() + 2
		pinRoom := float32(30 + 4*(widget.RowHeight+2))
		if n := v.h.State().NumPins; n == 0 {
			pinRoom = 30 + 54
		}
		kh := min(float32(len(v.lines))*rows, h-28-44-pinRoom-float32(40))
		kh = max(kh, rows*1.5)
		set(keys, x, 28, side, kh)
		y := 28 + kh + 8
		lw := seen.MinSize().Width + 8
		set(seen, x, y+5, lw, 22)
		set(v.white, x+lw, y, side-lw, 32)
		y += 42
		sh := v.state.HeightFor(side)
		if v.state.Text == "" {
			sh = 0
		}
		set(v.state, x, y, side, sh)
		if sh > 0 {
			y += sh + 8
		}
		set(pinHead, x, y, side, 24)
		set(pins, x, y+28, side, max(h-y-28, 0))
		set(v.pinEmpty, x, y+28, side, 60)
	}}, left, right, v.flat, v.fall, v.lightSlide, v.hueSlide, v.flatTold, v.fallTold, keyHead, keys, seen, v.white, v.state, pinHead, pins, v.pinEmpty, v.foot)
	v.relay = content.Refresh
	return Built{Content: content, Update: v.update, Close: v.close, Key: v.typed}
}

func (v *verges) close() {
	v.cancel()
	if v.cloudStop != nil {
		v.cloudStop()
	}
}

// typed gives the keys of the cut: they work wherever the keyboard is.
func (v *verges) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyPageUp, fyne.KeyPageDown:
		v.lightSlide.TypedKey(e)
	case fyne.KeyLeft, fyne.KeyRight, fyne.KeyHome, fyne.KeyEnd:
		v.hueSlide.TypedKey(e)
	case fyne.KeyJ:
		if s := v.h.State(); s.NumPins > 0 {
			v.pick((s.Pin + 1) % s.NumPins)
		}
	default:
		return false
	}
	return true
}

// pick chooses a pin and cuts through its colour.
func (v *verges) pick(n int) {
	v.h.Do(session.ChoosePin{N: n})
	for i := 0; i < v.h.State().Count; i++ {
		if val := v.h.State().Values[i][n]; val.Known {
			v.cutThrough(val.Original)
			break
		}
	}
	v.paint()
}

// update follows the window's state.
func (v *verges) update(now session.State) {
	if now.Picture.Key == 0 {
		v.say("No picture is open yet: only the papers are drawn.")
	} else {
		v.followCloud(now)
	}
	sh, n := now.Proof()
	for _, l := range v.lines {
		if l.on {
			v.find(l, now)
		}
		l.row.Set(l.on, n >= 0 && l.id == sh.Paper && l.id != "", v.note(l))
	}
	v.followPins(now)
	v.paint()
}

func (v *verges) which() int {
	if v.absolute {
		return 1
	}
	return 0
}

// note is the line beneath a paper's name.
func (v *verges) note(l *verge) string {
	k := v.which()
	if l.id == "" {
		k = 0
	}
	switch {
	case l.failed[k] != "":
		return l.failed[k]
	case l.outline[k] != nil:
		o := l.outline[k]
		return fmt.Sprintf("%.0f thousand Lab³, L* %.0f–%.0f", o.Volume/1000, o.Black.L, o.White.L)
	case l.on:
		return "being measured out …"
	}
	return "not drawn"
}

// find has a line's outline made.
func (v *verges) find(l *verge, now session.State) {
	k := v.which()
	if l.id == "" {
		k = 0
	}
	if l.asked[k] {
		return
	}
	l.asked[k] = true
	set := setup.Usual(l.id) // of no paper for the screen's line
	set.Source, set.Screen = "srgb", now.Screen.Key
	go func() {
		var o *gamut.Outline
		plan, err := v.engine.Plan(nil, set)
		if err == nil {
			if l.id == "" {
				o, err = gamut.SpaceOutline(v.ctx, v.engine, plan.Screen)
			} else {
				o, err = gamut.PaperOutline(v.ctx, v.engine, plan.Paper, k == 1)
			}
		}
		if v.ctx.Err() != nil {
			return
		}
		v.h.Session.Post(func() {
			if v.ctx.Err() != nil {
				return
			}
			l.outline[k] = o
			if err != nil {
				l.failed[k] = session.Explain(err, "").Headline
			}
			v.update(v.h.State())
		})
	}()
}

// followCloud counts the picture's colours anew where they mean something else.
func (v *verges) followCloud(now session.State) {
	key := cloudKey{now.Picture.Key, now.Picture.Assumed, now.Screen.Key}
	if key == v.cloudOf {
		return
	}
	v.cloudOf = key
	if v.cloudStop != nil {
		v.cloudStop()
	}
	pic := v.h.Session.Store().Picture(now.Picture.Key)
	if pic == nil || len(pic.Levels) == 0 {
		return
	}
	ctx, stop := context.WithCancel(v.ctx)
	v.cloudStop, v.counted = stop, 0
	v.say("The picture’s colours are being counted …")
	set := setup.Setup{Source: key.source, Screen: key.screen}
	go func() {
		var cloud *gamut.Cloud
		plan, err := v.engine.Plan(pic, set)
		if err == nil {
			told := 0.0
			cloud, err = gamut.NewCloud(ctx, v.engine, plan.Source, plan.Screen, pic.Levels[0], pic.Alpha(), func(done float64) {
				if done-told < 0.1 {
					return
				}
				told = done
				v.h.Session.Post(func() {
					if ctx.Err() == nil && v.cloudOf == key && v.cloud == nil {
						v.say(fmt.Sprintf("The picture’s colours are being counted … %s", words.Share(done)))
					}
				})
			})
		}
		v.h.Session.Post(func() {
			if ctx.Err() != nil || v.cloudOf != key {
				return
			}
			v.cloud = cloud
			switch {
			case errors.Is(err, gamut.ErrNoPixels):
				v.say("The picture has no visible pixel.")
			case err != nil:
				v.say("The picture’s colours can’t be drawn. " + session.Explain(err, now.Picture.Path).Headline)
			default:
				v.say("")
			}
			v.paint()
		})
	}()
}

// say puts a sentence above the pins.
func (v *verges) say(s string) {
	if v.state.Text != s {
		v.state.SetText(s)
		if v.relay != nil {
			v.relay()
		}
	}
}

func (v *verges) followPins(now session.State) {
	if len(v.pinRows) != now.NumPins {
		v.pins.RemoveAll()
		v.pinRows = nil
		for i := range now.NumPins {
			r := widget.NewPaperRow("", "", color.Transparent, color.Transparent, false, func() { v.pick(i) })
			r.Explain("Cut both diagrams through this pin’s colour. J: the next pin. Outer field: the original; inner: on the active sheet’s paper.", v.tell)
			v.pinRows = append(v.pinRows, r)
			v.pins.Add(r)
		}
		if v.relay != nil {
			v.relay()
		}
	}
	show(v.pinEmpty, now.NumPins == 0)
	_, n := now.Proof()
	n = max(n, 0)
	var labs []cie.Lab
	for i := range now.NumPins {
		labs = append(labs, now.Values[n][i].Original)
	}
	if !slices.Equal(labs, v.pinLabs) {
		v.pinLabs = labs
		v.colourPins(now)
	}
	for i, r := range v.pinRows {
		val := now.Values[n][i]
		note := ""
		r.White, r.Black = color.Transparent, color.Transparent
		if val.Known {
			c := labs[i]
			note = fmt.Sprintf("L* %.0f  C* %.0f  h %.0f°", c.L, c.Chroma(), c.Hue())
			r.White, r.Black = v.pinColour(i), raster.RGBA(val.Screen)
		}
		r.Name, r.Note, r.Chosen = now.Pins[i].Name, note, i == now.Pin
		r.Refresh()
	}
}

// pinColour is a pin's colour in the picture as bytes of the screen, a grey while
// that is not yet known.
func (v *verges) pinColour(i int) color.RGBA {
	if i < len(v.pinSeen) {
		return v.pinSeen[i]
	}
	return plotGround
}

func (v *verges) colourPins(now session.State) {
	labs := v.pinLabs
	set := setup.Setup{Source: "srgb", Screen: now.Screen.Key} // for its screen alone
	go func() {
		plan, err := v.engine.Plan(nil, set)
		if err != nil {
			return
		}
		seen, err := gamut.Paint(v.engine, plan.Screen, labs)
		if err != nil || v.ctx.Err() != nil {
			return // the desk itself tells what is wrong with the screen's profile
		}
		v.h.Session.Post(func() {
			if v.ctx.Err() == nil && slices.Equal(labs, v.pinLabs) {
				v.pinSeen = seen
				v.followPins(v.h.State())
				v.paint()
			}
		})
	}()
}

// paint makes a new scene and has both diagrams painted.
func (v *verges) paint() {
	now := v.h.State()
	sc := &vergeScene{light: v.light, hue: v.hue, most: 60}
	if v.cloud != nil {
		sc.points, sc.pixels = v.cloud.Points, v.cloud.Pixels
		// A handful of stray pixels must not make everything else small.
		var far float64
		for _, p := range sc.points {
			if p.Weight >= sc.pixels/20000 {
				far = math.Max(far, p.Lab.Chroma())
			}
		}
		sc.most = math.Max(sc.most, far)
	}
	sh, n := now.Proof()
	for _, l := range v.lines {
		k := v.which()
		if l.id == "" {
			k = 0
		}
		if !l.on || l.outline[k] == nil {
			continue
		}
		sc.lines = append(sc.lines, sceneLine{l.name, l.pattern, l.outline[k], n >= 0 && l.id == sh.Paper && l.id != ""})
		for h := 0; h < 360; h += 5 {
			for _, c := range l.outline[k].AtHue(float64(h)) {
				sc.most = math.Max(sc.most, c.C)
			}
		}
	}
	sc.most = math.Min(140, 10*math.Ceil(sc.most*1.03/10))
	n = max(n, 0)
	for i := range now.NumPins {
		val := now.Values[n][i]
		if !val.Known {
			continue
		}
		p := scenePin{name: now.Pins[i].Name, chosen: i == now.Pin, colour: v.pinColour(i),
			at: val.Original}
		if !now.Sheets[n].Original {
			p.goes, p.moved = val.Relative, true
			if v.absolute {
				if paper, ok := v.h.Session.Store().Paper(sh.Paper); ok {
					p.goes = gamut.ToAbsolute(p.goes, paper.White())
				}
			}
		}
		sc.pins = append(sc.pins, p)
	}
	v.scene.Store(sc)
	v.flat.Again()
	v.fall.Again()
}

// The diagrams' own greys: they are the same in light and dark surroundings, as
// the desk is, because colours are judged on them.
var (
	plotGround = color.RGBA{119, 119, 119, 255}
	plotGrid   = color.RGBA{133, 133, 133, 255}
	plotAxis   = color.RGBA{166, 166, 166, 255}
	plotInk    = color.RGBA{250, 250, 250, 255}
	plotRim    = color.RGBA{24, 24, 24, 255}
	plotPlate  = color.NRGBA{24, 24, 24, 205}
)

const plotText = 13

func flatAxes(w, h int, scale, most float64) plot.Axes {
	m := int(math.Round(32 * scale))
	side := min(w, h) - 2*m
	x, y := (w-side)/2, (h-side)/2
	return plot.Axes{Box: image.Rect(x, y, x+side, y+side), X0: -most, X1: most, Y0: -most, Y1: most}
}

func fallAxes(w, h int, scale, most float64) plot.Axes {
	m := int(math.Round(30 * scale))
	left := int(math.Round(40 * scale))
	return plot.Axes{Box: image.Rect(left, m, w-m/2, h-m), X0: 0, X1: most, Y0: 0, Y1: 100}
}

func (v *verges) tapFlat(x, y float64) {
	sc, img := v.scene.Load(), v.flat.Shown()
	if sc == nil || img == nil {
		return
	}
	a, b := flatAxes(img.Rect.Dx(), img.Rect.Dy(), v.flat.Scale(), sc.most).Back(plot.Pt{X: x, Y: y})
	if math.Hypot(a, b) > 2 {
		v.hue = math.Mod(math.Round(cie.Lab{A: a, B: b}.Hue()), 360)
		v.hueSlide.Set(v.hue)
		v.paint()
	}
}

func (v *verges) tapFall(x, y float64) {
	sc, img := v.scene.Load(), v.fall.Shown()
	if sc == nil || img == nil {
		return
	}
	_, l := fallAxes(img.Rect.Dx(), img.Rect.Dy(), v.fall.Scale(), sc.most).Back(plot.Pt{X: x, Y: y})
	v.light = math.Round(math.Max(2, math.Min(98, l)))
	v.lightSlide.Set(v.light)
	v.paint()
}

func word(s string, x, y float64, align fyne.TextAlign, bold bool) widget.Word {
	return widget.Word{Text: s, X: x, Y: y, Align: align, Size: plotText, Bold: bold, Ink: plotInk, Plate: plotPlate}
}

func bare(s string, x, y float64, align fyne.TextAlign) widget.Word {
	return widget.Word{Text: s, X: x, Y: y, Align: align, Size: plotText, Ink: color.RGBA{12, 12, 12, 255}}
}

// tick is the distance of grid lines, at least wide device pixels apart.
func tick(unit, wide float64) float64 {
	for _, t := range []float64{10, 20, 40} {
		if t*unit >= wide {
			return t
		}
	}
	return 80
}

// dot is the side of a square that stands for a colour: the size of a cell of the
// count, and never too small to be seen.
func dot(a plot.Axes, scale float64) float64 { return math.Max(2.2*a.Unit(), 2*scale) }

func inkOf(l sceneLine, scale float64) (width, rim float64) {
	if l.heavy {
		return 3 * scale, 1 * scale
	}
	return 1.8 * scale, 0.9 * scale
}

// beyond tells which share of a slice lies outside a line.
func beyond(in []gamut.Point, o *gamut.Outline) (share float64, any bool) {
	var out, all float64
	for _, p := range in {
		all += p.Weight
		// Half a square's side of grace: what touches the line is not outside it.
		if o.Beyond(p.Lab, 1) {
			out += p.Weight
		}
	}
	if all == 0 {
		return 0, false
	}
	return out / all, true
}

func (v *verges) paintFlat(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	sc := v.scene.Load()
	s := plot.New(w, h, plotGround)
	if sc == nil {
		return s.Img, nil
	}
	ax := flatAxes(w, h, scale, sc.most)
	var words []widget.Word
	step := tick(ax.Unit(), 40*scale)
	b := ax.Box
	for t := -math.Floor(sc.most/step) * step; t <= sc.most; t += step {
		p := ax.At(t, t)
		c := plotGrid
		if t == 0 {
			c = plotAxis
		}
		x, y := int(math.Round(p.X)), int(math.Round(p.Y))
		s.Rule(x, b.Min.Y, x, b.Max.Y, int(scale), c)
		s.Rule(b.Min.X, y, b.Max.X, y, int(scale), c)
		if t != 0 {
			words = append(words, bare(minus(t), p.X, float64(b.Max.Y)+9*scale, fyne.TextAlignCenter),
				bare(minus(t), float64(b.Min.X)-4*scale, p.Y, fyne.TextAlignTrailing))
		}
	}
	var in []gamut.Point
	for _, p := range sc.points {
		if gamut.NearLightness(p.Lab, sc.light) {
			in = append(in, p)
			s.Square(ax.At(p.Lab.A, p.Lab.B), dot(ax, scale), p.Screen, b)
		}
	}
	sin, cos := math.Sincos(sc.hue * math.Pi / 180)
	edge := ax.At(cos*sc.most, sin*sc.most)
	s.Line([]plot.Pt{ax.At(0, 0), edge}, false, scale, plot.Pattern{3, 3}, plotInk, plotRim, 0)
	taken := []plot.Pt{ax.At(0, 0)}
	for _, q := range sc.pins {
		if q.chosen || gamut.NearLightness(q.at, sc.light) {
			at := ax.At(q.at.A, q.at.B)
			taken = append(taken, at, plot.Pt{X: at.X + 40*scale, Y: at.Y})
		}
	}
	for _, l := range sc.lines {
		line := l.outline.AtLightness(sc.light)
		if line == nil {
			continue
		}
		pts := make([]plot.Pt, len(line))
		for k, c := range line {
			pts[k] = ax.At(c.A, c.B)
		}
		width, rim := inkOf(l, scale)
		s.Line(pts, true, width, l.pattern, plotInk, plotRim, rim)
		// The name stands where it is farthest from pins and other names.
		p := roomiest(pts, ax.At(0, 0), 16*scale, taken)
		taken = append(taken, p)
		words = append(words, word(l.name, p.X, p.Y, fyne.TextAlignCenter, l.heavy))
	}
	words = append(words, drawPins(s, ax, sc, scale, func(c cie.Lab) (plot.Pt, bool) {
		return ax.At(c.A, c.B), gamut.NearLightness(c, sc.light)
	})...)
	o := ax.At(0, 0)
	words = append(words, bare("−a*  green", float64(b.Min.X)+5*scale, o.Y-10*scale, fyne.TextAlignLeading),
		bare("+a*  red", float64(b.Max.X)-5*scale, o.Y-10*scale, fyne.TextAlignTrailing),
		bare("+b*  yellow", o.X+6*scale, float64(b.Min.Y)+10*scale, fyne.TextAlignLeading),
		bare("−b*  blue", o.X+6*scale, float64(b.Max.Y)-10*scale, fyne.TextAlignLeading))
	v.told(v.flatTold, sc, in, "at this lightness")
	return s.Img, words
}

func (v *verges) paintFall(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	sc := v.scene.Load()
	s := plot.New(w, h, plotGround)
	if sc == nil {
		return s.Img, nil
	}
	ax := fallAxes(w, h, scale, sc.most)
	b := ax.Box
	var words []widget.Word
	for t := 0.0; t <= 100; t += 20 {
		y := int(math.Round(ax.At(0, t).Y))
		s.Rule(b.Min.X, y, b.Max.X, y, int(scale), plotGrid)
		words = append(words, bare(minus(t), float64(b.Min.X)-5*scale, float64(y), fyne.TextAlignTrailing))
	}
	for t := 0.0; t <= sc.most; t += tick(ax.Unit(), 40*scale) {
		x := int(math.Round(ax.At(t, 0).X))
		c := plotGrid
		if t == 0 {
			c = plotAxis
		}
		s.Rule(x, b.Min.Y, x, b.Max.Y, int(scale), c)
		words = append(words, bare(minus(t), float64(x), float64(b.Max.Y)+9*scale, fyne.TextAlignCenter))
	}
	along := func(c cie.Lab) float64 {
		sin, cos := math.Sincos(sc.hue * math.Pi / 180)
		return math.Max(0, c.A*cos+c.B*sin)
	}
	var in []gamut.Point
	for _, p := range sc.points {
		if gamut.NearHue(p.Lab, sc.hue) {
			in = append(in, p)
			s.Square(ax.At(along(p.Lab), p.Lab.L), dot(ax, scale), p.Screen, b)
		}
	}
	s.Line([]plot.Pt{ax.At(0, sc.light), ax.At(sc.most, sc.light)}, false, scale, plot.Pattern{3, 3}, plotInk, plotRim, 0)
	for i, l := range sc.lines {
		line := l.outline.AtHue(sc.hue)
		pts := make([]plot.Pt, len(line))
		for k, c := range line {
			pts[k] = ax.At(c.C, c.L)
		}
		width, rim := inkOf(l, scale)
		s.Line(pts, false, width, l.pattern, plotInk, plotRim, rim)
		// Names stand one beneath the other, beside their line.
		level := l.outline.White.L - (l.outline.White.L-l.outline.Black.L)*(float64(i)+0.7)/(float64(len(sc.lines))+0.4)
		p := ax.At(l.outline.Chroma(level, sc.hue), level)
		words = append(words, word(l.name, p.X+10*scale, p.Y, fyne.TextAlignLeading, l.heavy))
	}
	words = append(words, drawPins(s, ax, sc, scale, func(c cie.Lab) (plot.Pt, bool) {
		return ax.At(along(c), c.L), gamut.NearHue(c, sc.hue)
	})...)
	words = append(words, bare("L*  black to white", float64(b.Min.X)-30*scale, float64(b.Min.Y)-17*scale, fyne.TextAlignLeading),
		bare("C*  grey to vivid", float64(b.Max.X)-4*scale, float64(b.Max.Y)-10*scale, fyne.TextAlignTrailing))
	v.told(v.fallTold, sc, in, "of this hue")
	return s.Img, words
}

// told puts into words, beneath a diagram, what its slice holds and how much of
// that lies outside the active paper's line. It is called by the painters.
func (v *verges) told(at *widget.Prose, sc *vergeScene, in []gamut.Point, which string) {
	text := ""
	var all float64
	for _, p := range in {
		all += p.Weight
	}
	switch {
	case sc.points == nil:
	case all == 0:
		text = "Nothing of the picture is " + which + "."
	default:
		text = fmt.Sprintf("%s of the picture is %s.", words.Share(all/sc.pixels), which)
		for _, l := range sc.lines {
			if !l.heavy {
				continue
			}
			if share, any := beyond(in, l.outline); any {
				text = fmt.Sprintf("%s of the picture is %s, %s of it outside %s.", words.Share(all/sc.pixels), which, words.Share(share), l.name)
			}
		}
	}
	v.h.Session.Post(func() { at.SetText(text) })
}

// drawPins marks the pins: a large ring in its own colour with its name for those
// of the slice, a small one for the others; an arrow leads to where the active
// sheet prints it.
func drawPins(s *plot.Sheet, ax plot.Axes, sc *vergeScene, scale float64, place func(cie.Lab) (plot.Pt, bool)) []widget.Word {
	var words []widget.Word
	for _, p := range sc.pins {
		at, in := place(p.at)
		if !in && !p.chosen {
			s.Ring(at, 3*scale, scale, plotInk, plotRim, 0.8*scale)
			continue
		}
		if p.moved {
			to, _ := place(p.goes)
			s.Arrow(at, to, 8*scale, 1.6*scale, plotInk, plotRim, scale)
		}
		r := 6 * scale
		if p.chosen {
			r = 8 * scale
		}
		s.Disc(at, r, p.colour)
		s.Ring(at, r, 1.6*scale, plotInk, plotRim, scale)
		align, x := fyne.TextAlignLeading, at.X+r+7*scale
		if at.X > float64(ax.Box.Max.X)-80*scale {
			align, x = fyne.TextAlignTrailing, at.X-r-7*scale
		}
		words = append(words, word(p.name, x, at.Y, align, p.chosen))
	}
	return words
}

// roomiest returns the place just outside a closed line round o that is farthest
// from all that is taken.
func roomiest(line []plot.Pt, o plot.Pt, out float64, taken []plot.Pt) plot.Pt {
	best, at := -1.0, o
	for k := 0; k < len(line); k += 6 {
		p := line[k]
		d := math.Hypot(p.X-o.X, p.Y-o.Y)
		if d == 0 {
			continue
		}
		p = plot.Pt{X: p.X + (p.X-o.X)/d*out, Y: p.Y + (p.Y-o.Y)/d*out}
		near := math.Inf(1)
		for _, t := range taken {
			near = math.Min(near, math.Hypot(p.X-t.X, 2*(p.Y-t.Y)))
		}
		if near > best {
			best, at = near, p
		}
	}
	return at
}

func minus(v float64) string {
	if v <= -0.5 {
		return fmt.Sprintf("−%.0f", -v)
	}
	return fmt.Sprintf("%.0f", math.Max(v, 0))
}
