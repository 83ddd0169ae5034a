package gamut

import (
	"context"
	"errors"
	"math"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func must(t *testing.T, channels, nodes int, f func(d []float64) cie.Lab) *Boundary {
	t.Helper()
	b, err := New(context.Background(), channels, nodes, per(channels, f))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func per(channels int, f func(d []float64) cie.Lab) Look {
	return func(_ context.Context, numbers []float64) ([]cie.Lab, error) {
		var out []cie.Lab
		for i := 0; i < len(numbers); i += channels {
			out = append(out, f(numbers[i:i+channels]))
		}
		return out, nil
	}
}

// box maps the cube to a box: L* 10 to 90, a* and b* -40 to 40. Its volume is
// 80 * 80 * 80.
func box(d []float64) cie.Lab {
	return cie.Lab{L: 10 + 80*d[0], A: 80*d[1] - 40, B: 80*d[2] - 40}
}

// ball maps the cube's surface to a sphere of radius 40 about L* 50.
func ball(d []float64) cie.Lab {
	x, y, z := d[0]-0.5, d[1]-0.5, d[2]-0.5
	r := math.Sqrt(x*x + y*y + z*z)
	if r == 0 {
		return cie.Lab{L: 50}
	}
	k := 40 / r
	return cie.Lab{L: 50 + k*x, A: k * y, B: k * z}
}

func TestVolumeOfKnownSolids(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func([]float64) cie.Lab
		want float64
	}{
		{"box", box, 512000},
		{"ball", ball, 4.0 / 3 * math.Pi * 40 * 40 * 40},
	} {
		got := must(t, 3, 17, c.f).Volume()
		if math.Abs(got/c.want-1) > 0.01 {
			t.Errorf("volume of the %s = %.0f, want %.0f within 1 %%", c.name, got, c.want)
		}
	}
}

// meshVolume is an independent way: the surface of the cube as triangles, the
// volume by the divergence theorem, which needs no centre and no directions.
func meshVolume(n int, f func(d []float64) cie.Lab) float64 {
	at := func(axis, end, i, j int) place {
		d := make([]float64, 3)
		d[axis] = float64(end)
		d[(axis+1)%3] = float64(i) / float64(n)
		d[(axis+2)%3] = float64(j) / float64(n)
		c := f(d)
		return place{c.L, c.A, c.B}
	}
	sum := 0.0
	for axis := range 3 {
		for end := range 2 {
			sign := float64(2*end - 1)
			for i := range n {
				for j := range n {
					p, q := at(axis, end, i, j), at(axis, end, i+1, j)
					r, s := at(axis, end, i, j+1), at(axis, end, i+1, j+1)
					sum += sign * (p.dot(q.cross(r)) + q.dot(s.cross(r))) / 6
				}
			}
		}
	}
	return math.Abs(sum)
}

// The gamut of sRGB holds about 8.3e5 cubic Lab units (from memory, as commonly
// given under D50); the mesh says the same as the boundary.
func TestVolumeOfSRGB(t *testing.T) {
	s := space.SRGB()
	f := func(d []float64) cie.Lab { return s.ToLab(d[0], d[1], d[2]) }
	got, mesh := must(t, 3, 25, f).Volume(), meshVolume(48, f)
	if math.Abs(got/8.3e5-1) > 0.02 {
		t.Errorf("volume of sRGB = %.0f, want 8.3e5 within 2 %%", got)
	}
	if math.Abs(got/mesh-1) > 0.01 {
		t.Errorf("volume of sRGB = %.0f, the mesh has %.0f", got, mesh)
	}
}

// A wider space never covers less.
func TestWiderSpaceIsLarger(t *testing.T) {
	volume := func(id string) float64 {
		s, ok := space.ByID(id)
		if !ok {
			t.Fatalf("no space %s", id)
		}
		return must(t, 3, 17, func(d []float64) cie.Lab { return s.ToLab(d[0], d[1], d[2]) }).Volume()
	}
	narrow, middle, wide := volume("srgb"), volume("displayp3"), volume("rec2020")
	if !(narrow < middle && middle < wide) {
		t.Errorf("volumes %.0f, %.0f, %.0f", narrow, middle, wide)
	}
}

// contains reports whether a colour is inside the boundary or less than margin
// outside, measured from the centre.
func contains(b *Boundary, c cie.Lab, margin float64) bool {
	v := b.from(c)
	return math.Sqrt(v.dot(v)) <= b.reach(v)+margin
}

func TestBoundaryOfABox(t *testing.T) {
	b := must(t, 3, 17, box)
	for _, c := range []struct {
		at   cie.Lab
		want bool
	}{
		{cie.Lab{L: 50}, true}, {cie.Lab{L: 89}, true}, {cie.Lab{L: 91}, false}, {cie.Lab{L: 11}, true}, {cie.Lab{L: 9}, false},
		{cie.Lab{L: 50, A: 39}, true}, {cie.Lab{L: 50, A: 41}, false}, {cie.Lab{L: 50, A: -39}, true}, {cie.Lab{L: 50, B: -41}, false},
		{cie.Lab{L: 85, A: 35, B: 35}, true}, {cie.Lab{L: 85, A: 42, B: 35}, false}, {cie.Lab{L: 15, A: -35, B: -35}, true},
	} {
		if got := contains(b, c.at, 0.5); got != c.want {
			t.Errorf("%v inside: %v", c.at, got)
		}
	}
}

// Every colour that sRGB makes is inside, and a step beyond the surface is not.
func TestBoundaryOfSRGB(t *testing.T) {
	s := space.SRGB()
	b := must(t, 3, 25, func(d []float64) cie.Lab { return s.ToLab(d[0], d[1], d[2]) })
	for r := 0.0; r <= 1; r += 0.125 {
		for g := 0.0; g <= 1; g += 0.125 {
			for bl := 0.0; bl <= 1; bl += 0.125 {
				// The faces bend a little between 24 nodes.
				if c := s.ToLab(r, g, bl); !contains(b, c, 0.25) {
					t.Errorf("%g %g %g = %v is outside", r, g, bl, c)
				}
			}
		}
	}
	for _, c := range []cie.Lab{{L: 54.3, A: 90, B: 78}, {L: 87.8, A: -90, B: 90}, {L: 50, A: -70, B: -30}, {L: 97, A: 10}} {
		if contains(b, c, 0) {
			t.Errorf("%v is inside sRGB", c)
		}
	}
}

func TestSlices(t *testing.T) {
	b := must(t, 3, 17, box)
	for _, c := range []struct{ hue, want float64 }{{0, 40}, {90, 40}, {45, 40 * math.Sqrt2}, {200, 40 / math.Cos(20*math.Pi/180)}} {
		if got := ChromaAt(b.HueSlice(c.hue), 50); math.Abs(got-c.want) > 0.6 {
			t.Errorf("chroma at (50, %g) = %.2f, want %.2f", c.hue, got, c.want)
		}
		if got := ChromaAt(b.HueSlice(c.hue), 20); math.Abs(got-c.want) > 1 {
			t.Errorf("chroma at (20, %g) = %.2f, want %.2f", c.hue, got, c.want)
		}
	}
	area, line := 0.0, b.HueSlice(359)
	p := ChromaAt(line, 50)
	for hue := range 360 {
		q := ChromaAt(b.HueSlice(float64(hue)), 50)
		area += p * q * math.Sin(math.Pi/180) / 2
		p = q
	}
	if math.Abs(area/6400-1) > 0.01 {
		t.Errorf("area of the slice %.0f, want 6400", area)
	}
	if ChromaAt(line, 95) != 0 || ChromaAt(line, 5) != 0 {
		t.Error("chroma above white or below black")
	}
	line = b.HueSlice(0)
	if first, last := line[0], line[len(line)-1]; math.Abs(first.L-90) > 1e-6 || first.C > 1e-6 || math.Abs(last.L-10) > 1e-6 {
		t.Errorf("the slice runs from %v to %v", first, last)
	}
	most := 0.0
	for _, c := range line {
		most = max(most, c.C)
		if c.L < 10-1e-6 || c.L > 90+1e-6 {
			t.Errorf("%v is beyond white or black", c)
		}
	}
	if math.Abs(most-40) > 0.1 {
		t.Errorf("the slice reaches C* %.2f, want 40", most)
	}
}

// Four channels: the fourth only darkens, so the solid is that of the first
// three, down to a lower black.
func TestFourChannels(t *testing.T) {
	f := func(d []float64) cie.Lab {
		c := box(d[:3])
		c.L = 90 - (90-c.L)*1 - 5*d[3]
		return c
	}
	b := must(t, 4, 9, f)
	if got := b.Volume(); math.Abs(got/(80*80*85)-1) > 0.01 {
		t.Errorf("volume %.0f, want %d", got, 80*80*85)
	}
	if b.Black().L != 5 || b.White().L != 90 {
		t.Errorf("white %v, black %v", b.White(), b.Black())
	}
}

func TestNewFailures(t *testing.T) {
	flat := per(3, func([]float64) cie.Lab { return cie.Lab{L: 50} })
	if _, err := New(context.Background(), 3, 9, flat); err == nil {
		t.Error("a device of one colour has a gamut")
	}
	nan := per(3, func([]float64) cie.Lab { return cie.Lab{L: math.NaN()} })
	if _, err := New(context.Background(), 3, 9, nan); err == nil {
		t.Error("colours that are no numbers are taken")
	}
	for _, c := range []struct{ channels, nodes int }{{0, 9}, {9, 9}, {3, 1}} {
		if _, err := New(context.Background(), c.channels, c.nodes, flat); err == nil {
			t.Errorf("%d channels by %d nodes are taken", c.channels, c.nodes)
		}
	}
	short := func(context.Context, []float64) ([]cie.Lab, error) { return nil, nil }
	if _, err := New(context.Background(), 3, 9, short); err == nil {
		t.Error("a device without answers is taken")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := New(ctx, 3, 9, per(3, box)); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func BenchmarkNew(b *testing.B) {
	s := space.SRGB()
	look := per(3, func(d []float64) cie.Lab { return s.ToLab(d[0], d[1], d[2]) })
	for b.Loop() {
		if _, err := New(context.Background(), 3, 25, look); err != nil {
			b.Fatal(err)
		}
	}
}
