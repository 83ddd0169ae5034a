package chart

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// Device is the space of the numbers that were printed.
type Device uint8

const (
	RGB  Device = iota // 3 channels, 0 is black and 1 is paper
	CMYK               // 4 channels, 0 is no ink and 1 is a solid
)

// Channels returns 3 or 4.
func (d Device) Channels() int { return len(d.letters()) }

// String returns RGB or CMYK.
func (d Device) String() string { return d.letters() }

// bare returns the number that leaves the paper bare.
func (d Device) bare() float64 {
	if d == CMYK {
		return 0
	}
	return 1
}

func (d Device) letters() string {
	if d == CMYK {
		return "CMYK"
	}
	return "RGB"
}

// Patch is one measured patch.
type Patch struct {
	ID     string    // SAMPLE_ID, or the row's number where the file has none
	Loc    string    // SAMPLE_LOC, where on the sheet; may be empty
	Line   int       // line in the file, counted from 1
	Device []float64 // what was printed, 0..1, in channel order of the Device
	Lab    cie.Lab   // what was measured, D50, absolute
}

// Place names the patch for a person: its location where there is one, else its
// identifier.
func (p Patch) Place() string {
	if p.Loc != "" {
		return p.Loc
	}
	return p.ID
}

// Measurements are the measured patches of one chart on one paper, in the
// file's order.
type Measurements struct {
	Device     Device
	Patches    []Patch
	Condition  string   // M0, M1, M2 or M3 where the file says so, else empty
	Descriptor string   // the file's own description; may be empty
	Instrument string   // as the file says; may be empty
	Created    string   // as the file says; may be empty
	Notes      []string // what was decided in reading and on what evidence

	numbered bool // the file has no identifiers; patches are named by row
}

// Spectral returns the Lab (D50, CIE 1931 2 degree, absolute) of a reflectance
// spectrum: values are 0..1 (more with brightener), the first at start
// nanometres, the rest step nanometres apart.
type Spectral func(start, step float64, values []float64) (cie.Lab, error)

// ReadOptions say what the file itself can't.
type ReadOptions struct {
	// DeviceScale is the number that means full: 1, 100 or 255. 0 lets the
	// file's own largest value decide, which is then told in the notes.
	DeviceScale float64
	// Spectral turns spectra into Lab; nil uses the project's own observer.
	Spectral Spectral
}

// Read reads measurements of a printed chart: the first table that holds device
// values (RGB_R, RGB_G, RGB_B or CMYK_C, CMYK_M, CMYK_Y, CMYK_K) together with
// measured colour, and those after it that go on with other patches under the same
// columns and measuring condition. Of several kinds of colour it takes spectra first, then
// Lab, then XYZ. It decides scales by the values. The notes say so, and which tables
// were left.
//
// It fails like [ReadTables], and with a *FormatError where columns are missing
// or a value is not a number in range. One reader may be used from one
// goroutine; nothing is kept.
func Read(r io.Reader) (*Measurements, error) { return ReadWith(r, ReadOptions{}) }

// ReadWith is [Read] with options.
func ReadWith(r io.Reader, opts ReadOptions) (*Measurements, error) {
	tables, err := ReadTables(r)
	if err != nil {
		return nil, err
	}
	for i, t := range tables {
		c, err := findColumns(t)
		if err != nil {
			return nil, err
		}
		if c.device != nil && c.colour != noColour {
			return wholeChart(tables, i, c, opts)
		}
	}
	return nil, lacking(tables)
}

// lacking explains which columns no table has.
func lacking(tables []Table) error {
	var has []string
	for i, t := range tables {
		list := strings.Join(t.Fields[:min(len(t.Fields), 12)], " ")
		if len(t.Fields) > 12 {
			list += " ..."
		}
		has = append(has, fmt.Sprintf("table %d has %s", i+1, list))
		if i == 3 {
			break
		}
	}
	return wrong(tables[0].line, "no table holds device values (RGB_R RGB_G RGB_B or CMYK_C CMYK_M CMYK_Y CMYK_K) together with colour (LAB_L LAB_A LAB_B, XYZ_X XYZ_Y XYZ_Z or spectra): %s", strings.Join(has, "; "))
}

type colourKind uint8

const (
	noColour colourKind = iota
	labColour
	xyzColour
	spectralColour
)

// columns says where in a table what stands.
type columns struct {
	id, loc     int
	space       Device
	device      []int // nil when there are none
	colour      colourKind
	lab, xyz    []int
	spectrum    []int
	start, step float64
}

var (
	spectralName = regexp.MustCompile(`(?i)^(?:SPEC_|SPECTRAL_NM_?|SPECTRAL_|NM_?|R_)([0-9]{3}(?:\.[0-9]+)?)$|^([0-9]{3})(?:NM)$`)
	nColour      = regexp.MustCompile(`(?i)^([5-9A-F])CLR_`)
	condition    = regexp.MustCompile(`\bM([0-3])\b`)
)

func findColumns(t Table) (columns, error) {
	c := columns{
		id:  t.column("SAMPLE_ID", "SAMPLEID", "SAMPLE_NAME", "PATCH_ID"),
		loc: t.column("SAMPLE_LOC", "SAMPLE_LOCATION"),
	}
	three := func(names ...string) ([]int, error) {
		var found []int
		var missing []string
		for _, n := range names {
			if i := t.column(n); i >= 0 {
				found = append(found, i)
			} else {
				missing = append(missing, n)
			}
		}
		if len(found) > 0 && len(missing) > 0 {
			return nil, wrong(t.line, "column %s is missing beside %s", strings.Join(missing, ", "), t.Fields[found[0]])
		}
		return found, nil
	}
	rgb, err := three("RGB_R", "RGB_G", "RGB_B")
	if err != nil {
		return c, err
	}
	cmyk, err := three("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
	if err != nil {
		return c, err
	}
	switch {
	case rgb != nil:
		c.space, c.device = RGB, rgb
	case cmyk != nil:
		c.space, c.device = CMYK, cmyk
	default:
		for _, f := range t.Fields {
			if m := nColour.FindStringSubmatch(f); m != nil {
				return c, unsupported(t.line, "device values of %s inks (%s): only RGB and CMYK charts can be built from", m[1], f)
			}
		}
	}
	if c.lab, err = three("LAB_L", "LAB_A", "LAB_B"); err != nil {
		return c, err
	}
	if c.xyz, err = three("XYZ_X", "XYZ_Y", "XYZ_Z"); err != nil {
		return c, err
	}
	if err := c.findSpectrum(t); err != nil {
		return c, err
	}
	switch {
	case c.spectrum != nil:
		c.colour = spectralColour
	case c.lab != nil:
		c.colour = labColour
	case c.xyz != nil:
		c.colour = xyzColour
	}
	return c, nil
}

// A spectrum must reach over what the observer sees and be no coarser than the
// 20 nm that ASTM E308 has tables for (from memory).
const (
	spectrumFrom, spectrumTo = 420.0, 680.0
	coarsestStep             = 20.0
)

func (c *columns) findSpectrum(t Table) error {
	type band struct {
		nm  float64
		col int
	}
	var bands []band
	for i, f := range t.Fields {
		if m := spectralName.FindStringSubmatch(f); m != nil {
			nm, err := strconv.ParseFloat(m[1]+m[2], 64)
			if err == nil && nm >= 300 && nm <= 900 {
				bands = append(bands, band{nm, i})
			}
		}
	}
	if len(bands) < 10 {
		return nil
	}
	sort.SliceStable(bands, func(i, j int) bool { return bands[i].nm < bands[j].nm })
	step := bands[1].nm - bands[0].nm
	for i := range bands[1:] {
		if math.Abs(bands[i+1].nm-bands[i].nm-step) > 0.01 || step <= 0 {
			return wrong(t.line, "spectral columns are not evenly spaced: %g nm is followed by %g nm, the step before was %g nm", bands[i].nm, bands[i+1].nm, step)
		}
	}
	if last := bands[len(bands)-1].nm; bands[0].nm > spectrumFrom || last < spectrumTo || step > coarsestStep {
		if c.lab != nil || c.xyz != nil {
			return nil // the file's own colour is the better witness
		}
		return unsupported(t.line, "spectra from %g to %g nm by %g nm: they must reach from %g to %g nm in steps of at most %g nm", bands[0].nm, last, step, spectrumFrom, spectrumTo, coarsestStep)
	}
	c.start, c.step = bands[0].nm, step
	for _, b := range bands {
		c.spectrum = append(c.spectrum, b.col)
	}
	return nil
}

// number reads a value of the file: a finite decimal number.
func number(t Table, row, col int) (float64, error) {
	s := t.Rows[row][col]
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) && !strings.ContainsAny(s, "xXpP_"):
		return v, nil
	case strings.Count(s, ",") == 1 && !strings.Contains(s, "."):
		if _, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64); err == nil {
			return 0, wrong(t.Lines[row], "%s is %q: a comma stands where the decimal point must be", t.Fields[col], shown(s))
		}
	}
	return 0, wrong(t.Lines[row], "%s is %q, not a finite number", t.Fields[col], shown(s))
}

// grid reads the numbers of some columns, row by row.
func grid(t Table, cols []int) ([][]float64, error) {
	out := make([][]float64, len(t.Rows))
	for i := range t.Rows {
		out[i] = make([]float64, len(cols))
		for j, c := range cols {
			v, err := number(t, i, c)
			if err != nil {
				return nil, err
			}
			out[i][j] = v
		}
	}
	return out, nil
}

func largest(rows [][]float64) float64 {
	m := math.Inf(-1)
	for _, r := range rows {
		for _, v := range r {
			m = math.Max(m, v)
		}
	}
	return m
}

func measurements(t Table, c columns, opts ReadOptions) (*Measurements, error) {
	m := &Measurements{Device: c.space, numbered: c.id < 0}
	m.describe(t)
	device, err := deviceValues(t, c, opts, m)
	if err != nil {
		return nil, err
	}
	labs := make([]cie.Lab, len(t.Rows))
	if c.colour != noColour {
		if labs, err = colours(t, c, opts, m); err != nil {
			return nil, err
		}
	}
	for i := range t.Rows {
		p := Patch{ID: strconv.Itoa(i + 1), Line: t.Lines[i], Lab: labs[i]}
		if device != nil {
			p.Device = device[i]
		}
		if c.id >= 0 {
			p.ID = words.Clean(t.Rows[i][c.id], maxText)
		}
		if c.loc >= 0 {
			p.Loc = words.Clean(t.Rows[i][c.loc], maxText)
		}
		m.Patches = append(m.Patches, p)
	}
	return m, nil
}

// maxText is the most of a name or description that is kept.
const maxText = 200

func (m *Measurements) note(format string, args ...any) {
	m.Notes = append(m.Notes, fmt.Sprintf(format, args...))
}

func (m *Measurements) describe(t Table) {
	first := func(names ...string) string {
		for _, n := range names {
			if v, ok := t.Keyword(n); ok && v != "" {
				return words.Clean(v, maxText)
			}
		}
		return ""
	}
	m.Descriptor = first("DESCRIPTOR", "FILE_DESCRIPTOR")
	m.Instrument = first("INSTRUMENTATION", "TARGET_INSTRUMENT", "INSTRUMENT")
	m.Created = first("CREATED", "PROD_DATE")
	for _, k := range t.Keywords {
		switch strings.ToUpper(k.Name) {
		case "MEASUREMENT_SOURCE", "MEASUREMENT_CONDITION", "ILLUMINATION_NAME", "DEVICE_MEASUREMENT_CONDITION", "FILTER":
			for _, text := range []string{k.Value, strings.ReplaceAll(k.Value, "=", " ")} {
				if f := condition.FindString(strings.ToUpper(text)); f != "" && m.Condition == "" {
					m.Condition = f
				}
			}
		}
	}
	if m.Condition == "" {
		m.note("The file does not say under which measuring condition (M0, M1, M2) it was measured.")
	}
}

// deviceSlack lets a rounded 100.0001 pass for 100.
const deviceSlack = 1.001

func deviceValues(t Table, c columns, opts ReadOptions, m *Measurements) ([][]float64, error) {
	if c.device == nil {
		return nil, nil
	}
	rows, err := grid(t, c.device)
	if err != nil {
		return nil, err
	}
	top, full := largest(rows), opts.DeviceScale
	switch {
	case full != 0:
		if full != 1 && full != 100 && full != 255 {
			return nil, fmt.Errorf("chart: device scale %g: it must be 1, 100 or 255", full)
		}
	case top <= 0:
		return nil, wrong(t.line, "all device values are 0: they were lost in exporting")
	case top <= 1*deviceSlack:
		full = 1
	case top <= 100*deviceSlack:
		full = 100
	default:
		full = 255
	}
	switch {
	case opts.DeviceScale != 0:
	case math.Abs(top-full) <= full*(deviceSlack-1):
		m.note("%s values are read as 0 to %g: the largest is %g.", c.space, full, top)
	default:
		m.note("%s values are read as 0 to %g: the largest is %g. That is a guess, for no patch has the full value; give the scale if it is another.", c.space, full, top)
	}
	for i, r := range rows {
		for j, v := range r {
			if v < -full*(deviceSlack-1) || v > full*deviceSlack {
				return nil, wrong(t.Lines[i], "%s is %g, outside 0 to %g", t.Fields[c.device[j]], v, full)
			}
			r[j] = math.Min(math.Max(v/full, 0), 1)
		}
	}
	return rows, nil
}

// Colours of real prints stay well inside these; what lies outside is a
// misplaced column or a wrong scale.
const (
	lowestL, highestL = -2.0, 115.0
	largestAB         = 160.0
	lowestXYZ         = -0.02 // of 1
	highestXYZ        = 1.4
	// Lab and XYZ of one file should tell the same colour to rounding: 0.01 of
	// Y 0.2 is 0.09 in L*.
	kindsDisagree = 1.0
)

func colours(t Table, c columns, opts ReadOptions, m *Measurements) ([]cie.Lab, error) {
	if c.colour != spectralColour {
		if err := checkIlluminant(t); err != nil {
			return nil, err
		}
	}
	var labs []cie.Lab
	var err error
	switch c.colour {
	case spectralColour:
		labs, err = fromSpectra(t, c, opts, m)
	case labColour:
		labs, err = fromLab(t, c.lab)
		m.note("Colour is taken from the Lab columns, as D50, 2 degree.")
	case xyzColour:
		labs, err = fromXYZ(t, c.xyz, m)
		m.note("Colour is computed from the XYZ columns, as D50, 2 degree.")
	}
	if err != nil {
		return nil, err
	}
	if c.colour == labColour && c.xyz != nil {
		if other, err := fromXYZ(t, c.xyz, &Measurements{}); err == nil {
			d := make([]float64, len(labs))
			for i := range labs {
				d[i] = cie.DeltaE76(labs[i], other[i])
			}
			sort.Float64s(d)
			if mid := d[len(d)/2]; mid > kindsDisagree {
				m.note("The file's XYZ and Lab columns disagree by %.1f in the middle of the patches: they are not of one light or one white. Lab is believed.", mid)
			}
		}
	}
	for i, l := range labs {
		if l.L < lowestL || l.L > highestL || math.Abs(l.A) > largestAB || math.Abs(l.B) > largestAB {
			return nil, wrong(t.Lines[i], "Lab %.2f, %.2f, %.2f can't be the colour of a print", l.L, l.A, l.B)
		}
	}
	if l := lightest(labs); l < 30 {
		return nil, wrong(t.line, "the lightest patch has L* %.1f: the paper must be among them, or the values have another scale", l)
	}
	return labs, nil
}

func lightest(labs []cie.Lab) float64 {
	m := math.Inf(-1)
	for _, l := range labs {
		m = math.Max(m, l.L)
	}
	return m
}

var otherLight = regexp.MustCompile(`(?i)\b(D55|D65|D75|A|C|F2|F7|F11|10 ?DEG(?:REES?)?)\b`)

// checkIlluminant refuses Lab and XYZ that the header says are for another
// light or observer: they can't be turned into D50 without the spectra.
func checkIlluminant(t Table) error {
	for _, k := range t.Keywords {
		switch strings.ToUpper(k.Name) {
		case "ILLUMINANT", "OBSERVER", "WEIGHTING_FUNCTION", "MEASUREMENT_ILLUMINANT", "MEASUREMENT_OBSERVER":
			if strings.Contains(strings.ToUpper(k.Value), "D50") {
				continue
			}
			if w := otherLight.FindString(k.Value); w != "" {
				return unsupported(k.Line, "the colours are for %s %q, profiles need D50 and 2 degree: export them so, or with spectra", k.Name, shown(k.Value))
			}
		}
	}
	return nil
}

func fromLab(t Table, cols []int) ([]cie.Lab, error) {
	rows, err := grid(t, cols)
	if err != nil {
		return nil, err
	}
	labs := make([]cie.Lab, len(rows))
	for i, r := range rows {
		labs[i] = cie.Lab{L: r[0], A: r[1], B: r[2]}
	}
	return labs, nil
}

func fromXYZ(t Table, cols []int, m *Measurements) ([]cie.Lab, error) {
	rows, err := grid(t, cols)
	if err != nil {
		return nil, err
	}
	full := 100.0
	if top := largest(rows); top <= highestXYZ {
		full = 1
		m.note("XYZ is read as 0 to 1: the largest value is %.3f.", top)
	}
	labs := make([]cie.Lab, len(rows))
	for i, r := range rows {
		for j, v := range r {
			if v/full < lowestXYZ || v/full > highestXYZ {
				return nil, wrong(t.Lines[i], "%s is %g, outside what a print can have on a scale to %g", t.Fields[cols[j]], v, full)
			}
		}
		labs[i] = cie.XYZ{X: r[0] / full, Y: r[1] / full, Z: r[2] / full}.ToLab(cie.D50)
	}
	return labs, nil
}

// Reflectance on a scale to 1 stays below this even with brightener.
const highestReflectance = 2.0

func fromSpectra(t Table, c columns, opts ReadOptions, m *Measurements) ([]cie.Lab, error) {
	rows, err := grid(t, c.spectrum)
	if err != nil {
		return nil, err
	}
	full := 1.0
	if largest(rows) > highestReflectance {
		full = 100
	}
	spectral := opts.Spectral
	if spectral == nil {
		spectral = ownObserver
	}
	labs := make([]cie.Lab, len(rows))
	for i, r := range rows {
		for j := range r {
			if v := r[j] / full; v < -0.05 || v > highestReflectance {
				return nil, wrong(t.Lines[i], "%s is %g, no reflectance on a scale to %g", t.Fields[c.spectrum[j]], r[j], full)
			}
			r[j] /= full
		}
		if labs[i], err = spectral(c.start, c.step, r); err != nil {
			return nil, wrong(t.Lines[i], "the spectrum gives no colour: %v", err)
		}
	}
	m.note("Colour is computed from spectra of %g to %g nm by %g nm, for D50 and the CIE 1931 2 degree observer.", c.start, c.start+c.step*float64(len(c.spectrum)-1), c.step)
	return labs, nil
}

// Table returns the measurements as a plain table: identifiers, locations where
// there are any, device values 0 to 255 (RGB) or 0 to 100 (CMYK), Lab.
func (m *Measurements) Table() Table {
	t := Table{Kind: "CGATS.17", Fields: []string{"SAMPLE_ID"}}
	located := false
	for _, p := range m.Patches {
		located = located || p.Loc != ""
	}
	if located {
		t.Fields = append(t.Fields, "SAMPLE_LOC")
	}
	full := 255.0
	if m.Device == CMYK {
		full = 100
	}
	for _, c := range m.Device.letters() {
		t.Fields = append(t.Fields, m.Device.letters()+"_"+string(c))
	}
	t.Fields = append(t.Fields, "LAB_L", "LAB_A", "LAB_B")
	for _, k := range []Keyword{
		{Name: "ORIGINATOR", Value: "Firstsheet"}, {Name: "DESCRIPTOR", Value: m.Descriptor}, {Name: "CREATED", Value: m.Created},
		{Name: "INSTRUMENTATION", Value: m.Instrument}, {Name: "MEASUREMENT_SOURCE", Value: m.Condition},
	} {
		if k.Value != "" {
			t.Keywords = append(t.Keywords, k)
		}
	}
	number := func(v float64, decimals int) string {
		return strconv.FormatFloat(math.Round(v*1e4)/1e4+0, 'f', decimals, 64)
	}
	for _, p := range m.Patches {
		row := []string{p.ID}
		if located {
			row = append(row, p.Loc)
		}
		for _, v := range p.Device {
			row = append(row, number(v*full, -1))
		}
		t.Rows = append(t.Rows, append(row, number(p.Lab.L, 3), number(p.Lab.A, 3), number(p.Lab.B, 3)))
	}
	return t
}
