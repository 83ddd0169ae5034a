package session

import (
	"context"
	"errors"
	"fmt"
	"image/color"
	"math"
	"path/filepath"
	"strings"
	"sync"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// Works is the Engine that really computes: it turns set-ups into plans of
// package proof. It may be used from many goroutines.
type Works struct {
	Engine  *proof.Engine
	Library *paper.Library
	// DemoPicture opens the picture that comes with the program.
	DemoPicture func(ctx context.Context) (*photo.Picture, []pin.Pin, error)

	mu       sync.Mutex
	papers   []paper.Paper
	facts    map[string]paper.Facts // by profile ID
	profiles map[string]*proof.Profile
	own      map[int]*proof.Profile // source profiles of open pictures
}

var _ Engine = (*Works)(nil)

// NewWorks returns an engine over a library of papers.
func NewWorks(lib *paper.Library, demo func(ctx context.Context) (*photo.Picture, []pin.Pin, error)) *Works {
	w := &Works{Engine: proof.NewEngine(), Library: lib, DemoPicture: demo, facts: map[string]paper.Facts{},
		profiles: map[string]*proof.Profile{}, own: map[int]*proof.Profile{}}
	w.papers, _ = lib.List()
	return w
}

// Papers implements Engine.
func (w *Works) Papers() []Paper {
	w.mu.Lock()
	defer w.mu.Unlock()
	var out []Paper
	for _, p := range w.papers {
		q := Paper{ID: p.ID, Name: p.Name, BuiltIn: p.Builtin, Finish: p.Card.Finish, Path: p.Path, Channels: p.Profile.Channels()}
		for _, s := range p.Settings {
			q.Settings = append(q.Settings, [2]string{s.ID, s.Name})
		}
		white, _ := p.Profile.MediaWhite()
		black := cie.Lab{L: 15}
		if f, ok := w.facts[p.Profile.ID()]; ok {
			white, black = f.White, f.Black
			q.Studied, q.EightBit, q.Facts = true, f.EightBit, factLines(p, f)
		}
		q.White, q.Black = triple(white), triple(black)
		q.WhiteSeen, q.BlackSeen = seen(white), seen(black)
		out = append(out, q)
	}
	return out
}

func triple(c cie.Lab) [3]float64 { return [3]float64{c.L, c.A, c.B} }

// seen is a colour on an sRGB screen, for swatches.
func seen(c cie.Lab) color.RGBA {
	v := space.SRGB().FromLab(c)
	return byteColor(v)
}

func byteColor(v [3]float64) color.RGBA {
	b := func(x float64) uint8 { return uint8(math.Round(clamp(x, 0, 1) * 255)) }
	return color.RGBA{b(v[0]), b(v[1]), b(v[2]), 255}
}

// factLines is what a profile says of a paper, and what is noted of it.
func factLines(p paper.Paper, f paper.Facts) [][2]string {
	lab := func(c cie.Lab) string { return fmt.Sprintf("L* %.1f   a* %.1f   b* %.1f", c.L, c.A, c.B) }
	out := [][2]string{
		{"Description", f.Description},
		{"Paper’s white", lab(f.White)},
		{"Paper’s black", lab(f.Black)},
	}
	add := func(name, value string) {
		if value != "" {
			out = append(out, [2]string{name, value})
		}
	}
	if f.Volume > 0 {
		add("Size of its gamut", fmt.Sprintf("%.0f thousand cubic units of CIELAB", f.Volume/1000))
	}
	if f.TotalInk > 0 {
		add("Total ink", fmt.Sprintf("%.0f %% at most in its own separation", f.TotalInk*100))
	}
	add("Numbers", fmt.Sprintf("%s, %d channels", f.Space, f.Channels))
	add("Version", f.Version)
	var have []string
	for _, i := range f.Intents {
		if i.Into == "" {
			continue
		}
		s := i.Intent
		switch {
		case i.StandIn:
			s += " (no table of its own)"
		case i.SameAs != "":
			s += " (the same table as " + i.SameAs + ")"
		}
		have = append(have, s)
	}
	add("Intents", strings.Join(have, ", "))
	if f.EightBit {
		add("Tables", "8 bits: differences of about 1 ΔE00 drown in their rounding")
	}
	add("Gamut tag", map[bool]string{true: "there; the reach is found by going there and back all the same", false: "none; it is not needed"}[f.GamutTag])
	for _, a := range f.Assumed {
		add("Assumed", a)
	}
	c := p.Card
	add("Finish", c.Finish)
	add("Printer", c.Printer)
	add("Media setting", c.Media)
	add("Black ink", c.BlackInk)
	add("Measured under", c.Condition)
	add("Made on", c.Date)
	if c.DryHours > 0 {
		add("Dries for", fmt.Sprintf("%.0f hours before it is judged", c.DryHours))
	}
	add("Notes", c.Notes)
	add("File", p.Path)
	return out
}

// Study implements Engine.
func (w *Works) Study(ctx context.Context) error {
	w.mu.Lock()
	list := append([]paper.Paper(nil), w.papers...)
	w.mu.Unlock()
	for _, p := range list {
		w.mu.Lock()
		_, known := w.facts[p.Profile.ID()]
		w.mu.Unlock()
		if known {
			continue
		}
		f, err := paper.Inspect(ctx, p.Profile)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			continue // it still serves; its use tells what is wrong
		}
		w.mu.Lock()
		w.facts[p.Profile.ID()] = f
		w.mu.Unlock()
	}
	return nil
}

// AddPaper implements Engine.
func (w *Works) AddPaper(_ context.Context, path string) (Paper, error) {
	p, err := w.Library.Add(path)
	var twin *paper.DuplicateError
	if errors.As(err, &twin) {
		// It is there already: that one is taken.
		p, err = twin.Existing, nil
	}
	if err != nil {
		return Paper{}, err
	}
	w.Refresh()
	for _, q := range w.Papers() {
		if q.ID == p.ID {
			return q, nil
		}
	}
	return Paper{ID: p.ID, Name: p.Name}, nil
}

// Refresh implements Engine.
func (w *Works) Refresh() {
	list, _ := w.Library.List()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.papers = list
	for key := range w.profiles {
		if strings.HasPrefix(key, "file:") {
			delete(w.profiles, key)
		}
	}
}

// Watch implements Engine.
func (w *Works) Watch(ctx context.Context, paths []string, changed func(path string)) error {
	_, err := photo.Watch(ctx, paths, changed)
	return err
}

// Source implements Engine.
func (w *Works) Source(_ context.Context, pic *Picture, path string) error {
	p, err := paper.ReadProfile(path)
	if err == nil {
		err = p.CheckSource()
	}
	if err == nil && pic != nil && p.Channels() != pic.Info.Channels {
		err = &proof.ProfileError{Op: "use as the picture's space", Profile: p.Name(), Kind: proof.WrongChannels,
			Err: fmt.Errorf("it has %d channels, the picture has %d", p.Channels(), pic.Info.Channels)}
	}
	if err != nil {
		return err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.profiles["file:"+path] = p
	return nil
}

// Paper returns a paper of the library with its profile.
func (w *Works) Paper(id string) (paper.Paper, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, p := range w.papers {
		if p.ID == id {
			return p, true
		}
	}
	return paper.Paper{}, false
}

// Slips implements Engine.
func (w *Works) Slips() []SlipKind {
	var out []SlipKind
	for _, s := range slip.All() {
		out = append(out, SlipKind{
			ID: s.ID, Name: apostrophes(s.Name), Help: s.Recognise,
			NeedsReads: s.NeedsReads, NeedsPaper: s.NeedsPaper, NeedsSetting: s.NeedsSetting, NeedsSecond: s.NeedsSecond,
		})
	}
	return out
}

// Spaces implements Engine.
func (w *Works) Spaces() []Space {
	var out []Space
	for _, s := range space.All() {
		out = append(out, Space{s.ID, s.Name})
	}
	return out
}

// Open implements Engine.
func (w *Works) Open(ctx context.Context, path string) (*Picture, error) {
	p, err := photo.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return w.picture(ctx, p, filepath.Base(path), path)
}

// Demo implements Engine.
func (w *Works) Demo(ctx context.Context) (*Picture, error) {
	p, pins, err := w.DemoPicture(ctx)
	if err != nil {
		return nil, err
	}
	pic, err := w.picture(ctx, p, "regatta", "")
	if err != nil {
		return nil, err
	}
	long := float64(max(p.W, p.H))
	for _, q := range pins {
		pic.Pins = append(pic.Pins, Pin{Name: q.Name, X: q.X * float64(p.W), Y: q.Y * float64(p.H), Radius: math.Round(q.Radius * long)})
	}
	return pic, nil
}

// errNoSource says why a CMYK file without a profile can't be shown.
var errNoSource = errors.New("its CMYK numbers mean nothing without a profile, and it carries none; save it anew with its profile embedded, or as RGB")

func (w *Works) picture(ctx context.Context, p *photo.Picture, name, path string) (*Picture, error) {
	if p.Channels == 1 && p.ICC == nil {
		p = p.RGB()
	}
	info := PictureInfo{Path: path, Name: name, W: p.W, H: p.H, Channels: p.Channels, Depth: p.Depth,
		Alpha: p.Alpha != nil, Notes: strings.Join(p.Notes, "\n")}
	switch {
	case p.ICC != nil:
		prof, err := proof.NewProfile("", p.ICC)
		if err == nil {
			err = prof.CheckSource()
		}
		if err != nil {
			if p.Channels == 4 {
				return nil, err
			}
			info.Assumed = "srgb"
			info.Notes = strings.TrimSpace(info.Notes + "\nThe embedded profile cannot be used, so sRGB is assumed.")
			break
		}
		if prof.Channels() != p.Channels {
			return nil, &photo.Error{Path: path, Kind: photo.Unsupported,
				Err: fmt.Errorf("it has %d channels, but its profile is for %d", p.Channels, prof.Channels())}
		}
		info.Embedded, info.Named = true, prof.Name()
	case p.Space != nil:
		info.Named = p.Space.Name
	case p.Channels == 4:
		return nil, &photo.Error{Path: path, Kind: photo.Unsupported, Err: errNoSource}
	default:
		info.Assumed = "srgb"
	}
	px := raster.Pixels{W: p.W, H: p.H, Channels: p.Channels, P8: p.Pix8, P16: p.Pix16}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return &Picture{Info: info, Levels: raster.Levels(px), Photo: p}, nil
}

// Use implements Engine.
func (w *Works) Use(pic *Picture) {
	var own *proof.Profile
	switch {
	case pic.Info.Embedded:
		if p, err := proof.NewProfile("", pic.Photo.ICC); err == nil {
			own = p
		}
	case pic.Photo.Space != nil:
		own = proof.SpaceProfile(*pic.Photo.Space)
	}
	if own == nil {
		own = proof.SpaceProfile(space.SRGB())
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.own = map[int]*proof.Profile{pic.Info.Key: own}
}

// Screen implements Engine.
func (w *Works) Screen(_ context.Context, path string, data []byte) (Screen, error) {
	var p *proof.Profile
	var err error
	if data != nil {
		p, err = proof.NewProfile("", data)
	} else {
		p, err = paper.ReadProfile(path)
	}
	if err == nil {
		err = p.CheckScreen()
	}
	if err != nil {
		return Screen{}, err
	}
	key := "file:" + path
	if data != nil {
		key = "system:" + p.ID()
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.profiles[key] = p
	return Screen{Key: key, Name: p.Name()}, nil
}

// profile returns a profile by key: a space ID, "file:..." or one that was read
// before.
func (w *Works) profile(key string) (*proof.Profile, error) {
	w.mu.Lock()
	p, ok := w.profiles[key]
	w.mu.Unlock()
	if ok {
		return p, nil
	}
	if s, ok := space.ByID(key); ok {
		p = proof.SpaceProfile(s)
	} else if path, ok := strings.CutPrefix(key, "file:"); ok {
		var err error
		if p, err = paper.ReadProfile(path); err != nil {
			return nil, err
		}
	} else {
		return nil, &proof.PlanError{Reason: fmt.Sprintf("no space is called %q", key)}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.profiles[key] = p
	return p, nil
}

// Plan turns a set-up into a plan of the engine.
func (w *Works) Plan(set Setup) (proof.Plan, error) {
	var plan proof.Plan
	var err error
	if set.Source != "" {
		plan.Source, err = w.profile(set.Source)
	} else {
		w.mu.Lock()
		plan.Source = w.own[set.Picture]
		w.mu.Unlock()
		if plan.Source == nil {
			err = &proof.PlanError{Reason: "the picture is no longer open"}
		}
	}
	if err != nil {
		return plan, err
	}
	if plan.Screen, err = w.profile(set.Screen); err != nil {
		return plan, err
	}
	if set.Dim != 1 {
		plan.Dim = set.Dim
	}
	if set.Original {
		return plan, nil
	}
	p, ok := w.Paper(set.Paper)
	if !ok {
		return plan, &proof.PlanError{Reason: fmt.Sprintf("the paper %q is not among your papers", set.Paper)}
	}
	plan.Paper, plan.CountWhite = p.Profile, set.Counted
	plan.White = proof.ScreenWhite
	if set.White == PaperWhite {
		plan.White = proof.PaperWhite
	}
	plan.Conversions = []proof.Conversion{{From: plan.Source, To: p.Profile, Intent: proof.Intent(set.Intent), BPC: set.BPC, By: "Firstsheet"}}
	var ids []string
	for _, id := range set.Slip.ID {
		if id != "" {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return plan, nil
	}
	o := slip.Options{Second: proof.Intent(set.Slip.Second)}
	if set.Slip.Reads != "" {
		if o.Reads, err = w.profile(set.Slip.Reads); err != nil {
			return plan, err
		}
	}
	if set.Slip.OtherPaper != "" {
		q, ok := w.Paper(set.Slip.OtherPaper)
		if !ok {
			return plan, &proof.PlanError{Reason: fmt.Sprintf("the paper %q is not among your papers", set.Slip.OtherPaper)}
		}
		o.Other = q.Profile
	}
	if s, ok := p.Setting(set.Slip.Setting); ok {
		o.Setting, o.SettingName = s.Profile, s.Name
	}
	return slip.Apply(plan, ids, o)
}

// Route implements Engine.
func (w *Works) Route(pic PictureInfo, set Setup, screen Screen) (Route, error) {
	plan, err := w.Plan(set)
	if err != nil {
		return Route{}, err
	}
	var out Route
	for _, s := range plan.Route().Stations {
		if out.N == MaxStations {
			break
		}
		st := Station{Plain: s.Title, Trade: s.Detail, Note: s.Why, Fault: faults[s.Fault]}
		if s.Fault != proof.NoFault && s.Why != "" {
			st.Note = s.Fault.String() + ": " + s.Why
		}
		switch s.Kind {
		case proof.FileStation:
			st.Kind = "file"
			switch {
			case pic.Embedded && set.Source == "":
				st.Trade += ", embedded"
			case set.Source != "":
				st.Trade += ", assumed"
				st.Ask = "source"
			default:
				st.Trade += ", named in the file"
			}
		case proof.ScreenStation:
			st.Kind, st.Ask = "screen", "screen"
			if screen.Assumed {
				st.Trade += " assumed: wrong if it is wide-gamut"
			}
			if c, err := w.Engine.Chain(plan); err == nil {
				if l := c.ScreenBlack(); l > 0 {
					st.Trade += fmt.Sprintf(", its black is L* %.1f: all sheets are lifted to it", l)
				}
				c.Close()
			}
		}
		st.Plain, st.Trade, st.Note = apostrophes(st.Plain), apostrophes(st.Trade), apostrophes(st.Note)
		out.Stations[out.N] = st
		out.N++
	}
	out.Note = apostrophes(strings.Join(plan.Notes(), " "))
	if !set.Original {
		out.Idle = w.idle(set)
	}
	return out, nil
}

var faults = map[proof.Fault]Fault{
	proof.NoFault: FaultNone, proof.Extra: FaultExtra, proof.Missing: FaultMissing, proof.LeftOut: FaultMissing,
	proof.Mislabeled: FaultWrong, proof.WrongPaper: FaultWrong, proof.TooBright: FaultWrong,
}

// idle says why compensation does nothing in a set-up, "" where it does
// something: the two plans are asked, not the rule book.
func (w *Works) idle(set Setup) string {
	set.Slip, set.Dim = Slip{}, 1
	plan, err := w.Plan(set)
	if err != nil {
		return ""
	}
	if set.Intent == Absolute {
		return "does nothing with the absolute intent"
	}
	if plan.Paper.ForcesBPC(proof.Intent(set.Intent)) {
		return "always happens here: a version 4 profile, " + set.Intent.Name()
	}
	var look [2]cie.Lab
	for i, on := range []bool{false, true} {
		plan.Conversions[0].BPC = on
		c, err := w.Engine.Chain(plan)
		if err != nil {
			return ""
		}
		// A dark grey shows the compensation more surely than black itself.
		src := make([]float64, plan.Source.Channels())
		for k := range src {
			src[k] = 0.12
			if plan.Source.Channels() == 4 {
				src[k] = 0.85
			}
		}
		look[i] = c.Value(src).Relative
		c.Close()
	}
	if cie.DeltaE00(look[0], look[1]) < 0.05 {
		return "does nothing here: the shadows come out alike without it"
	}
	return ""
}

type gridLook struct {
	*proof.Grid
	ground color.RGBA
}

func (l gridLook) Ground() color.RGBA { return l.ground }

// Look implements Engine.
func (w *Works) Look(ctx context.Context, set Setup, q proof.Quality) (Look, error) {
	plan, err := w.Plan(set)
	if err != nil {
		return nil, err
	}
	g, err := w.Engine.Grid(ctx, plan, q)
	if err != nil {
		return nil, err
	}
	ground, err := w.ground(plan)
	if err != nil {
		return nil, err
	}
	return gridLook{g, ground}, nil
}

// ground is the bare sheet on the screen: the paper without ink, or for the
// original its white.
func (w *Works) ground(plan proof.Plan) (color.RGBA, error) {
	if plan.Paper == nil {
		if plan.Source.Channels() == 4 {
			plan.Source = proof.SpaceProfile(space.SRGB()) // its white is the screen's white too
		}
	} else {
		plan.Source, plan.Conversions, plan.Reach = plan.Paper, nil, nil
	}
	c, err := w.Engine.Chain(plan)
	if err != nil {
		return color.RGBA{}, err
	}
	defer c.Close()
	src := make([]float64, plan.Source.Channels())
	if s := plan.Source.ColorSpace(); s == icc.SpaceRGB || s == icc.SpaceGray {
		for i := range src {
			src[i] = 1
		}
	}
	return byteColor(c.Value(src).Screen), nil
}

// Figures implements Engine.
func (w *Works) Figures(ctx context.Context, pic *Picture, set Setup, progress func(float64)) (Figures, error) {
	plan, err := w.Plan(set)
	if err != nil {
		return Figures{}, err
	}
	g, err := w.Engine.Grid(ctx, plan, proof.Fine)
	if err != nil {
		return Figures{}, err
	}
	f, err := g.Figures(ctx, pic.Levels[0], pic.Photo.Alpha, progress)
	if err != nil {
		return Figures{}, err
	}
	out := Figures{Known: true, Darker: f.Darker, Outside: f.Outside(2), Mean: f.Mean, P95: f.P95, Max: f.Max}
	copy(out.Bands[:], f.Reach[:])
	return out, nil
}

// chainOf returns the exact chain of a set-up. The caller closes it.
func (w *Works) chainOf(set Setup) (*proof.Chain, error) {
	plan, err := w.Plan(set)
	if err != nil {
		return nil, err
	}
	return w.Engine.Chain(plan)
}

// Values implements Engine.
func (w *Works) Values(ctx context.Context, pic *Picture, set Setup, pins []Pin) ([]PinValue, error) {
	c, err := w.chainOf(set)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	bare := set
	bare.Original = true
	o, err := w.chainOf(bare)
	if err != nil {
		return nil, err
	}
	defer o.Close()
	var right *proof.Chain // the same sheet without its slip
	if set.Slip.ID[0] != "" {
		sound := set
		sound.Slip = Slip{}
		if right, err = w.chainOf(sound); err != nil {
			return nil, err
		}
		defer right.Close()
	}
	full := pic.Levels[0]
	long := float64(max(full.W, full.H))
	out := make([]PinValue, len(pins))
	for i, p := range pins {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		at := pin.Pin{X: (p.X + 0.5) / float64(full.W), Y: (p.Y + 0.5) / float64(full.H), Radius: p.Radius / long}
		pts := at.Pixels(full.W, full.H)
		var src []float64
		for _, q := range pts {
			src = full.At(src, q.X, q.Y)
		}
		vals := make([]proof.Value, len(pts))
		c.Values(vals, src)
		out[i] = average(vals)
		o.Values(vals, src)
		out[i].OnScreen = average(vals).Screen
		if right != nil {
			right.Values(vals, src)
			out[i].Slipped, out[i].Right = true, average(vals).Relative
		}
		if set.Original {
			out[i].Words = words.Name(lab(out[i].Original))
		}
	}
	return out, nil
}

func average(vals []proof.Value) PinValue {
	n := len(vals)
	orig, counted, rel := make([]cie.Lab, n), make([]cie.Lab, n), make([]cie.Lab, n)
	var screen [3]float64
	var reach float64
	dark := 0
	for i, v := range vals {
		orig[i], counted[i], rel[i] = v.Original, v.Counted, v.Relative
		for k := range screen {
			screen[k] += v.Screen[k] / float64(n)
		}
		reach += v.Reach / float64(n)
		if v.Darker {
			dark++
		}
	}
	read := func(c []cie.Lab) cie.Lab {
		r, _ := pin.Average(c)
		return r.Lab
	}
	o, c, r := read(orig), read(counted), read(rel)
	return PinValue{Known: true, Original: triple(o), Counted: triple(c), Relative: triple(r), DeltaE00: cie.DeltaE00(o, c),
		Reach: reach, Darker: 2*dark > n, Screen: byteColor(screen), Words: words.Compare(o, c).Sentence()}
}

// Propose implements Engine.
func (w *Works) Propose(ctx context.Context, pic *Picture, have []Pin) ([]Pin, error) {
	set := Setup{Picture: pic.Info.Key, Source: pic.Info.Assumed, Original: true, Screen: "srgb", Dim: 1}
	plan, err := w.Plan(set)
	if err != nil {
		return nil, err
	}
	c, err := w.Engine.Chain(plan)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	small := pic.Levels[0]
	for _, l := range pic.Levels {
		if max(l.W, l.H) >= 400 {
			small = l
		}
	}
	tiny := pin.Picture{W: small.W, H: small.H, Lab: make([]cie.Lab, 0, small.W*small.H)}
	for y := range small.H {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		var src []float64
		for x := range small.W {
			src = small.At(src, x, y)
		}
		vals := make([]proof.Value, small.W)
		c.Values(vals, src)
		for _, v := range vals {
			tiny.Lab = append(tiny.Lab, v.Original)
		}
	}
	fw, fh := float64(pic.Info.W), float64(pic.Info.H)
	var placed []pin.Pin
	for _, p := range have {
		placed = append(placed, pin.Pin{Name: p.Name, X: p.X / fw, Y: p.Y / fh, Radius: p.Radius / math.Max(fw, fh)})
	}
	found, err := pin.Suggest(ctx, tiny, placed)
	if err != nil {
		return nil, err
	}
	var out []Pin
	used := map[string]int{}
	for _, f := range found {
		name := f.Name
		if name == "" {
			name = words.Name(f.Reading.Lab)
		}
		if used[name]++; used[name] > 1 {
			name = fmt.Sprintf("%s %d", name, used[name])
		}
		out = append(out, Pin{Name: name, X: f.X * fw, Y: f.Y * fh, Radius: math.Max(1, math.Round(f.Radius*math.Max(fw, fh)))})
	}
	return out, nil
}

func lab(v [3]float64) cie.Lab { return cie.Lab{L: v[0], A: v[1], B: v[2]} }

// Words implements Engine.
func (w *Works) Words(set Setup, pins []Pin, values []PinValue, chosen int, fig Figures) (string, int) {
	if set.Original {
		return "", -1
	}
	name := set.Paper
	if p, ok := w.Paper(set.Paper); ok {
		name = p.Name
	}
	if set.Slip.ID[0] != "" {
		if reason := w.reason(set); reason != "" {
			if text, pin, ok := slipWords(pins, values, chosen, reason); ok {
				return text, pin
			}
		}
	}
	if chosen < 0 || chosen >= len(values) {
		chosen = lead(values, func(v PinValue) float64 { return v.DeltaE00 })
	}
	if chosen >= 0 && values[chosen].Known {
		c := words.Compare(lab(values[chosen].Original), lab(values[chosen].Relative))
		return sentence(c.OnSheet(name, pins[chosen].Name)), chosen
	}
	if !fig.Known {
		return "", -1
	}
	share := func(v float64) string {
		if v == 0 {
			return "nothing"
		}
		if v < 0.01 {
			return "less than 1 %"
		}
		return fmt.Sprintf("%.0f %%", v*100)
	}
	return fmt.Sprintf("On %s, %s of this picture is out of reach and %s is darker than the paper’s black.", name, share(fig.Outside), share(fig.Darker)), -1
}

// lead returns the pin that a sheet's sentence speaks of: the first one, which is
// put where it matters most, unless it hardly changes; then the one that changes
// most. -1 where nothing is known.
func lead(values []PinValue, change func(PinValue) float64) int {
	chosen, most := -1, 0.0
	for i, v := range values {
		if !v.Known {
			continue
		}
		d := change(v)
		if i == 0 && d >= 1 {
			return 0
		}
		if d > most {
			most, chosen = d, i
		}
	}
	return chosen
}

// slipWords tells what a slip itself does to the chosen pin, or to the leading one:
// it is compared with the proof as it should be, for what the paper can't reach is
// none of the slip's making. ok is false where no pin is known.
func slipWords(pins []Pin, values []PinValue, chosen int, reason string) (text string, spoken int, ok bool) {
	own := func(v PinValue) words.Change { return words.Compare(lab(v.Right), lab(v.Relative)) }
	if chosen < 0 || chosen >= len(values) {
		chosen = lead(values, func(v PinValue) float64 { return own(v).DeltaE00 })
	}
	if chosen < 0 || !values[chosen].Slipped {
		return "", -1, false
	}
	c := own(values[chosen])
	told := c.Because(pins[chosen].Name, reason)
	if c.Same() {
		return sentence(told), chosen, true
	}
	if rest, cut := strings.CutPrefix(told, "This "); cut {
		told = "this " + rest
	}
	return sentence("beside the right proof " + told), chosen, true
}

// reason tells by the route what was taken for what.
func (w *Works) reason(set Setup) string {
	plan, err := w.Plan(set)
	if err != nil || plan.Paper == nil {
		return ""
	}
	truth := plan.Source
	if len(plan.Conversions) == 0 {
		return words.Never(truth.Name(), plan.Paper.Name())
	}
	var out []string
	for i, c := range plan.Conversions {
		switch {
		case i > 0:
			out = append(out, words.Twice(plan.Conversions[i-1].By, c.By, truth.Name(), c.From.Name()))
		case c.From.ID() != truth.ID():
			out = append(out, words.Misread(c.By, truth.Name(), c.From.Name()))
		case c.LeftOut:
			out = append(out, "black point compensation is left out")
		}
		truth = c.To
	}
	if truth.ID() != plan.Paper.ID() && plan.Setting == "" {
		out = append(out, words.OtherPaper(truth.Name(), plan.Paper.Name()))
	}
	if plan.Setting != "" {
		out = append(out, "the driver lays down ink for "+plan.Setting)
	}
	return words.List(out)
}

// Apart implements Engine.
func (w *Works) Apart(ctx context.Context, a, b Setup) (func(dst []float32, src raster.Pixels), error) {
	var chains [2]*proof.Chain
	channels := 0
	for i, set := range []Setup{a, b} {
		plan, err := w.Plan(set)
		if err != nil {
			return nil, err
		}
		channels = plan.Source.Channels()
		if chains[i], err = w.Engine.Chain(plan); err != nil {
			return nil, err
		}
		defer chains[i].Close()
	}
	n := map[int]int{1: 1025, 3: 41, 4: 15}[channels]
	if n == 0 {
		return nil, &proof.PlanError{Reason: fmt.Sprintf("pictures of %d channels cannot be compared", channels)}
	}
	total := 1
	for range channels {
		total *= n
	}
	node := make([]float32, total)
	const piece = 4096
	for lo := 0; lo < total; lo += piece {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		hi := min(lo+piece, total)
		src := make([]float64, 0, (hi-lo)*channels)
		for i := lo; i < hi; i++ {
			rest, at := i, len(src)
			src = src[:at+channels]
			for k := channels - 1; k >= 0; k-- {
				src[at+k] = float64(rest%n) / float64(n-1)
				rest /= n
			}
		}
		var vals [2][]proof.Value
		for k := range vals {
			vals[k] = make([]proof.Value, hi-lo)
			chains[k].Values(vals[k], src)
		}
		for i := lo; i < hi; i++ {
			node[i] = float32(cie.DeltaE00(vals[0][i-lo].Relative, vals[1][i-lo].Relative))
		}
	}
	return func(dst []float32, src raster.Pixels) { interpolate(dst, src, node, n) }, nil
}

// interpolate reads a grid of one value a node for every pixel, multilinearly.
// The last channel varies fastest.
func interpolate(dst []float32, src raster.Pixels, node []float32, n int) {
	ch := src.Channels
	raster.InRows(src.H, func(y0, y1 int) {
		var at [4]int
		var frac [4]float32
		for i := y0 * src.W; i < y1*src.W; i++ {
			for c := range ch {
				var v float32
				if src.Deep() {
					v = float32(src.P16[i*ch+c]) / 65535
				} else {
					v = float32(src.P8[i*ch+c]) / 255
				}
				v *= float32(n - 1)
				at[c] = min(int(v), n-2)
				frac[c] = v - float32(at[c])
			}
			var sum float32
			for corner := range 1 << ch {
				wgt := float32(1)
				idx := 0
				for c := range ch {
					k := at[c]
					if corner>>c&1 == 1 {
						wgt *= frac[c]
						k++
					} else {
						wgt *= 1 - frac[c]
					}
					idx = idx*n + k
				}
				if wgt > 0 {
					sum += wgt * node[idx]
				}
			}
			dst[i] = sum
		}
	})
}
