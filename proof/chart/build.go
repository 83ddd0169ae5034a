package chart

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
	"firstsheet/proof/press/profile"
)

// BuildOptions say what the measurements can't. The zero value is a sound one.
type BuildOptions struct {
	Copyright    string    // licence line of the profile, ASCII; empty: Public domain
	Maker, Model string    // of the printer, ASCII; may be empty
	Created      time.Time // in the profile's header; zero: now
	// TotalInk is the largest sum of the four channels, 3 being 300 %. CMYK only,
	// and needed there: how much a stock bears can't be read off a chart.
	TotalInk float64
	// ForwardGrid and InverseGrid are nodes an axis; 0 leaves the builder's own.
	ForwardGrid, InverseGrid int
	// Keep puts the measurements into the profile (tag targ), so that whoever
	// has the profile can build it anew.
	Keep bool
	// Anyway builds from measurements that look out of order or like no print of the
	// chart, or have more suspicious patches than a tenth.
	Anyway bool
}

// Report says how good a profile from measurements is. All differences are ΔE00.
type Report struct {
	Name string    `json:"name"`
	Fit  FitReport `json:"fit"` // the smooth model against the measurements
	// Table is the forward table of the finished version 2 profile, read
	// through Little CMS with the absolute intent, against the measurements
	// that were not set aside.
	Table Spread `json:"table"`
	// TableModel is the forward table against the smooth model at random
	// device colours.
	TableModel Spread `json:"table_model"`
	// RoundTrip is Lab to device to Lab inside the gamut by the stored tables.
	RoundTrip Spread `json:"round_trip"`
	// Facts are those of the finished version 2 profile, as everywhere.
	Facts     paper.Facts `json:"facts"`
	InkLimit  float64     `json:"ink_limit,omitempty"` // the one that was asked for; 0 for RGB
	Warnings  []string    `json:"warnings,omitempty"`  // what in it can spoil a print
	Condition string      `json:"condition"`           // M0 to M3 where known
	Seconds   float64     `json:"seconds"`
	Cautions  []string    `json:"cautions"`
}

// Built is a finished pair of profiles of the same paper.
type Built struct {
	V2, V4 []byte // ICC version 2 and 4 output profiles
	Report Report
}

// DoubtError says that measurements look wrong as a whole, so that a profile
// from them would waste paper. BuildOptions.Anyway overrides it.
type DoubtError struct {
	Orders   []string  // suspected wrong orders, in words
	Reasons  []string  // why they can't be of this chart, in sentences with figures
	Suspects []Suspect // suspicious patches, worst first
	Patches  int       // of how many
}

func (e *DoubtError) Error() string {
	switch {
	case len(e.Orders) > 0:
		return "chart: the measurements look out of order: " + strings.Join(e.Orders, " ")
	case len(e.Reasons) > 0:
		return "chart: " + strings.Join(e.Reasons, " ")
	}
	var worst []string
	for _, s := range e.Suspects {
		worst = append(worst, s.Place)
	}
	return fmt.Sprintf("chart: %d of %d patches contradict the others: %s", len(e.Suspects), e.Patches, some(worst))
}

// Beyond this share of suspicious patches something is wrong with the whole
// reading (our own choice: two rows of a 1,000-patch chart are 4 %).
const mostSuspects = 0.1

// fitShare is the part of the progress that fitting takes.
const fitShare = 0.15

// Build makes ICC profiles of the paper that the measurements are of. name
// becomes their description, in whatever script, and must not be empty. progress, which may be nil,
// hears the share done, 0 to 1, and what is being done; it is called from one
// goroutine at a time.
//
// It fails like [Fit], with an *InkError where the ink limit of a CMYK chart is not said, with a *DoubtError where the measurements look wrong as a
// whole, with the builder's error, and with ctx.Err() soon after ctx is done.
func Build(ctx context.Context, ms *Measurements, name string, opts BuildOptions, progress func(done float64, what string)) (*Built, error) {
	start := time.Now()
	if progress == nil {
		progress = func(float64, string) {}
	}
	if err := checkName(name); err != nil {
		return nil, err
	}
	if ms.Device == CMYK && opts.TotalInk == 0 {
		return nil, &InkError{MostInk(ms)}
	}
	progress(0, "fitting the measurements")
	model, err := trusted(ctx, ms, opts.Anyway)
	if err != nil {
		return nil, err
	}
	fit := model.Report()
	spec, err := opts.spec(model, ms, name)
	if err != nil {
		return nil, err
	}
	result, err := profile.Build(ctx, spec, func(done float64, what string) {
		progress(fitShare+(1-fitShare)*done, what)
	})
	if err != nil {
		return nil, fmt.Errorf("chart: building %q: %w", name, err)
	}
	table, err := tableAgainst(result.V2, ms, fit.Suspects)
	if err != nil {
		return nil, err
	}
	facts, err := factsOf(ctx, result.V2)
	if err != nil {
		return nil, err
	}
	r := result.Report
	progress(1, "done")
	return &Built{V2: result.V2, V4: result.V4, Report: Report{
		Name: name, Fit: fit, Table: table,
		TableModel: Spread{r.Forward.Count, r.Forward.Mean, r.Forward.P95, r.Forward.Max},
		RoundTrip:  Spread{r.RoundTrip.Count, r.RoundTrip.Mean, r.RoundTrip.P95, r.RoundTrip.Max},
		Facts:      facts, InkLimit: spec.TotalInk, Warnings: inkWarnings(facts.TotalInk, spec.TotalInk, MostInk(ms)),
		Condition: ms.Condition, Seconds: time.Since(start).Seconds(),
		Cautions: []string{
			"The profile holds for this printer, ink, paper, media setting and quality only.",
			"A proof by it is as good as the screen's calibration and the light on the print; it is no contract.",
		},
	}}, nil
}

// trusted fits the measurements, unless they look wrong as a whole.
func trusted(ctx context.Context, ms *Measurements, anyway bool) (*Model, error) {
	if err := checkPatches(ms); err != nil {
		return nil, err
	}
	// Before the fit, which such readings may fail in words about stability.
	doubt := DoubtError{Reasons: distrust(ms), Patches: len(ms.Patches)}
	if len(doubt.Reasons) > 0 && !anyway {
		doubt.Orders = suspectOrders(ms)
		return nil, &doubt
	}
	model, err := Fit(ctx, ms)
	if err != nil || anyway {
		return model, err
	}
	fit := model.Report()
	if doubt.Reasons, err = model.distrust(ctx); err != nil {
		return nil, err
	}
	doubt.Orders, doubt.Suspects = fit.Orders, fit.Suspects
	if len(doubt.Orders)+len(doubt.Reasons) > 0 || float64(len(fit.Suspects)) > mostSuspects*float64(fit.Patches) {
		return nil, &doubt
	}
	return model, nil
}

func checkName(name string) error {
	switch clean := CleanName(name); {
	case clean == "":
		return errors.New("chart: the profile needs a name")
	case clean != strings.TrimSpace(name):
		return fmt.Errorf("chart: the name %q holds signs that can't be shown, or more than %d letters", shown(name), maxName)
	}
	return nil
}

func (o BuildOptions) spec(model *Model, ms *Measurements, name string) (profile.Spec, error) {
	if !(o.TotalInk >= 0 && o.TotalInk <= 4) { // NaN too
		return profile.Spec{}, fmt.Errorf("chart: a limit of %g %% total ink, not 0 to 400", 100*o.TotalInk)
	}
	s := profile.Spec{
		Description: name, Copyright: o.Copyright, Maker: o.Maker, Model: o.Model, Created: o.Created,
		Channels: model.Space().Channels(), Forward: model.Lab,
		ForwardGrid: o.ForwardGrid, InverseGrid: o.InverseGrid,
	}
	if s.Copyright == "" {
		s.Copyright = "Public domain"
	}
	if s.Created.IsZero() {
		s.Created = time.Now()
	}
	if model.Space() == CMYK {
		s.TotalInk = o.TotalInk
	}
	if o.Keep {
		var b bytes.Buffer
		if err := WriteTables(&b, ms.Table()); err != nil {
			return s, err
		}
		s.Target = b.String()
	}
	return s, nil
}

// factsOf says what a finished profile is.
func factsOf(ctx context.Context, data []byte) (paper.Facts, error) {
	p, err := proof.NewProfile("", data)
	if err != nil {
		return paper.Facts{}, err
	}
	return paper.Inspect(ctx, p)
}

// tableAgainst reads the measured device values through a profile and compares.
func tableAgainst(data []byte, ms *Measurements, suspects []Suspect) (Spread, error) {
	p, err := NewPrediction(data)
	if err != nil {
		return Spread{}, err
	}
	defer p.Close()
	aside := map[int]bool{}
	for _, s := range suspects {
		aside[s.index] = s.Aside
	}
	var d []float64
	for i, patch := range ms.Patches {
		if aside[i] {
			continue
		}
		l, err := p.Lab(patch.Device)
		if err != nil {
			return Spread{}, err
		}
		d = append(d, cie.DeltaE00(l, patch.Lab))
	}
	return NewSpread(d), nil
}

// A Prediction tells what a profile says that device values print as.
type Prediction struct {
	context *lcms.Context
	paper   *lcms.Profile
	lab     *lcms.Profile
	run     *lcms.Transform
}

// NewPrediction opens an RGB or CMYK output profile for predicting: device
// values to absolute D50 Lab by its colorimetric table, through Little CMS in
// floating point. It must be closed. It fails where the profile does not open or
// has another number of channels.
func NewPrediction(data []byte) (*Prediction, error) {
	p := &Prediction{}
	err := p.open(data)
	if err != nil {
		p.Close()
		return nil, fmt.Errorf("chart: predicting by the profile: %w", err)
	}
	return p, nil
}

func (p *Prediction) open(data []byte) (err error) {
	if p.context, err = lcms.NewContext(); err != nil {
		return err
	}
	if p.paper, err = p.context.Open(data); err != nil {
		return err
	}
	if n := p.paper.Channels(); n != 3 && n != 4 {
		return fmt.Errorf("it has %d channels, only RGB and CMYK can be predicted", n)
	}
	if p.lab, err = p.context.Lab(); err != nil {
		return err
	}
	const absolute = 3 // ICC.1, 7.2.15
	p.run, err = p.context.Float(p.paper, p.lab, lcms.Options{Intent: absolute})
	return err
}

// Close releases the prediction; it may be called again.
func (p *Prediction) Close() {
	if p.run != nil {
		p.run.Close()
	}
	if p.lab != nil {
		p.lab.Close()
	}
	if p.paper != nil {
		p.paper.Close()
	}
	if p.context != nil {
		p.context.Close()
	}
	*p = Prediction{}
}

// Lab returns the colour of device values, 0..1 in channel order. It fails where
// their number is not the profile's, and where the profile gives none that is finite. It
// fits [Verify].
func (p *Prediction) Lab(device []float64) (cie.Lab, error) {
	if p.run == nil {
		return cie.Lab{}, errors.New("chart: the prediction is closed")
	}
	if n := p.paper.Channels(); len(device) != n {
		return cie.Lab{}, fmt.Errorf("chart: %d device values for a profile of %d channels", len(device), n)
	}
	var out [3]float64
	p.run.Run(out[:], device)
	for _, v := range out {
		if v-v != 0 {
			return cie.Lab{}, fmt.Errorf("chart: for %.3f the profile gives numbers that are not finite", device)
		}
	}
	return cie.Lab{L: out[0], A: out[1], B: out[2]}, nil
}
