package chart

import (
	"bytes"
	"context"
	"encoding/binary"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func newTarget(t testing.TB, opts TargetOptions) *Target {
	t.Helper()
	tg, err := NewTarget(context.Background(), opts)
	if err != nil {
		t.Fatal(err)
	}
	return tg
}

func TestTargetHasWhatItPromises(t *testing.T) {
	for _, n := range []int{MinPatches, 400, 1000} {
		tg := newTarget(t, TargetOptions{Patches: n})
		if len(tg.Patches) != n {
			t.Fatalf("%d patches, want %d", len(tg.Patches), n)
		}
		count := map[[3]uint8]int{}
		locs := map[string]bool{}
		greys := 0
		for _, p := range tg.Patches {
			count[p.RGB]++
			locs[p.Loc] = true
			if p.RGB[0] == p.RGB[1] && p.RGB[1] == p.RGB[2] {
				greys++
			}
		}
		for i := range 8 {
			if c := (rgb8{uint8(i&1) * 255, uint8(i>>1&1) * 255, uint8(i>>2&1) * 255}); count[c] == 0 {
				t.Errorf("%d patches: corner %v is missing", n, c)
			}
		}
		white, black := count[rgb8{255, 255, 255}], count[rgb8{}]
		if white < 2 || black < 2 {
			t.Errorf("%d patches: paper %d times and black %d times, want each repeated", n, white, black)
		}
		// Only paper and black are repeated.
		if extra := n - len(count); extra != white+black-2 {
			t.Errorf("%d patches: %d repeated, want only the %d of paper and black", n, extra, white+black-2)
		}
		if len(locs) != n || greys < 9 {
			t.Errorf("%d patches: %d locations, %d greys", n, len(locs), greys)
		}
	}
}

// The widest hole of the design, as seen from random colours, must be well
// below that of as many random patches.
func TestTargetIsSpreadOut(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	hole := func(ps [][]float64) float64 {
		widest := 0.0
		q := rand.New(rand.NewPCG(5, 5))
		for range 3000 {
			x := []float64{q.Float64(), q.Float64(), q.Float64()}
			near := math.Inf(1)
			for _, p := range ps {
				near = math.Min(near, square(p, x))
			}
			widest = math.Max(widest, math.Sqrt(near))
		}
		return widest
	}
	var design, chance [][]float64
	for _, p := range newTarget(t, TargetOptions{Patches: 800}).List().Patches {
		design = append(design, p.Device)
		chance = append(chance, []float64{r.Float64(), r.Float64(), r.Float64()})
	}
	if a, b := hole(design), hole(chance); a > 0.8*b {
		t.Errorf("widest hole %.3f, of random patches %.3f: want at most 0.8 of it", a, b)
	}
}

func TestTargetIsTheSameEachTime(t *testing.T) {
	a, b := newTarget(t, TargetOptions{Patches: 300}), newTarget(t, TargetOptions{Patches: 300})
	if !reflect.DeepEqual(a, b) {
		t.Error("two targets of the same options differ")
	}
}

func TestTargetNeighboursCanBeTold(t *testing.T) {
	tg := newTarget(t, TargetOptions{Patches: 600})
	alike := 0
	for i, p := range tg.Patches[1:] {
		q := tg.Patches[i]
		if p.Row == q.Row && p.Page == q.Page && square(
			[]float64{float64(p.RGB[0]), float64(p.RGB[1]), float64(p.RGB[2])},
			[]float64{float64(q.RGB[0]), float64(q.RGB[1]), float64(q.RGB[2])}) < 40*40 {
			alike++
		}
	}
	if alike > 2 {
		t.Errorf("%d of %d neighbours are nearly alike, want at most 2", alike, len(tg.Patches))
	}
}

func TestVerifyTargetCoversHueAndTone(t *testing.T) {
	for n := MinVerify; n <= MaxVerify; n++ {
		tg, err := NewVerifyTarget(TargetOptions{Patches: n})
		if err != nil {
			t.Fatal(err)
		}
		seen := map[rgb8]bool{}
		for _, p := range tg.Patches {
			seen[p.RGB] = true
		}
		// Six hues full, light and dark, and five greys at least.
		for _, c := range []rgb8{{255, 255, 255}, {}, {128, 128, 128}, {255, 0, 0}, {255, 255, 0}, {0, 255, 0}, {0, 255, 255}, {0, 0, 255}, {255, 0, 255}} {
			if !seen[c] {
				t.Errorf("%d patches: %v is missing", n, c)
			}
		}
		if len(tg.Patches) != n || len(seen) < n-2 || tg.Layout.Pages != 1 {
			t.Errorf("%d patches: %d, %d different, %d pages", n, len(tg.Patches), len(seen), tg.Layout.Pages)
		}
	}
}

func TestTargetOptionsAreChecked(t *testing.T) {
	for _, o := range []TargetOptions{
		{Patches: 10}, {Patches: 99999}, {Page: "a7"}, {PPI: 10}, {PPI: math.NaN()}, {Margin: 90}, {Size: 1},
		{Name: "two\nlines"}, {Name: strings.Repeat("x", 100)},
	} {
		if _, err := NewTarget(context.Background(), o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
	if _, err := NewVerifyTarget(TargetOptions{Patches: 61}); err == nil {
		t.Error("61 patches to verify were taken")
	}
}

// What is written is what must reach the printer: each patch's pixels carry its
// numbers, nothing in the file speaks of colour, and its size is right.
func TestWrittenPagesCarryTheNumbersRaw(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "folder")
	tg := newTarget(t, TargetOptions{Name: "pearl / May", Patches: 700, PPI: 100})
	files, err := tg.Write(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(files.Pages) != 2 || filepath.Base(files.Pages[0]) != "pearl-May-page-1.png" {
		t.Fatalf("pages %v", files.Pages)
	}
	for page, name := range files.Pages {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		chunks := pngChunks(t, data)
		for _, c := range []string{"iCCP", "sRGB", "gAMA", "cHRM", "cICP"} {
			if chunks[c] != nil {
				t.Errorf("%s has a %s chunk", name, c)
			}
		}
		if h := chunks["IHDR"]; h[8] != 8 || h[9] != 2 { // depth, colour type RGB
			t.Errorf("%s: depth %d, colour type %d, want 8 and 2", name, h[8], h[9])
		}
		// 100 ppi are 3937 pixels a metre (PNG, 11.3.4.3); A4 is 827 by 1169.
		if p := chunks["pHYs"]; p == nil || binary.BigEndian.Uint32(p) != 3937 || p[8] != 1 {
			t.Errorf("%s: resolution chunk %v", name, p)
		}
		img, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if b := img.Bounds(); b.Dx() != 827 || b.Dy() != 1169 {
			t.Errorf("%s is %v, want 827 x 1169", name, b)
		}
		for _, p := range tg.Patches {
			if p.Page != page {
				continue
			}
			cell := tg.Layout.Cell(p.Row, p.Col)
			if !cell.In(img.Bounds()) {
				t.Fatalf("%s lies at %v, off the page", p.Loc, cell)
			}
			for _, at := range [][2]int{{cell.Min.X, cell.Min.Y}, {cell.Max.X - 1, cell.Max.Y - 1}} {
				r, g, b, _ := img.At(at[0], at[1]).RGBA()
				if got := (rgb8{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}); got != p.RGB {
					t.Fatalf("%s at %v is %v, want %v", p.Loc, at, got, p.RGB)
				}
			}
		}
	}
	f, err := os.Open(files.List)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := ReadList(f, ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if want := tg.List().Patches; len(list.Patches) != len(want) || list.Patches[699].Loc != want[699].Loc || !reflect.DeepEqual(list.Patches[5].Device, want[5].Device) {
		t.Error("the list does not read back as the target")
	}
	if help, err := os.ReadFile(files.Help); err != nil || !strings.Contains(string(help), "colour handling OFF") {
		t.Errorf("the help file lacks the caution: %v", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".writing-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

func pngChunks(t *testing.T, data []byte) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for at := 8; at+8 <= len(data); {
		n := int(binary.BigEndian.Uint32(data[at:]))
		out[string(data[at+4:at+8])] = data[at+8 : at+8+n]
		at += 12 + n
	}
	return out
}

// The header's text must be there, and not run over the patches.
func TestSheetHasItsWords(t *testing.T) {
	tg := newTarget(t, TargetOptions{Patches: 100, PPI: 100, Page: "letter", Margin: 30})
	img, err := tg.Draw(0)
	if err != nil {
		t.Fatal(err)
	}
	dark := func(x0, y0, x1, y1 int) int {
		n := 0
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				if img.RGBAAt(x, y).G < 100 {
					n++
				}
			}
		}
		return n
	}
	l := tg.Layout
	if n := dark(0, 0, l.W, l.Top-l.px(columnBand)); n < 500 {
		t.Errorf("%d dark pixels in the header, want text", n)
	}
	if n := dark(l.W-l.px(4), 0, l.W, l.H); n > 0 {
		t.Errorf("%d dark pixels in the outermost 4 mm: text is cut off", n)
	}
	if n := dark(l.Left-l.px(6), l.Top-l.px(6), l.Left-l.px(2), l.Top-l.px(2)); n < 20 {
		t.Errorf("%d dark pixels at the first corner mark", n)
	}
}

func TestWriteIntoAFileFails(t *testing.T) {
	file := filepath.Join(t.TempDir(), "taken")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := newTarget(t, TargetOptions{Patches: 100, PPI: 72}).Write(context.Background(), file); err == nil {
		t.Error("a chart was written into a file")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := newTarget(t, TargetOptions{Patches: 100, PPI: 72}).Write(ctx, t.TempDir()); err != context.Canceled {
		t.Errorf("%v, want context.Canceled", err)
	}
}
