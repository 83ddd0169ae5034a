package pin

import (
	"context"
	"fmt"
	"math"
	"sort"

	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// Kind is why a place is proposed.
type Kind uint8

// The kinds, in the order in which they are proposed.
const (
	Saturated Kind = iota // the most saturated disc of one hue
	Skin                  // the largest disc of skin-like colour
	Neutral               // the most neutral disc of middle lightness
	Shadow                // the darkest disc that still has texture
	Highlight             // the brightest disc that still has texture
)

// Suggestion is a proposed pin.
type Suggestion struct {
	Pin
	Kind    Kind
	Reading Reading
}

// Rules of proposing. All own definitions, in CIELAB units or as a fraction of
// the picture's longer side.
const (
	discRadius = 0.010 // of a proposed pin; at least 2 pixels
	apart      = 0.06  // least distance between two pins
	mostHues   = 6     // hues proposed, the largest areas first
	mostSkins  = 2     // skin-like places, 15 L* apart
	skinsApart = 15    // L*

	hueChroma     = 15   // a hue is present from this C*
	hueShare      = 1e-3 // and from this share of the picture
	neutralChroma = 5    // the most C* of a proposed neutral
	neutralFrom   = 25   // L*
	neutralTo     = 85
	shadowTo      = 30  // L*
	highlightFrom = 80  // L*
	highlightTo   = 99  // L*; beyond is paper white
	textureFrom   = 0.5 // standard deviation of L* in a window: less is flat
	textureTo     = 8   // more is an edge
	evenTo        = 6   // most spread of Lab in a window of a neutral or skin-like place
	patchyTo      = 12  // the same of a saturated place
)

// Suggest proposes the picture's own telling colours: of each hue the most
// saturated place, skin-like places, the most neutral one, and the darkest and
// brightest places that still have texture.
//
// pic is best some 400 pixels wide. A place is always a disc of the size of the
// pin in which every pixel, averaged over its neighbourhood, fulfils the rule,
// so a single noisy pixel or a thin line is never proposed. Places keep 6 % of
// the longer side away from each other and from the pins in have, and bear no name
// of theirs. The answer
// depends on nothing but the arguments. A picture with nothing to tell gives
// none. Suggest returns ctx.Err() when cancelled.
func Suggest(ctx context.Context, pic Picture, have []Pin) ([]Suggestion, error) {
	if err := pic.check(); err != nil {
		return nil, err
	}
	f := newField(pic)
	names := map[string]bool{}
	for _, p := range have {
		names[p.Name] = true
		f.taken = append(f.taken, Point{int(p.X * float64(pic.W)), int(p.Y * float64(pic.H))})
	}
	var out []Suggestion
	add := func(at Point, kind Kind, name string) error {
		p := Pin{
			X:      (float64(at.X) + 0.5) / float64(pic.W),
			Y:      (float64(at.Y) + 0.5) / float64(pic.H),
			Radius: float64(f.radius) / float64(max(pic.W, pic.H)),
		}
		r, err := pic.Read(p)
		if err != nil {
			return err
		}
		if name == "" {
			name = words.Name(r.Lab)
		}
		p.Name = name
		for n := 2; names[p.Name]; n++ {
			p.Name = fmt.Sprintf("%s %d", name, n)
		}
		names[p.Name] = true
		f.taken = append(f.taken, at)
		out = append(out, Suggestion{Pin: p, Kind: kind, Reading: r})
		return nil
	}

	for _, h := range f.hues() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		at, ok := f.extreme(func(i int) (float64, bool) {
			return f.chroma[i], f.hue[i] == h && f.chroma[i] >= hueChroma && !f.skin[i] && f.spread[i] <= patchyTo
		})
		if ok {
			if err := add(at, Saturated, ""); err != nil {
				return nil, err
			}
		}
	}

	var skins []float64
	for len(skins) < mostSkins {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		at, depth := f.innermost(func(i int) bool {
			for _, l := range skins {
				if math.Abs(f.mean[i].L-l) < skinsApart {
					return false
				}
			}
			return f.skin[i] && f.spread[i] <= evenTo
		})
		if depth < f.radius {
			break
		}
		skins = append(skins, f.mean[at.Y*pic.W+at.X].L)
		if err := add(at, Skin, "skin-like"); err != nil {
			return nil, err
		}
	}

	for _, rule := range []struct {
		kind  Kind
		name  string
		value func(i int) (float64, bool)
	}{
		{Neutral, "neutral", func(i int) (float64, bool) {
			l := f.mean[i].L
			return -f.chroma[i], f.chroma[i] <= neutralChroma && f.spread[i] <= evenTo && l >= neutralFrom && l <= neutralTo
		}},
		{Shadow, "shadow", func(i int) (float64, bool) {
			l := f.mean[i].L
			return -l, l <= shadowTo && f.textured(i)
		}},
		{Highlight, "highlight", func(i int) (float64, bool) {
			l := f.mean[i].L
			return l, l >= highlightFrom && l <= highlightTo && f.textured(i)
		}},
	} {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if at, ok := f.extreme(rule.value); ok {
			if err := add(at, rule.kind, rule.name); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// field is a picture with what the rules look at, each per pixel.
type field struct {
	w, h   int
	radius int // of a proposed disc, pixels

	mean    []cie.Lab // mean of the neighbourhood
	chroma  []float64 // of mean
	hue     []words.Hue
	skin    []bool
	texture []float64 // standard deviation of L* in the neighbourhood
	spread  []float64 // root mean square distance from mean there

	taken []Point
	depth []int32 // scratch of innermost
}

func newField(p Picture) *field {
	n := p.W * p.H
	longer := max(p.W, p.H)
	f := &field{
		w: p.W, h: p.H,
		radius: max(2, int(math.Round(discRadius*float64(longer)))),
		mean:   make([]cie.Lab, n), chroma: make([]float64, n), hue: make([]words.Hue, n),
		skin: make([]bool, n), texture: make([]float64, n), spread: make([]float64, n), depth: make([]int32, n),
	}
	// Summed-area tables, one row and column larger than the picture.
	type sums struct{ l, a, b, l2, c2 float64 }
	table := make([]sums, (p.W+1)*(p.H+1))
	for y := 0; y < p.H; y++ {
		var row sums
		for x := 0; x < p.W; x++ {
			c := p.Lab[y*p.W+x]
			row.l, row.a, row.b, row.l2 = row.l+c.L, row.a+c.A, row.b+c.B, row.l2+c.L*c.L
			row.c2 += c.A*c.A + c.B*c.B
			above := table[y*(p.W+1)+x+1]
			table[(y+1)*(p.W+1)+x+1] = sums{above.l + row.l, above.a + row.a, above.b + row.b, above.l2 + row.l2, above.c2 + row.c2}
		}
	}
	window := max(1, longer/200)
	for y := 0; y < p.H; y++ {
		y0, y1 := max(0, y-window), min(p.H, y+window+1)
		for x := 0; x < p.W; x++ {
			x0, x1 := max(0, x-window), min(p.W, x+window+1)
			a, b := table[y0*(p.W+1)+x0], table[y0*(p.W+1)+x1]
			c, d := table[y1*(p.W+1)+x0], table[y1*(p.W+1)+x1]
			k := 1 / float64((x1-x0)*(y1-y0))
			m := cie.Lab{L: (d.l - b.l - c.l + a.l) * k, A: (d.a - b.a - c.a + a.a) * k, B: (d.b - b.b - c.b + a.b) * k}
			i := y*p.W + x
			f.mean[i] = m
			f.chroma[i] = m.Chroma()
			f.hue[i] = words.HueOf(m)
			f.skin[i] = words.SkinLike(m)
			light := max(0, (d.l2-b.l2-c.l2+a.l2)*k-m.L*m.L)
			f.texture[i] = math.Sqrt(light)
			f.spread[i] = math.Sqrt(light + max(0, (d.c2-b.c2-c.c2+a.c2)*k-m.A*m.A-m.B*m.B))
		}
	}
	return f
}

func (f *field) textured(i int) bool {
	return f.texture[i] >= textureFrom && f.texture[i] <= textureTo
}

// hues returns the hues present, the largest area first, at most mostHues.
func (f *field) hues() []words.Hue {
	count := map[words.Hue]int{}
	for i, c := range f.chroma {
		if c >= hueChroma && !f.skin[i] {
			count[f.hue[i]]++
		}
	}
	var out []words.Hue
	for h, n := range count {
		if float64(n) >= hueShare*float64(len(f.chroma)) {
			out = append(out, h)
		}
	}
	sort.Slice(out, func(i, j int) bool {
		if count[out[i]] != count[out[j]] {
			return count[out[i]] > count[out[j]]
		}
		return out[i] < out[j]
	})
	return out[:min(len(out), mostHues)]
}

// extreme returns the centre of the disc whose least value is greatest, among
// the pixels for which value returns true, and whether there is a disc at all.
func (f *field) extreme(value func(i int) (float64, bool)) (Point, bool) {
	low, high := math.Inf(1), math.Inf(-1)
	values := make([]float64, len(f.mean))
	for i := range values {
		v, ok := value(i)
		if !ok || math.IsNaN(v) {
			values[i] = math.Inf(-1)
			continue
		}
		values[i] = v
		low, high = min(low, v), max(high, v)
	}
	if low > high {
		return Point{}, false
	}
	best, depth := f.innermost(func(i int) bool { return values[i] >= low })
	if depth < f.radius {
		return Point{}, false
	}
	// The higher the bar, the smaller the discs: halve the interval.
	for range 12 {
		bar := (low + high) / 2
		if at, depth := f.innermost(func(i int) bool { return values[i] >= bar }); depth >= f.radius {
			best, low = at, bar
		} else {
			high = bar
		}
	}
	return best, true
}

// innermost returns the pixel farthest from every pixel outside the set, the
// picture's edge being outside, and that distance in pixels; of equals the
// first in rows. Pixels too near to a taken place can't be chosen. The
// distance is the 3-4 chamfer distance (Borgefors 1986), within 6 % of the
// Euclidean one.
func (f *field) innermost(in func(i int) bool) (Point, int) {
	w, h, d := f.w, f.h, f.depth
	at := func(x, y int) int32 {
		if x < 0 || y < 0 || x >= w || y >= h {
			return 0
		}
		return d[y*w+x]
	}
	for y := 0; y < h; y++ {
		for x := 0; x < w; x++ {
			i := y*w + x
			if !in(i) {
				d[i] = 0
				continue
			}
			d[i] = min(at(x-1, y)+3, at(x, y-1)+3, at(x-1, y-1)+4, at(x+1, y-1)+4)
		}
	}
	best, depth := Point{}, int32(0)
	for y := h - 1; y >= 0; y-- {
		for x := w - 1; x >= 0; x-- {
			i := y*w + x
			if d[i] == 0 {
				continue
			}
			d[i] = min(d[i], at(x+1, y)+3, at(x, y+1)+3, at(x+1, y+1)+4, at(x-1, y+1)+4)
			// Rows are walked backwards: >= keeps the first in rows.
			if d[i] >= depth && !f.near(x, y) {
				best, depth = Point{x, y}, d[i]
			}
		}
	}
	return best, int(depth / 3)
}

func (f *field) near(x, y int) bool {
	least := apart * float64(max(f.w, f.h))
	for _, p := range f.taken {
		if math.Hypot(float64(x-p.X), float64(y-p.Y)) < least {
			return true
		}
	}
	return false
}
