package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// Size limits of a chart. 5,000 patches are eight A4 pages.
const (
	MinPatches    = 100
	MaxPatches    = 5000
	MinVerify     = 30
	MaxVerify     = 60
	defaultTarget = 1000
	defaultVerify = 48
)

// TargetOptions say how a chart is to be made. The zero value is a sound one.
type TargetOptions struct {
	Name    string    // printed on the sheet and used in file names; empty: chart or verify
	Patches int       // how many; 0: 1000, or 48 to verify
	Page    string    // a4, a3 or letter; empty: a4
	PPI     float64   // 72 to 400; 0: 300
	Margin  float64   // unprinted edge in mm, 3 to 40; 0: 10
	Size    float64   // side of a patch in mm, 4 to 30; 0: 8, or 14 to verify
	Created time.Time // written into the patch list; zero: left out
}

// TargetPatch is one patch of a chart, in the order of the sheet.
type TargetPatch struct {
	ID             string   // counts from 1 in reading order
	Loc            string   // page, row letter, column: 1B07
	RGB            [3]uint8 // the numbers that must reach the printer unchanged
	Page, Row, Col int      // counted from 0
}

// Target is a printable RGB chart: which patches, where on which page.
type Target struct {
	Name    string
	Verify  bool // made to check a profile, not to build one
	Patches []TargetPatch
	Layout  Layout
	Created time.Time
}

// NewTarget designs a chart to build a profile from: repeated paper and black,
// a grey ramp with near-greys beside it, the edges of the RGB cube, a regular
// grid, and for the rest points that each lie as far as they can from all
// before (measured half in RGB, half in the Lab that these numbers would have
// as sRGB). Places on the sheet are shuffled, so that a drift over the sheet is
// no drift of a colour and a swapped row is noticed. The same options give the
// same chart.
//
// It fails where an option is out of its range or no patch fits on the page, and with
// ctx.Err() when ctx ends: thousands of patches take seconds.
func NewTarget(ctx context.Context, opts TargetOptions) (*Target, error) {
	n := opts.Patches
	if n == 0 {
		n = defaultTarget
	}
	if n < MinPatches || n > MaxPatches {
		return nil, fmt.Errorf("chart: %d patches: a chart to build from has %d to %d", n, MinPatches, MaxPatches)
	}
	t, err := arrange(opts, n, func(n int) []rgb8 { return design(ctx, n) }, false)
	if ctx.Err() != nil {
		return nil, ctx.Err() // it has too few
	}
	return t, err
}

// NewVerifyTarget chooses 30 to 60 patches over hue and tone to check a profile
// with: paper, black, greys, each hue light, full and dark, and skin tones.
func NewVerifyTarget(opts TargetOptions) (*Target, error) {
	n := opts.Patches
	if n == 0 {
		n = defaultVerify
	}
	if n < MinVerify || n > MaxVerify {
		return nil, fmt.Errorf("chart: %d patches: a chart to verify has %d to %d", n, MinVerify, MaxVerify)
	}
	return arrange(opts, n, func(n int) []rgb8 { return verifyPatches()[:n] }, true)
}

type rgb8 = [3]uint8

func design(ctx context.Context, n int) []rgb8 {
	var out []rgb8
	have := map[rgb8]bool{}
	add := func(c rgb8) {
		if !have[c] && len(out) < n {
			have[c] = true
			out = append(out, c)
		}
	}
	level := func(i, steps int) uint8 { return uint8(math.Round(255 * float64(i) / float64(steps))) }

	for i := range 8 { // corners
		add(rgb8{uint8(i&1) * 255, uint8(i>>1&1) * 255, uint8(i>>2&1) * 255})
	}
	for range min(max(n/250, 1), 4) { // paper and black again: the white is what the profile hangs on
		if len(out)+2 <= n {
			out = append(out, rgb8{255, 255, 255}, rgb8{0, 0, 0})
		}
	}
	greys := min(max(n/30, 9), 33)
	for i := range greys {
		add(rgb8{level(i, greys-1), level(i, greys-1), level(i, greys-1)})
	}
	edge := min(max(n/110, 2), 12) // steps on each edge of the cube
	for axis := range 3 {
		for corner := range 4 {
			for i := 1; i < edge; i++ {
				var c rgb8
				c[axis] = level(i, edge)
				c[(axis+1)%3], c[(axis+2)%3] = uint8(corner&1)*255, uint8(corner>>1)*255
				add(c)
			}
		}
	}
	if n >= 400 { // near-greys: where an eye sees least error
		for i := 1; i < 12; i++ {
			g := 255 * i / 12
			for axis := range 3 {
				for _, step := range []int{-14, 14} {
					c := rgb8{uint8(g), uint8(g), uint8(g)}
					c[axis] = uint8(min(max(g+step, 0), 255))
					add(c)
				}
			}
		}
	}
	side := int(math.Cbrt(0.3 * float64(n)))
	for i := range side * side * side {
		add(rgb8{level(i%side, side-1), level(i/side%side, side-1), level(i/side/side, side-1)})
	}
	return fillUp(ctx, out, have, n)
}

// fillUp adds points, each the candidate farthest from all before it: within
// twice the best possible spread (Gonzalez 1985). When ctx ends it stops short.
func fillUp(ctx context.Context, out []rgb8, have map[rgb8]bool, n int) []rgb8 {
	type place = [6]float64
	where := func(c rgb8) place {
		r, g, b := float64(c[0])/255, float64(c[1])/255, float64(c[2])/255
		l := space.SRGB().ToLab(r, g, b)
		// sRGB spans about 100 in L*, 190 in a* and b*: divided so that Lab
		// and RGB weigh alike.
		return place{r, g, b, l.L / 100, l.A / 190, l.B / 190}
	}
	far := func(a, b place) float64 {
		s := 0.0
		for i := range a {
			s += (a[i] - b[i]) * (a[i] - b[i])
		}
		return s
	}
	var cand []rgb8
	var at []place
	for i := 1; len(cand) < 12*n; i++ { // Halton's sequence
		c := rgb8{halton(i, 2), halton(i, 3), halton(i, 5)}
		if !have[c] {
			have[c] = true
			cand = append(cand, c)
			at = append(at, where(c))
		}
	}
	gap := make([]float64, len(cand))
	for i := range gap {
		gap[i] = math.Inf(1)
	}
	push := func(c rgb8) {
		p := where(c)
		for i := range at {
			gap[i] = math.Min(gap[i], far(at[i], p))
		}
	}
	for _, c := range out {
		push(c)
	}
	for len(out) < n && ctx.Err() == nil {
		best := 0
		for i := range gap {
			if gap[i] > gap[best] {
				best = i
			}
		}
		out = append(out, cand[best])
		push(cand[best])
	}
	return out
}

// halton returns the i-th value of the van der Corput sequence of a base, 0 to 255.
func halton(i, base int) uint8 {
	f, r := 1.0, 0.0
	for ; i > 0; i /= base {
		f /= float64(base)
		r += f * float64(i%base)
	}
	return uint8(r * 256)
}

// verifyPatches lists 60 patches, the most telling first.
func verifyPatches() []rgb8 {
	hue := func(h, sat, value float64) rgb8 {
		var c rgb8
		for i, shift := range []float64{0, 120, 240} {
			d := math.Abs(cie.HueTurn(shift, h)) // 0 at the channel's own hue
			full := math.Min(math.Max(2-d/60, 0), 1)
			c[i] = uint8(math.Round(255 * value * (1 - sat*(1-full))))
		}
		return c
	}
	grey := func(v ...uint8) (out []rgb8) {
		for _, g := range v {
			out = append(out, rgb8{g, g, g})
		}
		return out
	}
	hues := func(from, sat, value float64) (out []rgb8) {
		for h := from; h < 360; h += 60 {
			out = append(out, hue(h, sat, value))
		}
		return out
	}
	out := grey(255, 0, 128, 64, 192, 32, 224)
	out = append(out, hues(0, 1, 1)...)
	out = append(out, hues(0, 0.45, 0.95)...)
	out = append(out, hues(0, 0.9, 0.5)...)
	// Round numbers near common skin tones, light to dark (no source).
	out = append(out, rgb8{232, 190, 166}, rgb8{190, 136, 106}, rgb8{112, 74, 56}) // 28
	out = append(out, grey(16, 96, 160, 240, 48)...)                               // 33
	out = append(out, hues(30, 1, 1)...)                                           // 39
	out = append(out, hues(30, 0.45, 0.95)...)                                     // 45
	out = append(out, rgb8{255, 255, 255}, rgb8{0, 0, 0})                          // 47
	out = append(out, hues(30, 0.9, 0.5)...)                                       // 53
	out = append(out, grey(8, 24, 80, 112, 144, 176, 208)...)                      // 60
	return out
}

// shuffleSeed fixes the order of the patches for good: a chart printed last
// year must be found again by its options.
const shuffleSeed = 0x5ee7

// arrange shuffles n patches and gives each its place.
func arrange(opts TargetOptions, n int, patches func(int) []rgb8, verify bool) (*Target, error) {
	layout, err := newLayout(opts, n, verify)
	if err != nil {
		return nil, err
	}
	r := rand.New(rand.NewPCG(shuffleSeed, uint64(n)))
	order := patches(n)
	if len(order) < n {
		return nil, context.Canceled
	}
	r.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	separate(order, layout.Cols, r)

	t := &Target{Name: opts.Name, Verify: verify, Layout: layout, Created: opts.Created}
	if t.Name == "" {
		t.Name = "chart"
		if verify {
			t.Name = "verify"
		}
	}
	perPage := layout.Rows * layout.Cols
	for i, c := range order {
		p := TargetPatch{ID: strconv.Itoa(i + 1), RGB: c, Page: i / perPage, Row: i % perPage / layout.Cols, Col: i % layout.Cols}
		p.Loc = fmt.Sprintf("%d%s%02d", p.Page+1, rowName(p.Row), p.Col+1)
		t.Patches = append(t.Patches, p)
	}
	return t, nil
}

// separate swaps patches that can't be told from their neighbour in the row: an
// instrument drawn along it finds the edges by contrast.
func separate(order []rgb8, cols int, r *rand.Rand) {
	alike := func(i, j int) bool {
		if i < 0 || j >= len(order) || i/cols != j/cols {
			return false
		}
		s := 0
		for k := range 3 {
			d := int(order[i][k]) - int(order[j][k])
			s += d * d
		}
		return s < 40*40
	}
	crowded := func(i int) bool { return alike(i-1, i) || alike(i, i+1) }
	for i := range order {
		for try := 0; crowded(i) && try < 50; try++ {
			j := r.IntN(len(order))
			before := crowded(j)
			order[i], order[j] = order[j], order[i]
			if crowded(i) || crowded(j) && !before {
				order[i], order[j] = order[j], order[i]
			}
		}
	}
}

// rowName names a row by letters: A to Z, AA, AB and so on.
func rowName(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return rowName(i/26-1) + rowName(i%26)
}

// Table returns the patch list for the measuring side: SAMPLE_ID, SAMPLE_LOC and
// RGB 0 to 255, in the order of the sheet.
func (t *Target) Table() Table {
	out := Table{Kind: "CGATS.17", Fields: []string{"SAMPLE_ID", "SAMPLE_LOC", "RGB_R", "RGB_G", "RGB_B"}}
	purpose := "patches of a printed chart to build a profile from"
	if t.Verify {
		purpose = "patches of a printed chart to verify a profile with"
	}
	out.Keywords = []Keyword{
		{Name: "ORIGINATOR", Value: "Firstsheet"},
		{Name: "DESCRIPTOR", Value: t.Name + ": " + purpose},
		{Name: "PRINT_CONDITIONS", Value: "RGB 0 to 255 sent to the printer unchanged, colour handling off along the whole path"},
		{Name: "SHEET_PAGES", Value: strconv.Itoa(t.Layout.Pages)},
		{Name: "SHEET_ROWS", Value: strconv.Itoa(t.Layout.Rows)},
		{Name: "SHEET_COLUMNS", Value: strconv.Itoa(t.Layout.Cols)},
	}
	if !t.Created.IsZero() {
		out.Keywords = append(out.Keywords, Keyword{Name: "CREATED", Value: t.Created.UTC().Format("2006-01-02")})
	}
	for _, p := range t.Patches {
		row := []string{p.ID, p.Loc}
		for _, v := range p.RGB {
			row = append(row, strconv.Itoa(int(v)))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// ReadList reads a patch list, as [Target.Write] leaves it or of another chart:
// identifiers, locations and device values 0..1 without colour (each Lab is
// zero). It fails like [Read].
func ReadList(r io.Reader, opts ReadOptions) (*Measurements, error) {
	tables, err := ReadTables(r)
	if err != nil {
		return nil, err
	}
	for _, t := range tables {
		c, err := findColumns(t)
		if err != nil {
			return nil, err
		}
		if c.device != nil {
			c.colour = noColour
			return measurements(t, c, opts)
		}
	}
	return nil, wrong(tables[0].line, "no table holds device values (RGB_R RGB_G RGB_B or CMYK_C CMYK_M CMYK_Y CMYK_K)")
}

// List returns the target's patches as [ReadList] would.
func (t *Target) List() *Measurements {
	m := &Measurements{Device: RGB, Descriptor: t.Name}
	for _, p := range t.Patches {
		m.Patches = append(m.Patches, Patch{ID: p.ID, Loc: p.Loc, Device: []float64{
			float64(p.RGB[0]) / 255, float64(p.RGB[1]) / 255, float64(p.RGB[2]) / 255,
		}})
	}
	return m
}
