package register

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"firstsheet/proof/photo"
)

// The map of the unit square to a quadrilateral has a closed form; this one is worked
// by hand: with g = 0.2, h = 0.1 the corner 1, 1 goes to (3 + 1)/1.3, (0.5 + 2)/1.3.
func TestHomographyOfAQuadrilateral(t *testing.T) {
	want := Homography{3, 1, 0, 0.5, 2, 0, 0.2, 0.1, 1}
	from := []Point{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	to := []Point{{0, 0}, {3 / 1.2, 0.5 / 1.2}, {4 / 1.3, 2.5 / 1.3}, {1 / 1.1, 2 / 1.1}}
	got, err := FitHomography(from, to)
	if err != nil {
		t.Fatal(err)
	}
	const rounding = 1e-9
	for i := range got {
		if math.Abs(got[i]-want[i]) > rounding {
			t.Fatalf("map %v, want %v", got, want)
		}
	}
	back, err := got.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	p := Point{0.3, 0.8}
	if d := distance(back.Apply(got.Apply(p)), p); d > rounding {
		t.Errorf("there and back is off by %g", d)
	}
	if d := distance(got.Then(back).Apply(p), p); d > rounding {
		t.Errorf("the map followed by its inverse is off by %g", d)
	}
	// Any unit does: the same in micrometres from far away.
	for i := range from {
		from[i] = Point{1e6 + 1e3*from[i].X, 1e3 * from[i].Y}
	}
	far, err := FitHomography(from, to)
	if err != nil {
		t.Fatal(err)
	}
	if d := distance(far.Apply(from[2]), to[2]); d > 1e-6 {
		t.Errorf("off by %g", d)
	}
}

func TestPointsThatFixNoMap(t *testing.T) {
	line := []Point{{0, 0}, {1, 1}, {2, 2}, {3, 3}}
	square := []Point{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	for _, c := range [][2][]Point{{line, square}, {square[:3], square[:3]}, {square, square[:3]}} {
		if _, err := FitHomography(c[0], c[1]); !errors.Is(err, ErrFlat) {
			t.Errorf("%v: %v", c, err)
		}
	}
}

// scene is a picture of smooth blobs on a grid fine enough to be read between.
type scene [][3]float64

const sceneW, sceneH = 450, 300

func newScene(seed uint64) scene {
	r := rand.New(rand.NewPCG(seed, 7))
	s := make(scene, sceneW*sceneH)
	for i := range s {
		s[i] = [3]float64{0.5, 0.5, 0.5}
	}
	for range 150 {
		u, v, size := r.Float64(), r.Float64(), 0.01+0.04*r.Float64()
		colour := [3]float64{r.Float64() - 0.5, r.Float64() - 0.5, r.Float64() - 0.5}
		for y := max(0, int((v-5*size)*sceneH)); y < min(sceneH, int((v+5*size)*sceneH)); y++ {
			for x := max(0, int((u-5*size)*sceneW)); x < min(sceneW, int((u+5*size)*sceneW)); x++ {
				du, dv := (float64(x)+0.5)/sceneW-u, (float64(y)+0.5)/sceneH-v
				w := math.Exp(-(du*du + dv*dv) / (2 * size * size))
				for k := range colour {
					s[y*sceneW+x][k] += w * colour[k]
				}
			}
		}
	}
	return s
}

func (s scene) at(u, v float64) [3]float64 {
	x, y := min(max(u*sceneW-0.5, 0), sceneW-1), min(max(v*sceneH-0.5, 0), sceneH-1)
	i, j := min(int(x), sceneW-2), min(int(y), sceneH-2)
	fx, fy := x-float64(i), y-float64(j)
	var out [3]float64
	for k := range out {
		a := s[j*sceneW+i][k]*(1-fx) + s[j*sceneW+i+1][k]*fx
		b := s[(j+1)*sceneW+i][k]*(1-fx) + s[(j+1)*sceneW+i+1][k]*fx
		out[k] = a*(1-fy) + b*fy
	}
	return out
}

// draw renders what of says of each pixel's middle.
func draw(w, h int, of func(p Point) [3]float64) *photo.Picture {
	out := &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: make([]uint8, 3*w*h)}
	for y := range h {
		for x := range w {
			for k, v := range of(Point{float64(x) + 0.5, float64(y) + 0.5}) {
				out.Pix8[3*(y*w+x)+k] = uint8(math.Round(255 * min(max(v, 0), 1)))
			}
		}
	}
	return out
}

// A picture in the middle of a sheet on a table, turned, at a slant, in other colours
// and uneven light, is found to within a pixel at its corners; told by
// its corners roughly, too. Its own light and colours do not matter.
func TestAlign(t *testing.T) {
	const w, h = 300, 200
	s := newScene(1)
	original := draw(w, h, func(p Point) [3]float64 { return s.at(p.X/w, p.Y/h) })
	for name, corners := range map[string][4]Point{
		"slant":       {{150, 110}, {530, 140}, {500, 400}, {130, 360}},
		"on its side": {{480, 60}, {470, 440}, {210, 420}, {230, 70}},
		"upside down": {{520, 390}, {140, 380}, {150, 120}, {510, 130}},
	} {
		truth, err := FitHomography([]Point{{0, 0}, {w, 0}, {w, h}, {0, h}}, corners[:])
		if err != nil {
			t.Fatal(err)
		}
		back, err := truth.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		const margin = 14.0
		taken := draw(640, 480, func(p Point) [3]float64 {
			at := back.Apply(p)
			c := [3]float64{0.2, 0.18, 0.15}
			light := 0.6 + 0.4*p.X/640
			if at.X >= -margin && at.Y >= -margin && at.X < w+margin && at.Y < h+margin {
				c = [3]float64{0.95, 0.95, 0.9}
			}
			if at.X >= 0 && at.Y >= 0 && at.X < w && at.Y < h {
				c = s.at(at.X/w, at.Y/h)
				// Washed out, with a cast.
				c = [3]float64{0.2 + 0.6*c[0], 0.15 + 0.55*c[1], 0.1 + 0.6*c[2]}
			}
			for k := range c {
				c[k] *= light
			}
			return c
		})
		rough := make([]Point, 4)
		for i, c := range corners {
			rough[i] = Point{c.X + float64(5-3*i), c.Y + float64(3*i-4)}
		}
		for _, hand := range [][]Point{nil, rough} {
			if hand != nil && name != "slant" {
				continue
			}
			m, err := Align(context.Background(), original, taken, hand, nil)
			if err != nil {
				t.Errorf("%s, by hand %t: %v (alike %.2f)", name, hand != nil, err, m.Alike)
				continue
			}
			if hand == nil && name == "slant" {
				layOn(t, original, taken, m)
			}
			const sub = 1.0 // pixel of a print 400 wide: well below what a region's mean feels
			for i, c := range corners {
				if d := distance(m.Corners[i], c); d > sub {
					t.Errorf("%s, by hand %t: corner %d is off by %.2f pixels, alike %.2f", name, hand != nil, i, d, m.Alike)
				}
			}
		}
	}
	other := newScene(2)
	wrong := draw(400, 300, func(p Point) [3]float64 { return other.at(p.X/400, p.Y/300) })
	if m, err := Align(context.Background(), original, wrong, nil, nil); !errors.Is(err, ErrOther) {
		t.Errorf("another picture: %v, alike %.2f", err, m.Alike)
	}
	if _, err := Align(context.Background(), original, draw(20, 20, func(Point) [3]float64 { return [3]float64{} }), nil, nil); !errors.Is(err, ErrTiny) {
		t.Errorf("a tiny one: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Align(ctx, original, wrong, nil, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// layOn lays a photograph onto its original: each pixel is then the original's own in
// the print's colours and light, so both go up and down together.
func layOn(t *testing.T, original, taken *photo.Picture, m Match) {
	t.Helper()
	laid, err := Lay(context.Background(), taken, m.Map, original.W, original.H)
	if err != nil {
		t.Fatal(err)
	}
	var a, b []float64
	for i := range original.Pix8 {
		a, b = append(a, float64(original.Pix8[i])), append(b, float64(laid.Pix8[i]))
	}
	centre(a)
	centre(b)
	var ab, aa, bb float64
	for i := range a {
		ab, aa, bb = ab+a[i]*b[i], aa+a[i]*a[i], bb+b[i]*b[i]
	}
	const least = 0.85 // uneven light and a cast take the rest
	if r := ab / math.Sqrt(aa*bb); r < least {
		t.Errorf("laid on its original the photograph correlates by %.3f", r)
	}
}

// Light that is a quadratic is found although a third of the places are no paper.
func TestFitLight(t *testing.T) {
	truth := Light{{-0.1, 0.2, -0.1, 0.05, 0, -0.1}, {-0.2, 0.1, 0, 0, 0.1, 0}, {-0.3, 0, 0.2, 0, 0, 0.05}}
	var where []Point
	var colours [][3]float64
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 90 {
		p := Point{r.Float64(), r.Float64()}
		c := truth.At(p)
		if i%3 == 0 {
			for k := range c {
				c[k] *= 0.75 + 0.1*r.Float64()
			}
		}
		where, colours = append(where, p), append(colours, c)
	}
	// The first fit is dragged a little by what is no paper; the limit must be wider.
	got, err := FitLight(where, colours, 0.12, 30)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []Point{{0.1, 0.1}, {0.5, 0.5}, {0.9, 0.2}} {
		for k, want := range truth.At(p) {
			if v := got.At(p)[k]; math.Abs(v/want-1) > 1e-6 {
				t.Errorf("light %.4f at %v, want %.4f", v, p, want)
			}
		}
	}
	if _, err := FitLight(where[:6], colours[:6], 0.1, 1); !errors.Is(err, ErrNoPaper) {
		t.Errorf("six places: %v", err)
	}
}

// centre takes the mean out.
func centre(v []float64) {
	var mean float64
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for i := range v {
		v[i] -= mean
	}
}
