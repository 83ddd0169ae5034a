package check

import (
	"bytes"
	"compress/zlib"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/chart"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/photo"
	"firstsheet/proof/register"
	"firstsheet/proof/space"
)

func TestMain(m *testing.M) {
	code := m.Run()
	if n := lcms.Live(); n != 0 && code == 0 {
		println(n, "handles of the library are still open")
		code = 1
	}
	os.Exit(code)
}

// usual is the sheet without options, drawn once.
var usual = sync.OnceValues(func() (*photo.Picture, error) {
	s, err := New(Options{})
	if err != nil {
		return nil, err
	}
	return s.Draw(context.Background())
})

func sheet(t testing.TB, o Options) (*Sheet, *photo.Picture) {
	t.Helper()
	if o == (Options{}) {
		p, err := usual()
		if err != nil {
			t.Fatal(err)
		}
		s, _ := New(o)
		return s, p
	}
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Draw(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return s, p
}

// The sheet has what a print is judged by, each value once, and every patch is drawn
// where the table says and with the numbers it says.
func TestTableAndPictureAgree(t *testing.T) {
	for _, o := range []Options{{}, {Page: "letter", Depth: 16, PPI: 360}} {
		s, p := sheet(t, o)
		var text bytes.Buffer
		if err := chart.WriteTables(&text, s.Table()); err != nil {
			t.Fatal(err)
		}
		tables, err := chart.ReadTables(&text)
		if err != nil {
			t.Fatal(err)
		}
		table := tables[0]
		column := map[string]int{}
		for i, f := range table.Fields {
			column[f] = i
		}
		ids := map[string]bool{}
		for _, row := range table.Rows {
			v := func(name string) float64 {
				n, err := strconv.ParseFloat(row[column[name]], 64)
				if err != nil {
					t.Fatal(err)
				}
				return n
			}
			if id := row[column["SAMPLE_ID"]]; ids[id] {
				t.Errorf("%s is there twice", id)
			} else {
				ids[id] = true
			}
			for _, shift := range [][2]float64{{0, 0}, {-0.4, -0.4}, {0.4, 0.4}} {
				x := int((v("X_MM") + shift[0]*v("W_MM")) / 25.4 * s.PPI)
				y := int((v("Y_MM") + shift[1]*v("H_MM")) / 25.4 * s.PPI)
				for k, got := range p.At(x, y) {
					want := v([]string{"RGB_R", "RGB_G", "RGB_B"}[k])
					if math.Abs(got*255-want) > 0.01 {
						t.Fatalf("%s at %d, %d: %.2f, want %g", row[0], x, y, got*255, want)
					}
				}
			}
		}
		if len(ids) != len(s.Patches) || len(ids) < 120 {
			t.Errorf("%d patches", len(ids))
		}
	}
	for _, id := range []string{"skin", "sky", "grass"} {
		found := false
		for _, p := range Patches(space.SRGB()) {
			found = found || strings.Contains(p.Name, id)
		}
		if !found {
			t.Errorf("no memory colour is %s", id)
		}
	}
}

func TestNoSuchSheet(t *testing.T) {
	for _, o := range []Options{{Page: "a5"}, {PPI: 200}, {Depth: 12}} {
		if _, err := New(o); err == nil {
			t.Errorf("%+v is drawn", o)
		}
	}
}

// A PDF page of the right size holds the picture as it is: its streams come out by
// their declared lengths, and the image is the picture's bytes.
func TestPDF(t *testing.T) {
	_, p := sheet(t, Options{})
	deep := &photo.Picture{W: p.W, H: p.H, Channels: 3, Depth: 16, ICC: p.ICC, Pix16: make([]uint16, len(p.Pix8))}
	for i, v := range p.Pix8 {
		deep.Pix16[i] = uint16(v)*257 - uint16(v)/2
	}
	var page bytes.Buffer
	if err := writePDF(&page, deep, 300); err != nil {
		t.Fatal(err)
	}
	data := page.Bytes()
	if !bytes.HasPrefix(data, []byte("%PDF-1.7\n")) || !bytes.Contains(data, []byte("/MediaBox [0 0 595.2")) || !bytes.Contains(data, []byte("/BitsPerComponent 16")) {
		t.Error("the page is no A4 page of 16 bits")
	}
	at := bytes.LastIndex(data, []byte("startxref\n"))
	xref, err := strconv.Atoi(strings.Fields(string(data[at:]))[1])
	if err != nil || !bytes.HasPrefix(data[xref:], []byte("xref\n0 8\n")) {
		t.Fatalf("no cross-reference table at %d: %v", xref, err)
	}
	for i, line := range strings.Split(string(data[xref:]), "\n")[3:10] {
		offset, err := strconv.Atoi(line[:10])
		if want := strconv.Itoa(i+1) + " 0 obj\n"; err != nil || !bytes.HasPrefix(data[offset:], []byte(want)) {
			t.Errorf("object %d is not at %d", i+1, offset)
		}
	}
	// The image comes out as it went in, the high byte first.
	at = bytes.Index(data, []byte("/BitsPerComponent 16"))
	at += bytes.Index(data[at:], []byte("stream\n")) + len("stream\n")
	z, err := zlib.NewReader(bytes.NewReader(data[at:]))
	if err != nil {
		t.Fatal(err)
	}
	image, err := io.ReadAll(z)
	if err != nil || len(image) != 2*len(deep.Pix16) {
		t.Fatalf("%d bytes of image, %v", len(image), err)
	}
	for i, v := range deep.Pix16 {
		if got := uint16(image[2*i])<<8 | uint16(image[2*i+1]); got != v {
			t.Fatalf("sample %d is %d, want %d", i, got, v)
		}
	}
}

// render makes a picture of a printed sheet as a camera or a turned scan shows it:
// at a slant, unevenly lit, with noise. colours is what the print makes of the
// sheet's numbers.
func render(p *photo.Picture, w, h int, to register.Homography, uneven float64, seed uint64, colours func([3]float64) [3]float64) *photo.Picture {
	back, err := to.Inverse()
	if err != nil {
		panic(err)
	}
	r := rand.New(rand.NewPCG(seed, 1))
	out := &photo.Picture{W: w, H: h, Channels: 3, Depth: 8, Pix8: make([]uint8, 3*w*h)}
	for y := range h {
		for x := range w {
			at := back.Apply(register.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5})
			c := [3]float64{0.35, 0.3, 0.25} // the table that it lies on
			if at.X >= 0 && at.Y >= 0 && at.X < float64(p.W) && at.Y < float64(p.H) {
				c = colours(bilinear(p, at.X-0.5, at.Y-0.5))
				// sRGB numbers of less light.
				light := 1 - uneven*(float64(x)/float64(w)+0.5*float64(y)/float64(h))
				for k := range c {
					if uneven == 0 {
						break
					}
					c[k] = space.SRGB().Encode(light * space.SRGB().Decode(c[k]))
				}
			}
			for k, v := range c {
				out.Pix8[3*(y*w+x)+k] = uint8(math.Round(255 * min(max(v+0.004*r.NormFloat64(), 0), 1)))
			}
		}
	}
	return out
}

func same(c [3]float64) [3]float64 { return c }

// quad returns the map of a page onto four corners, clockwise from its upper left one.
func quad(t testing.TB, p *photo.Picture, corners ...register.Point) register.Homography {
	t.Helper()
	w, h := float64(p.W), float64(p.H)
	m, err := register.FitHomography([]register.Point{{X: 0, Y: 0}, {X: w, Y: 0}, {X: w, Y: h}, {X: 0, Y: h}}, corners)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A sheet that is turned, seen at a slant and unevenly lit reads as its own values.
func TestReadBack(t *testing.T) {
	s, p := sheet(t, Options{})
	engine := proof.NewEngine()
	defer engine.Close()
	for name, c := range map[string]struct {
		w, h    int
		corners []register.Point
		uneven  float64
	}{
		"flat":        {744, 1052, []register.Point{{X: 0, Y: 0}, {X: 744, Y: 0}, {X: 744, Y: 1052}, {X: 0, Y: 1052}}, 0},
		"upside down": {744, 1052, []register.Point{{X: 740, Y: 1050}, {X: 4, Y: 1050}, {X: 4, Y: 2}, {X: 740, Y: 2}}, 0},
		"slant":       {1200, 950, []register.Point{{X: 270, Y: 80}, {X: 930, Y: 40}, {X: 1010, Y: 910}, {X: 190, Y: 870}}, 0.25},
		"on its side": {1080, 780, []register.Point{{X: 1050, Y: 36}, {X: 1020, Y: 750}, {X: 48, Y: 720}, {X: 36, Y: 24}}, 0.15},
	} {
		scan, err := ReadScan(context.Background(), engine, render(p, c.w, c.h, quad(t, p, c.corners...), c.uneven, 3, same), s.Space)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var sum, most float64
		var worst string
		for _, r := range scan.Readings {
			d := cie.DeltaE00(r.Lab, s.Space.ToLab(r.Patch.RGB[0], r.Patch.RGB[1], r.Patch.RGB[2]))
			sum += d
			if d > most {
				most, worst = d, r.Patch.ID
			}
		}
		mean := sum / float64(len(scan.Readings))
		t.Logf("%s: mean ΔE00 %.2f, worst %.2f at %s", name, mean, most, worst)
		// Rounding to 8 bits in dark steps and the light's quadratic cost this much; a patch
		// read in its neighbour's place would be off by 5 and more.
		if mean > 0.6 || most > 3.5 {
			t.Errorf("%s: mean ΔE00 %.2f, worst %.2f at %s", name, mean, most, worst)
		}
	}
}

// A print with stronger colours than its scan's space holds: what is left reads right,
// how many are not is told, and burnt out paper is told.
func TestPatchesAtTheEndOfTheNumbersAreLeftOut(t *testing.T) {
	s, p := sheet(t, Options{})
	engine := proof.NewEngine()
	defer engine.Close()
	for _, paper := range []float64{1, 0.95} {
		strong := func(c [3]float64) [3]float64 {
			grey := (c[0] + c[1] + c[2]) / 3
			for k := range c {
				c[k] = 0.03 + (paper-0.03)*(grey+1.1*(c[k]-grey))
			}
			return c
		}
		scan, err := ReadScan(context.Background(), engine, render(p, 744, 1052, quad(t, p, register.Point{}, register.Point{X: 744}, register.Point{X: 744, Y: 1052}, register.Point{Y: 1052}), 0, 3, strong), s.Space)
		if err != nil {
			t.Fatal(err)
		}
		white := s.Space.ToLab(paper, paper, paper).ToXYZ(cie.D50).Y
		for _, r := range scan.Readings {
			c := strong(r.Patch.RGB)
			x := s.Space.ToLab(c[0], c[1], c[2]).ToXYZ(cie.D50)
			want := cie.XYZ{X: x.X / white, Y: x.Y / white, Z: x.Z / white}.ToLab(cie.D50)
			if d := cie.DeltaE00(r.Lab, want); d > 2 {
				t.Errorf("paper %g: %s is off by ΔE00 %.1f", paper, r.Patch.ID, d)
			}
		}
		notes := strings.Join(scan.Notes, " ")
		n := len(scan.Readings)
		if says := fmt.Sprintf("Patches left out: %d of 138", 138-n); n < 80 || n > 128 || !strings.Contains(notes, says) {
			t.Errorf("paper %g: %d patches are left: %s", paper, n, notes)
		}
		if burnt := strings.Contains(notes, "bare paper is where"); burnt != (paper == 1) {
			t.Errorf("paper %g: %s", paper, notes)
		}
	}
}

// What is no whole check sheet is refused by what is wrong with it.
func TestRefusedScans(t *testing.T) {
	_, p := sheet(t, Options{})
	engine := proof.NewEngine()
	defer engine.Close()
	portrait, err := photo.Open(context.Background(), "../../testdata/cache/photos/portrait.png")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	flower, err := photo.Open(context.Background(), "../../testdata/cache/photos/flower.png")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	flat := func(w, h int, dx, dy float64) *photo.Picture {
		k := 744 / float64(p.W)
		return render(p, w, h, register.Homography{k, 0, dx, 0, k, dy, 0, 0, 1}, 0, 4, same)
	}
	mirror := quad(t, p, register.Point{X: 744}, register.Point{}, register.Point{Y: 1052}, register.Point{X: 744, Y: 1052})
	for says, pic := range map[string]*photo.Picture{
		"no check sheet":           flower,
		"pixels":                   {W: 300, H: 400, Channels: 3, Depth: 8, Pix8: make([]uint8, 3*300*400)},
		"five round marks are not": flat(744, 900, 0, 0),
		"not all in the picture":   flat(660, 1052, -48, 0),
		"mirrored":                 render(p, 744, 1052, mirror, 0, 5, same),
	} {
		_, err := ReadScan(context.Background(), engine, pic, space.SRGB())
		if _, ok := errors.AsType[*ScanError](err); !ok || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
	if _, err := ReadScan(context.Background(), engine, portrait, space.SRGB()); err == nil {
		t.Error("a portrait is read as a check sheet")
	}
}
