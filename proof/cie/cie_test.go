package cie

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// table reads a CSV of numbers with a header row; lines that start with # are
// comments.
func table(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/tables/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out [][]float64
	for _, row := range rows[1:] {
		var v []float64
		for _, s := range row {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			v = append(v, x)
		}
		out = append(out, v)
	}
	return out
}

// The table prints four decimals.
const fourDecimals = 5e-5

func TestDeltaE00PublishedPairs(t *testing.T) {
	rows := table(t, "ciede2000.csv")
	if len(rows) != 34 {
		t.Fatalf("%d pairs, want 34", len(rows))
	}
	for i, r := range rows {
		a, b := Lab{r[0], r[1], r[2]}, Lab{r[3], r[4], r[5]}
		if got := DeltaE00(a, b); math.Abs(got-r[6]) > fourDecimals {
			t.Errorf("DeltaE00(pair %d) = %.4f, want %.4f ± 5e-5", i+1, got, r[6])
		}
		if got := DeltaE00(b, a); math.Abs(got-r[6]) > fourDecimals {
			t.Errorf("DeltaE00(pair %d, swapped) = %.4f, want %.4f ± 5e-5", i+1, got, r[6])
		}
	}
}

// byAngles is CIEDE2000 as it is published, with hues as angles; see DeltaE00Terms.
func byAngles(a, b Lab, kH float64) Terms {
	const half = math.Pi + 1e-12
	hue := func(a, b float64) float64 {
		if h := math.Atan2(b, a); h < 0 {
			return h + 2*math.Pi
		} else {
			return h
		}
	}
	cBar7 := pow7((a.Chroma() + b.Chroma()) / 2)
	g := 0.5 * (1 - math.Sqrt(cBar7/(cBar7+pow25to7)))
	a1, a2 := (1+g)*a.A, (1+g)*b.A
	c1, c2 := math.Hypot(a1, a.B), math.Hypot(a2, b.B)
	h1, h2 := hue(a1, a.B), hue(a2, b.B)
	turn, mean := h2-h1, h1+h2
	if c1 == 0 || c2 == 0 {
		turn = 0
	} else {
		switch {
		case math.Abs(turn) <= half:
			mean /= 2
		case mean < 2*math.Pi:
			mean = (mean + 2*math.Pi) / 2
		default:
			mean = (mean - 2*math.Pi) / 2
		}
		if turn > half {
			turn -= 2 * math.Pi
		} else if turn < -half {
			turn += 2 * math.Pi
		}
	}
	t := 1 - 0.17*math.Cos(mean-math.Pi/6) + 0.24*math.Cos(2*mean) + 0.32*math.Cos(3*mean+math.Pi/30) - 0.20*math.Cos(4*mean-63*math.Pi/180)
	d := (mean*180/math.Pi - 275) / 25
	c, l := (c1+c2)/2, (a.L+b.L)/2
	l = (l - 50) * (l - 50)
	return Terms{
		Lightness: (b.L - a.L) / (1 + 0.015*l/math.Sqrt(20+l)),
		Chroma:    (c2 - c1) / (1 + 0.045*c),
		Hue:       2 * math.Sqrt(c1*c2) * math.Sin(turn/2) / (kH * (1 + 0.015*c*t)),
		Rotation:  -math.Sin(math.Pi/3*math.Exp(-d*d)) * 2 * math.Sqrt(pow7(c)/(pow7(c)+pow25to7)),
	}
}

// Hues as directions give what angles give: on colours all over, near to each other, grey,
// opposite and nearly so.
func TestDeltaE00ByAngles(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	colour := func() Lab { return Lab{100 * r.Float64(), 250*r.Float64() - 125, 250*r.Float64() - 125} }
	for i := range 200000 {
		a, b := colour(), colour()
		switch i % 8 {
		case 1, 2:
			size := math.Pow(10, -12*r.Float64())
			b = Lab{a.L + size*r.Float64(), a.A + size*r.NormFloat64(), a.B + size*r.NormFloat64()}
		case 3:
			a.A, a.B = 0, 0
		case 4:
			b = Lab{a.L, 0, 0}
		case 5:
			b.A, b.B = -a.A, -a.B // half a turn, with a' stretched alike
		case 6:
			size := math.Pow(10, -9*r.Float64())
			b.A, b.B = -2*a.A+size*r.NormFloat64(), -2*a.B+size*r.NormFloat64()
		case 7:
			a, b = Lab{a.L, a.A, 0}, Lab{b.L, b.A, 0}
		}
		got, want := DeltaE00Terms(a, b, 0.5), byAngles(a, b, 0.5)
		for k, d := range []float64{got.Lightness - want.Lightness, got.Chroma - want.Chroma, got.Hue - want.Hue, got.Rotation - want.Rotation} {
			if !(math.Abs(d) < 1e-6) {
				t.Fatalf("%v to %v: term %d is off by %g: %+v, want %+v", a, b, k, d, got, want)
			}
		}
	}
	nan := math.NaN()
	for _, c := range []Lab{{nan, 1, 1}, {1, nan, 1}, {1, 1, nan}} {
		if d := DeltaE00(c, Lab{50, -20, 30}); !math.IsNaN(d) {
			t.Errorf("%v differs by %g", c, d)
		}
	}
}

func TestLabRoundTrip(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := 0; i < 1000; i++ {
		c := Lab{r.Float64()*120 - 10, r.Float64()*200 - 100, r.Float64()*200 - 100}
		if d := DeltaE76(c, c.ToXYZ(D50).ToLab(D50)); d > 1e-9 {
			t.Fatalf("%v comes back %g away", c, d)
		}
		if d := DeltaE76(c, c.LCh().Lab()); d > 1e-9 {
			t.Fatalf("%v through LCh comes back %g away", c, d)
		}
	}
}

// A paper of D = 1.6 has L* 17.97, one of D = 2.3 has 4.53: arithmetic on
// Y = 10^-D.
func TestDensityToLightness(t *testing.T) {
	for _, c := range []struct{ d, l float64 }{{1.5, 20.68}, {1.6, 17.97}, {2.0, 8.99}, {2.3, 4.53}} {
		y := math.Pow(10, -c.d)
		if got := D50.Scale(y).ToLab(D50).L; math.Abs(got-c.l) > 0.005 {
			t.Errorf("L* of density %.1f = %.3f, want %.2f ± 0.005", c.d, got, c.l)
		}
	}
}

// Black point compensation worked by hand in double precision from the map of
// ISO 18619: source black 0, paper black L* 15 and 4.
func TestBlackScaleWorkedExamples(t *testing.T) {
	y := func(l float64) float64 { return Lab{L: l}.ToXYZ(D50).Y }
	for _, c := range []struct {
		from, to float64
		in, want Lab
	}{
		{0, 15, Lab{0, 0, 0}, Lab{15, 0, 0}},
		{0, 15, Lab{50, 0, 0}, Lab{51.8097, 0, 0}},
		{0, 15, Lab{40, 60, 30}, Lab{42.6800, 55.1368, 25.0082}},
		{0, 15, Lab{100, 0, 0}, Lab{100, 0, 0}},
		{0, 4, Lab{40, 60, 30}, Lab{40.6446, 58.7999, 28.6366}},
		{3.1373, 15, Lab{40, 60, 30}, Lab{42.2179, 55.9518, 25.7563}},
		{15, 0, Lab{50, 0, 0}, Lab{48.0468, 0, 0}},
	} {
		got := NewBlackScale(y(c.from), y(c.to)).Apply(c.in.ToXYZ(D50)).ToLab(D50)
		if d := DeltaE76(got, c.want); d > 2e-4 {
			t.Errorf("black %g to %g: %v gives %.4f, want %.4f ± 2e-4", c.from, c.to, c.in, got, c.want)
		}
	}
}

func TestAdaptationTakesWhiteToWhite(t *testing.T) {
	got := D65.Transform(Adaptation(D65, D50))
	if math.Abs(got.X-D50.X)+math.Abs(got.Y-D50.Y)+math.Abs(got.Z-D50.Z) > 1e-12 {
		t.Errorf("D65 adapts to %v, want %v", got, D50)
	}
	back := D50.Transform(Adaptation(D50, D65)).Transform(Adaptation(D65, D50))
	if math.Abs(back.X-D50.X) > 1e-12 {
		t.Errorf("there and back gives %v", back)
	}
}

func TestHueTurn(t *testing.T) {
	for _, c := range []struct{ a, b, want float64 }{
		{350, 10, 20}, {10, 350, -20}, {0, 180, 180}, {180, 0, 180}, {90, 90, 0}, {30, 44, 14},
	} {
		if got := HueTurn(c.a, c.b); got != c.want {
			t.Errorf("HueTurn(%g, %g) = %g, want %g", c.a, c.b, got, c.want)
		}
	}
}

func TestTermsSignsSayWhichWay(t *testing.T) {
	red := LCh{45, 70, 30}
	turned := LCh{40, 60, 44}
	terms := DeltaE00Terms(red.Lab(), turned.Lab(), 1)
	if terms.Hue <= 0 || terms.Chroma >= 0 || terms.Lightness >= 0 {
		t.Errorf("red to a darker, duller orange gives %+v", terms)
	}
}

func BenchmarkDeltaE00(b *testing.B) {
	x, y := Lab{50, 20, 30}, Lab{52, 24, 28}
	for b.Loop() {
		DeltaE00(x, y)
	}
}
