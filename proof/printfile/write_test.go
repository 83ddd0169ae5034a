package printfile

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/setup"
)

// scene is a picture of soft colours, some beyond the papers' reach.
func scene() *photo.Picture {
	return drawn(150, 100, func(x, y int) [3]float64 {
		u, v := float64(x)/149, float64(y)/99
		return [3]float64{0.5 + 0.45*math.Sin(3*u+v), 0.5 + 0.4*math.Sin(4*v-u+1), 0.5 + 0.45*math.Cos(2*u*v+2*v)}
	})
}

// tool runs an independent utility.
func tool(t *testing.T, stdin string, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin = strings.NewReader(stdin)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v %s (.ci/setup tests installs it)", name, err, errs.String())
	}
	return out
}

// The file that is written has the size, resolution, profile and colours that were
// promised, read by the program itself and by independent readers: ImageMagick for
// size, resolution, profile and samples, the reference utility of Little CMS for what
// the samples look like on paper. The look is within ΔE00 0.5 of the
// proof's on average, and at every pixel of 16 bits.
func TestReadByOthers(t *testing.T) {
	src := named(t, scene(), "romm")
	for _, c := range []struct {
		paper, ext, raw string
		depth           int
		packing         photo.Packing
		worst, mean     float64 // ΔE00
	}{
		{"pearl", ".tif", "rgb:-", 16, photo.ZIP, 0.02, 0.005},
		{"cotton", ".tif", "rgb:-", 16, photo.LZW, 0.02, 0.005},
		{"pearl", ".png", "rgb:-", 16, photo.ZIP, 0.02, 0.005},
		// In the deepest shadows of this paper half a step of 8 bits alone is worth ΔE00
		// 0.6 (rounded instead of dithered: mean 0.093, largest 0.598).
		{"pearl", ".tif", "rgb:-", 8, photo.ZIP, 0.75, 0.2},
		{"pearl", ".png", "rgb:-", 8, photo.ZIP, 0.75, 0.2},
		// A JPEG loses at single pixels, at its usual quality too.
		{"cotton", ".jpg", "rgb:-", 8, photo.ZIP, 2.5, 0.3},
		{cache + "profiles/FOGRA39L_coated.icc", ".tif", "cmyk:-", 16, photo.ZIP, 0.02, 0.005},
		{cache + "profiles/ISOcoated_v2_300_bas.icc", ".tif", "cmyk:-", 8, photo.LZW, 0.5, 0.2},
	} {
		name := fmt.Sprintf("%s%s %d bits %v", filepath.Base(c.paper), c.ext, c.depth, c.packing)
		j := Usual(setup.Usual(c.paper))
		j.Size, j.PPI, j.Border, j.Depth, j.Packing = Size{LongEdge, 25.4}, 360, 1, c.depth, c.packing
		j.Sharpen.Finish = Gloss
		p := prepared(t, src, j)
		path := filepath.Join(t.TempDir(), "print"+c.ext)
		var done []float64
		if err := p.Write(t.Context(), path, nil, func(f float64) { done = append(done, f) }); err != nil {
			t.Fatal(err)
		}
		if len(done) == 0 || done[len(done)-1] != 1 {
			t.Errorf("%s: progress %v", name, done)
		}
		l := p.Layout()
		n := p.Plan().Paper.Channels()

		// What others say of the file.
		info := strings.Fields(string(tool(t, "", "identify", "-units", "PixelsPerInch", "-format", "%w %h %x %y %z %[channels]", path)))
		if info[0] != strconv.Itoa(l.FileW) || info[1] != strconv.Itoa(l.FileH) || info[4] != strconv.Itoa(c.depth) {
			t.Errorf("%s: identify says %v, want %d by %d pixels of %d bits", name, info, l.FileW, l.FileH, c.depth)
		}
		for _, v := range info[2:4] {
			if ppi, err := strconv.ParseFloat(v, 64); err != nil || math.Abs(ppi-360) > 0.01 {
				t.Errorf("%s: identify says %s ppi", name, v)
			}
		}
		icc := filepath.Join(t.TempDir(), "embedded.icc")
		tool(t, "", "convert", path, icc)
		if !bytes.Equal(fileData(t, icc), p.Plan().Paper.Data()) {
			t.Errorf("%s: the profile that ImageMagick takes out is another", name)
		}

		// Its samples, as others read them and as the program does.
		raw := tool(t, "", "convert", path, "-endian", "LSB", "-depth", "16", c.raw)
		if len(raw) != 2*n*l.FileW*l.FileH {
			t.Fatalf("%s: %d bytes of samples", name, len(raw))
		}
		again, err := photo.Open(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		if again.W != l.FileW || again.H != l.FileH || again.Channels != n || again.Depth != c.depth || !bytes.Equal(again.ICC, p.Plan().Paper.Data()) {
			t.Errorf("%s: read back as %d by %d of %d channels and %d bits", name, again.W, again.H, again.Channels, again.Depth)
		}
		var device [][]float64
		var numbers []float64
		full, engineLab := 255.0, preview(t, p)
		if n == 4 {
			full = 100
		}
		for y := 3; y < l.H; y += 9 {
			for x := 3; x < l.W; x += 9 {
				var d []float64
				for k := range n {
					at := ((y+l.Inset.Y)*l.FileW + x + l.Inset.X) * n
					v := float64(binary.LittleEndian.Uint16(raw[2*(at+k):])) / 65535
					// Decoders of JPEG may differ by a step.
					if w := again.At(x+l.Inset.X, y+l.Inset.Y)[k]; math.Abs(v-w) > 1.01/65535 && (c.ext != ".jpg" || math.Abs(v-w) > 2.01/255) {
						t.Fatalf("%s: sample %.5f, read back %.5f", name, v, w)
					}
					d = append(d, v*full)
				}
				device = append(device, d)
				numbers = engineLab.At(numbers, x, y)
			}
		}
		chain, err := engine(t).Chain(p.Plan())
		if err != nil {
			t.Fatal(err)
		}
		looks := transicc(t, device, "-i", icc, "-o", "*Lab", "-t1")
		worst, sum := 0.0, 0.0
		for i, v := range looks {
			proofed := chain.Value(numbers[3*i : 3*i+3]).Relative
			d := cie.DeltaE00(proofed, cie.Lab{L: v[0], A: v[1], B: v[2]})
			worst, sum = max(worst, d), sum+d
		}
		chain.Close()
		mean := sum / float64(len(looks))
		t.Logf("%s: against the proof ΔE00 mean %.3f, largest %.3f", name, mean, worst)
		if worst > c.worst || mean > c.mean {
			t.Errorf("%s: ΔE00 mean %.3f, largest %.3f, at most %g and %g", name, mean, worst, c.mean, c.worst)
		}
	}
}

// transicc runs the reference utility in floating point, one colour a line.
func transicc(t *testing.T, colours [][]float64, args ...string) [][]float64 {
	t.Helper()
	var in strings.Builder
	for _, c := range colours {
		for _, v := range c {
			in.WriteString(strconv.FormatFloat(v, 'f', 6, 64) + " ")
		}
		in.WriteByte('\n')
	}
	var out [][]float64
	for line := range strings.Lines(string(tool(t, in.String(), "transicc", append([]string{"-n", "-c0"}, args...)...))) {
		var row []float64
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	if len(out) != len(colours) {
		t.Fatalf("transicc answers %d lines for %d", len(out), len(colours))
	}
	return out
}

// Nothing is left but what was there: the original is never written to, folders that
// cannot be written to, a stop on the way.
func TestWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	pic := scene()
	pic.Path = filepath.Join(dir, "original.tif")
	if err := os.WriteFile(pic.Path, []byte("the original"), 0o600); err != nil {
		t.Fatal(err)
	}
	j := scaled("pearl", 900)
	p := prepared(t, named(t, pic, "romm"), j)
	only := func(what string) {
		t.Helper()
		entries, err := os.ReadDir(dir)
		if err != nil || len(entries) != 1 || string(fileData(t, pic.Path)) != "the original" {
			t.Errorf("%s: the folder holds %v, %v", what, entries, err)
		}
	}
	var no *photo.Error
	if err := p.Write(t.Context(), pic.Path, nil, nil); !errors.As(err, &no) || no.Kind != photo.NotWritable {
		t.Errorf("over the original: %v", err)
	}
	only("over the original")
	if err := p.Write(t.Context(), "/proc/print.tif", nil, nil); !errors.As(err, &no) || no.Kind != photo.NotWritable {
		t.Errorf("a folder that nobody can write to: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	if err := p.Write(ctx, filepath.Join(dir, "a.tif"), nil, func(float64) { cancel() }); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	only("stopped")
	for path, j := range map[string]Job{"a.jpg": {Depth: 16}, "a.bmp": {}} {
		j.Setup, j.Size, j.PPI = setup.Usual("pearl"), Size{By: OwnPixels}, 300
		if j.Depth == 0 {
			j.Depth = 8
		}
		if err := prepared(t, named(t, pic, "romm"), j).Write(t.Context(), filepath.Join(dir, path), nil, nil); err == nil {
			t.Errorf("%s is written", path)
		}
	}
	only("refused")
}

// A disk without room is told before work begins.
func TestRoom(t *testing.T) {
	free, known := freeSpace(t.TempDir())
	if !known || free <= 0 {
		t.Fatalf("free space %d, known %t", free, known)
	}
	r := photo.Rows{W: 1 << 20, H: int(free>>22) + 1024, Channels: 4, Depth: 8}
	var full *photo.Error
	if err := room(filepath.Join(t.TempDir(), "a.tif"), r); !errors.As(err, &full) || full.Kind != photo.DiskFull {
		t.Errorf("%v", err)
	}
	r.H = 1
	if err := room(filepath.Join(t.TempDir(), "a.tif"), r); err != nil {
		t.Error(err)
	}
}

// killVariable makes the test binary write a print and nothing else.
const killVariable = "FIRSTSHEET_TEST_PRINT"

// A process that is killed while it writes leaves no file under the name, and the next
// run makes it.
func TestKilled(t *testing.T) {
	if path := os.Getenv(killVariable); path != "" {
		p := prepared(t, named(t, scene(), "romm"), scaled("pearl", 3000))
		if err := p.Write(t.Context(), path, nil, func(float64) { fmt.Println("writing") }); err != nil {
			t.Fatal(err)
		}
		return
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "print.tif")
	cmd := exec.Command(os.Args[0], "-test.run", "^TestKilled$")
	cmd.Env = append(os.Environ(), killVariable+"="+path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.AfterFunc(2*time.Minute, func() { cmd.Process.Kill() })
	if _, err := out.Read(make([]byte, 100)); err != nil {
		t.Fatalf("it never began to write: %v", err)
	}
	cmd.Process.Kill()
	cmd.Wait()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) == 0 {
		t.Error("it was not writing when it was killed")
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") || !strings.HasSuffix(e.Name(), ".part") {
			t.Errorf("left behind: %s", e.Name())
		}
	}
}

func TestRouteAndWarnings(t *testing.T) {
	src := named(t, scene(), "romm")
	for _, c := range []struct {
		converts Converter
		driver   Driver
		titles   []string
		kind     Kind
		faulty   bool
	}{
		{Here, DriverOff, []string{"photo", "Firstsheet converts", "print file", "driver passes on", "ink on Pearl"}, 0, false},
		{Here, DriverUnknown, []string{"photo", "Firstsheet converts", "print file", "driver passes on", "ink on Pearl"}, DriverNotSaid, false},
		{Here, DriverConverts, []string{"photo", "Firstsheet converts", "print file", "the driver converts again", "ink on Pearl"}, TwoConversions, true},
		{Later, DriverOff, []string{"photo", "print file", "nobody converts", "ink on Pearl"}, NoConversion, true},
		{Later, DriverConverts, []string{"photo", "print file", "the next program or the driver converts", "ink on Pearl"}, 0, false},
		{Later, DriverUnknown, []string{"photo", "print file", "the next program or the driver converts", "ink on Pearl"}, DriverNotSaid, false},
	} {
		j := own("pearl")
		j.Converts, j.Driver = c.converts, c.driver
		p := prepared(t, src, j)
		var titles []string
		conversions := 0
		for _, s := range p.Route().Stations {
			titles = append(titles, s.Title)
			if strings.Contains(s.Title, "converts") && s.Title != "nobody converts" {
				conversions++
			}
		}
		if !slices.Equal(titles, c.titles) || p.Route().Faulty() != c.faulty || (conversions == 1) == c.faulty {
			t.Errorf("%v, %v: %q, faulty %t", c.converts, c.driver, titles, p.Route().Faulty())
		}
		if w := p.Warnings(); c.kind == 0 && len(w) > 0 || c.kind != 0 && (!has(w, c.kind) || w[0].Grave() != c.faulty) {
			t.Errorf("%v, %v: %v", c.converts, c.driver, w)
		}
	}
	j := own("pearl")
	j.Converts, j.Driver, j.Depth = Later, DriverConverts, 8
	if w := prepared(t, src, j).Warnings(); !has(w, WideIn8Bits) {
		t.Errorf("ROMM in 8 bits: %v", w)
	}
	if w := prepared(t, named(t, scene(), "adobe1998"), j).Warnings(); len(w) > 0 {
		t.Errorf("Adobe RGB (1998) in 8 bits: %v", w)
	}
	plain := scene()
	plain.Space = nil
	assumed, err := setup.SourceOf(plain, nil)
	if err != nil {
		t.Fatal(err)
	}
	if w := prepared(t, assumed, own("pearl")).Warnings(); !has(w, SourceAssumed) {
		t.Errorf("untagged: %v", w)
	}
}
