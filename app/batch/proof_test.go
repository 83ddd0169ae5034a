package main

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"encoding/json"
	"image"
	_ "image/jpeg"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "golang.org/x/image/tiff"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

const photos = testdata + "photos/"

// embeddedProfile takes the profile out of a PNG by hand (PNG, W3C, 11.3.3.3): what
// the program under test reads must not vouch for itself.
func embeddedProfile(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	for at := 8; at+12 <= len(data); {
		n := int(binary.BigEndian.Uint32(data[at:]))
		if string(data[at+4:at+8]) == "iCCP" {
			chunk := data[at+8 : at+8+n]
			name := bytes.IndexByte(chunk, 0)
			r, err := zlib.NewReader(bytes.NewReader(chunk[name+2:]))
			if err != nil {
				t.Fatal(err)
			}
			profile, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "embedded.icc")
			if err := os.WriteFile(file, profile, 0o600); err != nil {
				t.Fatal(err)
			}
			return file
		}
		at += n + 12
	}
	t.Fatalf("%s has no embedded profile", path)
	return ""
}

func decode(t *testing.T, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, _, err := image.Decode(f)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return m
}

func readReport(t *testing.T, path string) proofReport {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var r proofReport
	if err := json.Unmarshal(data, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// Pictures with wide-gamut profiles go the whole way: decoded here by the standard
// library, their profile taken out by hand, every link run by the reference
// utility, and compared with the pixels that were written.
func TestWideGamutPhotographs(t *testing.T) {
	pearl := paperFile(t, "pearl", "")
	for _, c := range []struct{ name, white, look string }{
		{"p3_ring.png", "paper", "-t3"},
		{"p3_bars.png", "screen", "-t1"},
		{"rec2020_ring.png", "screen", "-t1"},
		{"swapped_channels.png", "screen", "-t1"},
		{"small_rec2020_linear16.png", "paper", "-t3"},
		{"small_rec709_v4_16.png", "screen", "-t1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			out, figures := filepath.Join(dir, "proof.png"), filepath.Join(dir, "figures.json")
			mustBatch(t, "", "proof", photos+c.name, "-paper", "pearl", "-white", c.white, "-out", out, "-figures", figures)
			embedded := embeddedProfile(t, photos+c.name)
			original, written := decode(t, photos+c.name), decode(t, out)
			if original.Bounds() != written.Bounds() {
				t.Fatalf("%v became %v", original.Bounds(), written.Bounds())
			}
			if got, _ := os.ReadFile(embeddedProfile(t, out)); !bytes.Equal(got, space.SRGB().ICC()) {
				t.Error("the screen's profile is not embedded")
			}
			var numbers, bytesOut [][]float64
			b := original.Bounds()
			for i := range 400 { // spread over the picture, never in step with its rows
				at := i * b.Dx() * b.Dy() / 400
				x, y := at%b.Dx(), at/b.Dx()
				r, g, bl, _ := original.At(x, y).RGBA()
				numbers = append(numbers, []float64{float64(r) / 257, float64(g) / 257, float64(bl) / 257})
				r, g, bl, _ = written.At(x, y).RGBA()
				bytesOut = append(bytesOut, []float64{float64(r >> 8), float64(g >> 8), float64(bl >> 8)})
			}
			device := clipped(transicc(t, numbers, "-i", embedded, "-o", pearl, "-t1", "-b"), 255)
			look := transicc(t, device, "-i", pearl, "-o", "*Lab", c.look)
			want := clipped(transicc(t, look, "-i", "*Lab", "-o", "*sRGB", "-t1"), 255)
			// The grid may be off by a stated ΔE00: mean 0.1, and 0.7 at 99.9 percent;
			// rounding to bytes adds up to about 0.5.
			var sum, largest float64
			for i := range want {
				d := cie.DeltaE00(srgbLab(want[i]), srgbLab(bytesOut[i]))
				sum += d
				if d > largest {
					largest = d
				}
				if d > 1.2 {
					t.Errorf("pixel %d, %v: written %v, want %.2f", i, numbers[i], bytesOut[i], want[i])
				}
			}
			if mean := sum / float64(len(want)); mean > 0.35 {
				t.Errorf("mean difference %.3f ΔE00", mean)
			}
			r := readReport(t, figures)
			if r.Source.Origin != "embedded in the file" || len(r.Assumptions) != 0 || r.Picture.Width != b.Dx() || r.Faulty {
				t.Errorf("report %+v", r)
			}
			t.Logf("mean %.3f, largest %.3f ΔE00 against the chain in floating point", sum/float64(len(want)), largest)
		})
	}
}

func srgbLab(v []float64) cie.Lab { return space.SRGB().ToLab(v[0]/255, v[1]/255, v[2]/255) }

// The figures of a small picture against every one of its pixels by the exact chain.
func TestFiguresAgainstValues(t *testing.T) {
	const name = photos + "small_rec2020_linear16.png"
	dir := t.TempDir()
	figures := filepath.Join(dir, "f.json")
	for _, slip := range []string{"none", "twice"} {
		mustBatch(t, "", "proof", name, "-paper", "cotton", "-slip", slip, "-figures", figures)
		picture := decode(t, name)
		b := picture.Bounds()
		var all [][]float64
		for y := range b.Dy() {
			for x := range b.Dx() {
				r, g, bl, _ := picture.At(x, y).RGBA()
				all = append(all, []float64{float64(r) / 257, float64(g) / 257, float64(bl) / 257})
			}
		}
		v := values(t, all, "-source", embeddedProfile(t, name), "-paper", "cotton", "-slip", slip)
		r := readReport(t, figures)
		var mean, largest, darker, outside float64
		for i := range all {
			mean += v["dE00"][i] / float64(len(all))
			largest = max(largest, v["dE00"][i])
			switch {
			case v["L0"][i] < r.Paper.Black:
				darker += 1 / float64(len(all))
			case v["reach"][i] >= 2:
				outside += 1 / float64(len(all))
			}
		}
		for _, c := range []struct {
			what                 string
			got, want, tolerance float64
		}{
			{"pixels", float64(r.Figures.Pixels), float64(len(all)), 0},
			{"mean", r.Figures.Mean, mean, map[string]float64{
				"none": 0.05,
				// Between its two conversions a picture is rounded to 8 bits, values are not.
				"twice": 0.1,
			}[slip]},
			{"largest", r.Figures.Max, largest, 1},
			// Pixels within the grid's error of an edge may fall on its other side.
			{"darker", r.Figures.Darker, darker, 0.02},
			{"outside", r.Outside, outside, 0.03},
		} {
			if math.Abs(c.got-c.want) > c.tolerance {
				t.Errorf("%s: %s = %.4f, want %.4f ± %g", slip, c.what, c.got, c.want, c.tolerance)
			}
		}
		sum := r.Figures.Darker
		for _, band := range r.Bands {
			sum += band.Share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: bands and darker share sum to %g", slip, sum)
		}
		if slip == "twice" {
			var faults []string
			for _, s := range r.Route {
				if s.Fault != "" {
					faults = append(faults, s.Fault)
				}
			}
			if !r.Faulty || len(r.Route) != 6 || strings.Join(faults, ",") != proof.Extra.String() {
				t.Errorf("route of %d stations with faults %q, want one too many among six", len(r.Route), faults)
			}
		}
	}
}

// Fully transparent pixels count nowhere.
func TestAlphaInFigures(t *testing.T) {
	figures := filepath.Join(t.TempDir(), "f.json")
	const name = photos + "shore_alpha.png"
	mustBatch(t, "", "proof", name, "-paper", "cotton", "-figures", figures)
	picture := decode(t, name)
	b, seen := picture.Bounds(), int64(0)
	for y := range b.Dy() {
		for x := range b.Dx() {
			if _, _, _, a := picture.At(x, y).RGBA(); a > 0 {
				seen++
			}
		}
	}
	if r := readReport(t, figures); r.Figures.Pixels != seen || !r.Picture.Alpha {
		t.Errorf("%d pixels count, want %d of %d", r.Figures.Pixels, seen, b.Dx()*b.Dy())
	}
}

// Every format is written whole, with the screen's profile, and the same numbers.
func TestProofFormats(t *testing.T) {
	dir := t.TempDir()
	const name, screen = photos + "cat_srgb.png", profiles + "a98.icc"
	wanted, err := os.ReadFile(screen)
	if err != nil {
		t.Fatal(err)
	}
	var first image.Image
	for _, ending := range []string{".png", ".tif", ".jpg"} {
		out := filepath.Join(dir, "proof"+ending)
		mustBatch(t, "", "proof", "-out", out, "-screen", screen, name, "-paper", "pearl")
		back, err := photo.Open(context.Background(), out)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(back.ICC, wanted) {
			t.Errorf("%s: the screen's profile is not embedded", ending)
		}
		picture := decode(t, out)
		if first == nil {
			first = picture
		}
		var difference, n float64
		for y := range picture.Bounds().Dy() {
			for x := range picture.Bounds().Dx() {
				r, g, b, _ := picture.At(x, y).RGBA()
				r0, g0, b0, _ := first.At(x, y).RGBA()
				difference += math.Abs(float64(r)-float64(r0)) + math.Abs(float64(g)-float64(g0)) + math.Abs(float64(b)-float64(b0))
				n += 3 * 257
			}
		}
		if limit := map[string]float64{".jpg": 4}[ending]; difference/n > limit {
			t.Errorf("%s differs from the PNG by %.2f of 255 in the mean", ending, difference/n)
		}
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 3 {
		t.Errorf("%d files lie in the folder, want 3", len(left))
	}
}

// The reach map is pale grey where the paper reaches the picture, tinted where it
// does not, and the tints cover about as much as the figures say.
func TestReachMap(t *testing.T) {
	dir := t.TempDir()
	reach, figures := filepath.Join(dir, "reach.png"), filepath.Join(dir, "f.json")
	mustBatch(t, "", "proof", photos+"p3_bars.png", "-paper", "washi", "-reach", reach, "-figures", figures)
	r := readReport(t, figures)
	picture := decode(t, reach)
	b, tinted := picture.Bounds(), 0
	for y := range b.Dy() {
		for x := range b.Dx() {
			if r, g, bl, _ := picture.At(x, y).RGBA(); r != g || g != bl {
				tinted++
			}
		}
	}
	share, want := float64(tinted)/float64(b.Dx()*b.Dy()), 1-r.Bands[0].Share-r.Figures.Darker
	if math.Abs(share-want) > 0.1 || want < 0.2 {
		t.Errorf("%.3f of the map is tinted, want about %.3f", share, want)
	}
	if r.Bands[0].Color != "" || r.Bands[2].Color == "" {
		t.Errorf("colours of the bands %+v", r.Bands)
	}
	// A paper that reaches everything in a grey picture has nothing tinted.
	mustBatch(t, "", "proof", photos+"cat_grey.png", "-paper", "gloss", "-reach", reach, "-figures", figures)
	r = readReport(t, figures)
	if r.Outside > 0.01 {
		t.Errorf("%.3f of a grey picture is out of the gloss paper's reach", r.Outside)
	}
}

// One-channel pictures, 16 bits, orientation, one pixel, and what names no space.
func TestOtherPhotographs(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		name, origin string
		channels     int
		notes        bool
	}{
		{"1x1_exif.jpg", "", 3, false},
		{"png_grey4.png", "named in the file", 3, false},
		{"chessboard_grey16.tif", "assumed", 3, true},
	} {
		figures := filepath.Join(dir, "f.json")
		out := mustBatch(t, "", "proof", photos+c.name, "-paper", "pearl", "-figures", figures)
		r := readReport(t, figures)
		if c.origin != "" && r.Source.Origin != c.origin || c.channels != 0 && r.Picture.Channels != c.channels {
			t.Errorf("%s: source %+v, picture %+v", c.name, r.Source, r.Picture)
		}
		if c.notes && (len(r.Assumptions) == 0 || !strings.Contains(out, "assumed")) {
			t.Errorf("%s: nothing is said of the assumed space: %s", c.name, out)
		}
		if r.Figures.Pixels == 0 || math.IsNaN(r.Figures.Mean) {
			t.Errorf("%s: figures %+v", c.name, r.Figures)
		}
	}
	// What is given goes before what is said, and a CMYK paper serves as well.
	figures := filepath.Join(dir, "f.json")
	mustBatch(t, "", "proof", photos+"small_rec709_v4_16.png", "-source", "romm", "-paper", profiles+"FOGRA39L_coated.icc", "-figures", figures)
	if r := readReport(t, figures); r.Source.Origin != "given" || r.Source.Name != "ROMM RGB" || r.Paper.White == nil || math.Abs(r.Paper.White[0]-95) > 0.1 {
		t.Errorf("with -source: %+v", r)
	}
}

// When anything fails nothing is left, and what was there stays.
func TestFailureLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	file := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	whole, err := os.ReadFile(photos + "cat_srgb.png")
	if err != nil {
		t.Fatal(err)
	}
	jpg, err := os.ReadFile(photos + "rocket.jpg")
	if err != nil {
		t.Fatal(err)
	}
	inks := filepath.Join(dir, "inks.tif")
	if err := photo.Write(context.Background(), inks, &photo.Picture{W: 2, H: 2, Channels: 4, Depth: 8, Pix8: make([]uint8, 16)}, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	cat := file("cat.png", whole)
	wide := filepath.Join(dir, "wide.png")
	if err := photo.Write(context.Background(), wide, &photo.Picture{W: 70000, H: 1, Channels: 1, Depth: 8, Pix8: make([]uint8, 70000)}, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link.png")
	if err := os.Symlink(cat, link); err != nil {
		t.Fatal(err)
	}
	before := snapshot(t, dir)
	results := filepath.Join(dir, "results")
	for _, c := range []struct {
		name  string
		args  []string // after proof
		names string   // what the line must name
	}{
		{"no such photo", []string{filepath.Join(dir, "none.png"), "-out", "R/a.png"}, "none.png"},
		{"a folder", []string{dir, "-out", "R/a.png"}, dir},
		{"empty", []string{file("empty.png", nil), "-out", "R/a.png"}, "empty.png"},
		{"no picture", []string{file("text.png", []byte("no picture at all")), "-out", "R/a.png"}, "text.png"},
		{"cut PNG", []string{file("cut.png", whole[:len(whole)/2]), "-out", "R/a.png", "-figures", "R/f.json"}, "cut.png"},
		{"cut JPEG", []string{file("cut.jpg", jpg[:len(jpg)/2]), "-out", "R/a.png", "-figures", "R/f.json"}, "cut.jpg"},
		{"cut JPEG, figures alone", []string{file("cut.jpg", jpg[:len(jpg)/2]), "-figures", "R/f.json"}, "cut.jpg"},
		{"cut JPEG, the map", []string{file("cut.jpg", jpg[:len(jpg)/2]), "-reach", "R/r.png"}, "cut.jpg"},
		{"inks without a profile", []string{inks, "-out", "R/a.png"}, "inks.tif"},
		{"wrong given source", []string{cat, "-source", profiles + "cmyk.icc", "-out", "R/a.png"}, "cat.png"},
		{"no paper", []string{cat, "-paper", profiles + "sRGB.icc", "-out", "R/a.png"}, "sRGB.icc"},
		{"impossible slip", []string{cat, "-paper", profiles + "cmyk.icc", "-slip", "never", "-out", "R/a.png"}, "cmyk.icc"},
		{"second of three fails", []string{cat, "-figures", "R/f.json", "-reach", "R/none/r.png", "-out", "R/a.png"}, "none"},
		{"last of three fails", []string{cat, "-figures", "R/f.json", "-reach", "R/r.png", "-out", "R/none/a.png"}, "none"},
		{"a folder in the way", []string{cat, "-figures", "R/f.json", "-out", "R/folder.png"}, "folder.png"},
		{"two outputs in one", []string{cat, "-reach", "R/a.png", "-out", "R/a.png"}, "a.png"},
		{"too wide for JPEG", []string{wide, "-figures", "R/f.json", "-out", "R/a.jpg"}, "a.jpg"},
		{"over the original", []string{cat, "-out", cat}, "cat.png"},
		{"over the original by a link", []string{cat, "-reach", "R/r.png", "-out", link}, "link.png"},
	} {
		if err := os.MkdirAll(filepath.Join(results, "folder.png"), 0o700); err != nil {
			t.Fatal(err)
		}
		old := filepath.Join(results, "f.json")
		if err := os.WriteFile(old, []byte("old"), 0o600); err != nil {
			t.Fatal(err)
		}
		args := []string{"proof"}
		for _, a := range c.args {
			args = append(args, strings.Replace(a, "R/", results+"/", 1))
		}
		if !strings.Contains(strings.Join(args, " "), "-paper") {
			args = append(args, "-paper", "pearl")
		}
		code, out, errs := batch("", args...)
		if code != failed || strings.Count(errs, "\n") != 1 || !strings.Contains(errs, c.names) || out != "" {
			t.Errorf("%s: exit %d, %q %q", c.name, code, errs, out)
		}
		if kept, err := os.ReadFile(old); err != nil || string(kept) != "old" {
			t.Errorf("%s: the file of before is %q, %v", c.name, kept, err)
		}
		if left := snapshot(t, results); len(left) != 2 {
			t.Errorf("%s: left %v", c.name, left)
		}
		os.RemoveAll(results)
	}
	for path, size := range before {
		if after := snapshot(t, dir); after[path] != size {
			t.Errorf("%s has changed", path)
		}
	}
}

// snapshot lists what lies in a folder, with sizes.
func snapshot(t *testing.T, dir string) map[string]int64 {
	t.Helper()
	out := map[string]int64{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && path != dir {
			info, err := d.Info()
			if err != nil {
				return err
			}
			out[path] = info.Size()
			if d.IsDir() {
				out[path] = -1
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A job that is stopped leaves nothing.
func TestStopped(t *testing.T) {
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var errs bytes.Buffer
	code := run(ctx, []string{"proof", photos + "cat_srgb.png", "-paper", "pearl", "-out", filepath.Join(dir, "a.png")},
		streams{strings.NewReader(""), io.Discard, &errs})
	if code != failed || !strings.Contains(errs.String(), "stopped") || len(snapshot(t, dir)) != 0 {
		t.Errorf("exit %d, %q, left %v", code, errs.String(), snapshot(t, dir))
	}
}

// A large flat picture of extreme shape goes through strips and grids.
func TestLongPicture(t *testing.T) {
	dir := t.TempDir()
	in, reach := filepath.Join(dir, "long.png"), filepath.Join(dir, "reach.png")
	m := image.NewNRGBA(image.Rect(0, 0, 2, 3000))
	for i := range m.Pix {
		m.Pix[i] = []uint8{250, 5, 5, 255}[i%4]
	}
	f, err := os.Create(in)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, m); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	mustBatch(t, "", "proof", in, "-paper", "cotton", "-reach", reach, "-out", filepath.Join(dir, "out.tif"))
	picture := decode(t, reach)
	first := picture.At(0, 0)
	for y := range 3000 {
		if picture.At(1, y) != first {
			t.Fatalf("row %d of a flat picture differs: strips show", y)
		}
	}
}
