package lesson

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// Engine runs plans; *proof.Engine is one.
type Engine interface {
	Chain(proof.Plan) (*proof.Chain, error)
	Grid(context.Context, proof.Plan, proof.Quality) (*proof.Grid, error)
}

// Material is what a lesson is made of.
type Material struct {
	// Picture is what the picture is called.
	Picture string
	// Right is the route as it should be: one conversion, to the paper.
	Right proof.Plan
	// Numbers are the picture's, at full size.
	Numbers raster.Pixels
	// Pins are read in this order, but that Lead, the number of the one that the lesson
	// speaks of, comes first.
	Pins []pin.Pin
	Lead int
	// Paper is what Right prints on, with its media settings.
	Paper paper.Paper
	// Others are papers whose profile may be taken by mistake.
	Others []paper.Paper
	// Spaces are what numbers may wrongly be taken for; the first that means other
	// colours than the truth is the one.
	Spaces []*proof.Profile
	// Dim is the luminance of a print beside the screen as a share of what it should
	// be; 0, or 1 and more, stand for the usual room of package slip.
	Dim float64
	// ScreenAssumed says that nobody told which profile the screen has.
	ScreenAssumed bool
	// SourceAssumed says the same of the picture.
	SourceAssumed bool
}

// Kind says what a step shows.
type Kind uint8

// The kinds of step, in their order.
const (
	Station Kind = iota // one station of the route as it should be
	Mistake             // one mistake
	Cannot              // the mistakes that can't be made here, and why
	Summary             // pins and mistakes in one table
)

// Step is one step of the lesson.
type Step struct {
	Kind Kind
	// Title names the station or the mistake; Place says where in the lesson it is,
	// such as "the right way, station 2 of 5".
	Title, Place string
	// Lead are the large sentences, the most telling first.
	Lead []string
	// Route is the whole route, At the station spoken of, -1 for none.
	Route proof.Route
	At    int
	// Plan is what the step shows: the mistake's, or the right one. Original says
	// that at this station there is no print yet.
	Plan     proof.Plan
	Original bool
	// Rows are the pins.
	Rows []Row
	// The rest is a mistake's.
	ID                         string
	Reason, Recognise, Prevent string
	// Chosen says which of several ways to make the mistake this is; "" for the only one.
	Chosen string
	// Dim is the share of luminance at which the print is seen, else 1.
	Dim float64
	// Notes are what is assumed or can't be had.
	Notes []string
}

// Row is a pin at a step.
type Row struct {
	Pin string
	// Right and Wrong are the print as it should be and gone wrong, relative to the
	// paper's white. At a station Wrong is empty.
	Right, Wrong Colour
	// Change is from Right to Wrong, and Turn its turn of hue in degrees where both
	// have a hue worth naming.
	Change words.Change
	// Figures is what a station tells of the pin.
	Figures string
}

// Colour is the mean of a pin's pixels after they passed the exact chain.
type Colour struct {
	// File and Device are mean numbers, 0 to 1.
	File, Device []float64
	// Original, Look and Relative are as in proof.Value.
	Original, Look, Relative cie.Lab
	// Seen is Relative as it is seen: darker beside a screen that is too bright.
	Seen cie.Lab
	// Screen is what the screen is told of the print, OnScreen of the original (known
	// for the right way only), 0 to 1.
	Screen, OnScreen [3]float64
	// DeltaE00 is between Original and Relative, whatever is counted elsewhere.
	DeltaE00, Reach float64
	Darker          bool
	Pixels          int
}

// Lesson is the whole lesson.
type Lesson struct {
	Title   string
	Picture string
	Paper   string
	Right   proof.Plan
	Pins    []string
	Lead    int
	Steps   []Step
	// Cautions belong under everything that the lesson shows.
	Cautions []string
}

// ErrNoPins is returned for material without pins: there is nothing to speak of.
var ErrNoPins = errors.New("lesson: no pins")

// New works the lesson out. The error is ErrNoPins, the context's, or one of the
// engine's that says why the right route can't be run. progress, which may be nil,
// is told the share that is done.
func New(ctx context.Context, e Engine, m Material, progress func(float64)) (*Lesson, error) {
	if len(m.Pins) == 0 {
		return nil, ErrNoPins
	}
	if m.Right.Paper == nil || len(m.Right.Conversions) == 0 {
		return nil, &proof.PlanError{Reason: "the lesson needs a route with a paper and a conversion"}
	}
	if m.Lead > 0 && m.Lead < len(m.Pins) {
		// The one that is spoken of comes first wherever there is room for a few only.
		lead := m.Pins[m.Lead]
		m.Pins = slices.Insert(slices.Delete(slices.Clone(m.Pins), m.Lead, m.Lead+1), 0, lead)
	}
	m.Lead = 0
	m.Right.Dim = 0
	all := m.Spaces
	var err error
	if m.Spaces, err = Distinct(e, m.Right.Source, all); err != nil {
		return nil, err
	}
	tell := func(done float64) {
		if progress != nil {
			progress(done)
		}
	}
	l := &Lesson{Picture: m.Picture, Paper: m.Right.Paper.Name(), Right: m.Right, Lead: m.Lead,
		Title: "Why prints go wrong: " + m.Picture + " on " + m.Right.Paper.Name()}
	for _, p := range m.Pins {
		l.Pins = append(l.Pins, p.Name)
	}
	l.Cautions = cautions(m)
	right, err := read(ctx, e, m.Right, m)
	if err != nil {
		return nil, err
	}
	bare, err := read(ctx, e, OriginalOf(m.Right), m)
	if err != nil {
		return nil, err
	}
	for i := range right {
		right[i].OnScreen = bare[i].Screen
	}
	tell(0.15)
	stations, err := rightWay(e, m, all, right)
	if err != nil {
		return nil, err
	}
	tell(0.25)
	var mistakes []Step
	var cannot []string
	slips := slip.All()
	for i, s := range slips {
		step, err := mistake(ctx, e, m, s, right)
		var no *proof.PlanError
		switch {
		case err == nil:
			mistakes = append(mistakes, step)
		case errors.As(err, &no):
			cannot = append(cannot, capital(s.Name)+": "+no.Reason+".")
		case ctx.Err() != nil:
			return nil, ctx.Err()
		default:
			// A profile that a mistake would need can't be used.
			cannot = append(cannot, capital(s.Name)+": "+err.Error()+".")
		}
		tell(0.25 + 0.75*float64(i+1)/float64(len(slips)))
	}
	order(mistakes, m.Lead)
	for i := range mistakes {
		mistakes[i].Place = fmt.Sprintf("mistake %d of %d; the one that turns %s most comes first", i+1, len(mistakes), named(m.Pins[m.Lead].Name))
	}
	l.Steps = append(stations, mistakes...)
	if len(cannot) > 0 {
		l.Steps = append(l.Steps, Step{Kind: Cannot, Title: "What can’t go wrong here", At: -1, Lead: cannot, Plan: m.Right,
			Route: m.Right.Route(), Place: "with this picture on this paper", Dim: 1})
	}
	if len(mistakes) > 0 {
		l.Steps = append(l.Steps, summary(mistakes, m))
	}
	return l, nil
}

// Mistakes returns the steps that show a mistake.
func (l *Lesson) Mistakes() []Step {
	var out []Step
	for _, s := range l.Steps {
		if s.Kind == Mistake {
			out = append(out, s)
		}
	}
	return out
}

func cautions(m Material) []string {
	out := []string{"A proof is only as good as the screen’s calibration and the light the print is judged in; it is no contract. " +
		"Mistakes are simulated by the paper’s profile: a print gone wrong can look somewhat different."}
	if m.ScreenAssumed {
		out = append(out, "No profile of the screen is known, so "+m.Right.Screen.Name()+" is assumed: on a screen of wider gamut all these colours are wrong.")
	}
	if m.SourceAssumed {
		out = append(out, "The picture’s file does not say what its numbers mean: "+m.Right.Source.Name()+" is assumed.")
	}
	return out
}

// read sends every pixel of every pin through the chain and averages what comes
// out, as an instrument would the print.
func read(ctx context.Context, e Engine, p proof.Plan, m Material) ([]Colour, error) {
	c, err := e.Chain(p)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	out := make([]Colour, len(m.Pins))
	for i, q := range m.Pins {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		points := q.Pixels(m.Numbers.W, m.Numbers.H)
		var src []float64
		for _, at := range points {
			src = m.Numbers.At(src, at.X, at.Y)
		}
		if len(points) == 0 {
			return nil, fmt.Errorf("lesson: the picture has no pixels")
		}
		vals := make([]proof.Value, len(points))
		if err := c.Values(vals, src); err != nil {
			return nil, err
		}
		if out[i], err = mean(src, vals, dimOf(p)); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func dimOf(p proof.Plan) float64 {
	if p.Dim == 0 {
		return 1
	}
	return p.Dim
}

func mean(src []float64, vals []proof.Value, dim float64) (Colour, error) {
	n := len(vals)
	out := Colour{Pixels: n, File: make([]float64, len(src)/n), Device: make([]float64, len(vals[0].Device))}
	labs := make([][3]cie.Lab, n)
	dark := 0
	for i, v := range vals {
		for k := range out.File {
			out.File[k] += src[i*len(out.File)+k] / float64(n)
		}
		for k := range out.Device {
			out.Device[k] += v.Device[k] / float64(n)
		}
		for k := range out.Screen {
			out.Screen[k] += v.Screen[k] / float64(n)
		}
		out.Reach += v.Reach / float64(n)
		if v.Darker {
			dark++
		}
		labs[i] = [3]cie.Lab{v.Original, v.Look, v.Relative}
	}
	out.Darker = 2*dark > n
	for k, to := range []*cie.Lab{&out.Original, &out.Look, &out.Relative} {
		list := make([]cie.Lab, n)
		for i := range list {
			list[i] = labs[i][k]
		}
		r, err := pin.Average(list)
		if err != nil {
			return out, err
		}
		*to = r.Lab
	}
	out.DeltaE00 = cie.DeltaE00(out.Original, out.Relative)
	out.Seen = out.Relative
	if dim != 1 {
		out.Seen = out.Relative.ToXYZ(cie.D50).Scale(dim).ToLab(cie.D50)
	}
	return out, nil
}

// try is one way to make a mistake.
type try struct {
	options slip.Options
	told    string
}

// Distinct returns those spaces whose numbers mean other colours than truth's: a
// profile by another name can say the same. Spaces of other channels are left in;
// they are refused with the reason where they are used.
func Distinct(e Engine, truth *proof.Profile, spaces []*proof.Profile) ([]*proof.Profile, error) {
	n := truth.Channels()
	// Every channel a quarter and three quarters full.
	var probes []float64
	for i := range 1 << n {
		for k := range n {
			probes = append(probes, 0.25+0.5*float64(i>>k&1))
		}
	}
	colours := func(p *proof.Profile) ([]proof.Value, error) {
		c, err := e.Chain(proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
		if err != nil {
			return nil, err
		}
		defer c.Close()
		out := make([]proof.Value, 1<<n)
		if err := c.Values(out, probes); err != nil {
			return nil, err
		}
		return out, nil
	}
	is, err := colours(truth)
	if err != nil {
		return nil, err
	}
	var out []*proof.Profile
	for _, s := range spaces {
		if s.Channels() != n {
			out = append(out, s)
			continue
		}
		got, err := colours(s)
		if err != nil {
			return nil, err
		}
		for i := range got {
			if cie.DeltaE00(is[i].Original, got[i].Original) >= 1 {
				out = append(out, s)
				break
			}
		}
	}
	return out, nil
}

// Usual returns what a mistake needs to know beside the plan, by the most usual way
// to make it with this material, and that way in words ("" where there is but one).
func Usual(m Material, id string) (slip.Options, string) {
	t := tries(m, id)[0]
	return t.options, t.told
}

// tries lists the ways to make a mistake here; nil options where one suffices.
func tries(m Material, id string) []try {
	switch id {
	case "wrongsource":
		for _, s := range m.Spaces {
			if s.ID() != m.Right.Source.ID() {
				return []try{{slip.Options{Reads: s}, "here the numbers are taken for " + s.Name()}}
			}
		}
	case "otherpaper":
		var out []try
		for _, o := range m.Others {
			if o.Profile.ID() != m.Right.Paper.ID() && o.Profile.Channels() == m.Right.Paper.Channels() {
				out = append(out, try{slip.Options{Other: o.Profile}, "here with the profile of " + o.Name})
			}
		}
		if len(out) > 0 {
			return out
		}
		if len(m.Others) > 0 {
			return []try{{options: slip.Options{Other: m.Others[0].Profile}}} // refused, with the reason
		}
	case "wrongsetting":
		var out []try
		for _, s := range m.Paper.Settings {
			out = append(out, try{slip.Options{Setting: s.Profile, SettingName: s.Name}, "here the driver is set to " + s.Name})
		}
		if len(out) > 0 {
			return out
		}
	case "twice":
		return []try{{slip.Options{Second: proof.Perceptual}, "here the driver’s intent is perceptual, as is usual"}}
	case "brightscreen":
		d := m.Dim
		if !(d > 0 && d < 1) {
			d = slip.UsualDim
		}
		return []try{{options: slip.Options{Dim: d}}}
	}
	return []try{{}}
}

// mistake makes the step of one mistake. Where it can be made in several ways, the
// one that takes the pins farthest is shown.
func mistake(ctx context.Context, e Engine, m Material, s slip.Slip, right []Colour) (Step, error) {
	var best Step
	var far float64 = -1
	var no error
	list := tries(m, s.ID)
	for _, t := range list {
		plan, err := slip.Apply(m.Right, []string{s.ID}, t.options)
		if err == nil && !plan.Route().Faulty() {
			err = &proof.PlanError{Reason: harmless(plan, s)}
		}
		var wrong []Colour
		if err == nil {
			wrong, err = read(ctx, e, plan, m)
		}
		if err != nil {
			if ctx.Err() != nil {
				return best, ctx.Err()
			}
			no = err
			continue
		}
		step := Step{Kind: Mistake, ID: s.ID, Title: capital(s.Name), Route: plan.Route(), At: -1, Plan: plan, Dim: dimOf(plan),
			Reason: Reason(plan), Recognise: s.Recognise, Prevent: s.Prevent, Chosen: t.told, Notes: plan.Notes()}
		var sum float64
		for i := range wrong {
			r := Row{Pin: m.Pins[i].Name, Right: right[i], Wrong: wrong[i], Change: words.Compare(right[i].Seen, wrong[i].Seen)}
			sum += r.Change.DeltaE00 / float64(len(wrong))
			step.Rows = append(step.Rows, r)
		}
		if sum > far {
			far, best = sum, step
		}
	}
	if far < 0 {
		return best, no
	}
	if len(list) > 1 {
		best.Chosen += fmt.Sprintf(", of %d possible ones the one that takes the pins farthest", len(list))
	}
	lead := best.Rows[m.Lead]
	best.Lead = append(best.Lead, full(lead.Change.Because(lead.Pin, best.Reason)))
	return best, nil
}

// harmless says why a mistake leaves the route as it should be.
func harmless(p proof.Plan, s slip.Slip) string {
	if n := p.Notes(); len(n) > 0 {
		return strings.TrimSuffix(uncapital(n[0]), ".")
	}
	if s.ID == "compensation" {
		return "the route as it should be has no compensation that could be left out"
	}
	return "it leaves the route as it should be"
}

// Reason tells by the route what was taken for what: what is wrong at each station.
func Reason(p proof.Plan) string {
	var parts []string
	for _, s := range p.Route().Stations {
		if s.Why != "" {
			parts = append(parts, s.Why)
		}
	}
	return words.List(parts)
}

// order puts the mistake that turns the lead pin most first; where it has no hue
// to turn, the difference decides.
func order(steps []Step, lead int) {
	key := func(s Step) (turn, apart float64) {
		c := s.Rows[lead].Change
		return math.Abs(c.Turn), c.DeltaE00
	}
	sort.SliceStable(steps, func(i, j int) bool {
		ti, di := key(steps[i])
		tj, dj := key(steps[j])
		if math.Abs(ti-tj) >= 0.5 {
			return ti > tj
		}
		return di > dj
	})
}

// summary is the table of all pins and mistakes.
func summary(mistakes []Step, m Material) Step {
	s := Step{Kind: Summary, Title: "All mistakes side by side", Place: "how far each turns the hue of each pin", At: -1,
		Plan: m.Right, Route: m.Right.Route(), Dim: 1}
	most, pinName, by := 0.0, "", ""
	var towards string
	for _, x := range mistakes {
		for _, r := range x.Rows {
			if t := math.Abs(r.Change.Turn); r.Change.Hue != words.Unnamed && t > most {
				most, pinName, by, towards = t, r.Pin, x.Title, r.Change.Towards.String()
			}
		}
	}
	if most > 0 {
		s.Lead = append(s.Lead, fmt.Sprintf("The largest turn of all: %s goes %s towards %s with ‘%s’.",
			named(pinName), degrees(most), towards, uncapital(by)))
	} else {
		s.Lead = append(s.Lead, "No mistake turns the hue of any pin by as much as the eye sees.")
	}
	return s
}

// Cell is what the summary says of one pin and one mistake: the turn of hue with its
// direction, the cast of a neutral, or that nothing is seen.
func Cell(c words.Change) string {
	switch {
	case c.Same():
		return "–"
	case c.Hue != words.Unnamed:
		sign := "+"
		if c.Turn < 0 {
			sign = "−"
		}
		return fmt.Sprintf("%s%d° %s", sign, c.Degrees(), c.Towards)
	case c.Cast != words.Unnamed:
		return c.CastWord()
	case c.Chroma != words.Unnamed && c.Chroma >= c.Lightness:
		return map[bool]string{true: "duller", false: "more vivid"}[c.Terms.Chroma < 0]
	case c.Lightness != words.Unnamed:
		return map[bool]string{true: "darker", false: "lighter"}[c.Terms.Lightness < 0]
	}
	return "little"
}

func degrees(v float64) string {
	n := int(math.Round(v))
	if n == 1 {
		return "1 degree"
	}
	return fmt.Sprintf("%d degrees", n)
}

// named is a pin's name in a sentence: "the shirt", or a proper name as it is.
func named(pinName string) string {
	if pinName == "" {
		return "this colour"
	}
	if r, _ := utf8.DecodeRuneInString(pinName); unicode.IsLower(r) {
		return "the " + pinName
	}
	return pinName
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func uncapital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	// A name such as "ROMM RGB" keeps its capitals.
	if next, k := utf8.DecodeRuneInString(s[n:]); k > 0 && unicode.IsUpper(next) {
		return s
	}
	return string(unicode.ToLower(r)) + s[n:]
}

func full(s string) string {
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}
