package printfile

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"firstsheet/proof/setup"
)

func fileData(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	return data
}

func job(change func(*Job)) Job {
	j := Usual(setup.Usual("pearl"))
	change(&j)
	return j
}

func TestParseLength(t *testing.T) {
	for text, want := range map[string]float64{"400mm": 400, "40cm": 400, "15.75in": 400.05, " 12 in ": 304.8, "400": 400, "1.2m": 1200, `8.5"`: 215.9} {
		if got, err := ParseLength(text); err != nil || math.Abs(got-want) > 1e-9 {
			t.Errorf("%q = %g, %v, want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "mm", "-3mm", "0", "NaN", "Inf", "3ft", "1e9m"} {
		if got, err := ParseLength(text); err == nil {
			t.Errorf("%q = %g", text, got)
		}
	}
}

// Sizes of sheets, and of full sheets in pixels.
//
// ISO 216 for A and B; A3+ as the trade sells it (common practice, no source). Pixels
// are millimetres / 25.4 * ppi, rounded.
func TestSheets(t *testing.T) {
	for _, c := range []struct {
		name    string
		w, h    float64
		ppi     float64
		pw, ph  int
		landing string
	}{
		{"A4", 210, 297, 300, 2480, 3508, ""}, {"A4", 210, 297, 360, 2976, 4209, ""}, {"A3", 297, 420, 300, 3508, 4961, ""},
		{"a3+", 329, 483, 300, 3886, 5705, ""}, {"A3+", 329, 483, 360, 4663, 6846, ""}, {"A2", 420, 594, 360, 5953, 8419, ""},
		{"A0", 841, 1189, 100, 3311, 4681, ""}, {"A6", 105, 148, 300, 1240, 1748, ""},
		{"B1", 707, 1000, 100, 2783, 3937, ""}, {"B4", 250, 353, 300, 2953, 4169, ""},
		{"Letter", 215.9, 279.4, 300, 2550, 3300, ""}, {"13x19in", 330.2, 482.6, 300, 3900, 5700, ""},
		{"300x400mm", 300, 400, 300, 3543, 4724, ""}, {"12x16in", 304.8, 406.4, 300, 3600, 4800, ""},
	} {
		s, err := ParseSheet(c.name)
		if err != nil || math.Abs(s.W-c.w) > 1e-9 || math.Abs(s.H-c.h) > 1e-9 {
			t.Errorf("%s is %g by %g, %v", c.name, s.W, s.H, err)
			continue
		}
		l, err := Lay(job(func(j *Job) { j.Sheet, j.PPI, j.Size.By = s, c.ppi, FillSheet }), 3000, 4000)
		if err != nil || l.W != c.pw || l.H != c.ph {
			t.Errorf("%s at %g: %d by %d pixels, %v, want %d by %d", c.name, c.ppi, l.W, l.H, err, c.pw, c.ph)
		}
	}
	if s, err := ParseSheet("roll 610mm"); err != nil || !s.Roll() || s.W != 610 {
		t.Errorf("roll: %+v, %v", s, err)
	}
	for _, text := range []string{"", "A9", "300", "300x", "x400", "roll", "300x400ft"} {
		if s, err := ParseSheet(text); err == nil {
			t.Errorf("%q is %+v", text, s)
		}
	}
}

func near(a, b float64) bool { return math.Abs(a-b) < 0.01 }

func rectIs(r Rect, x, y, w, h float64) bool {
	return near(r.X, x) && near(r.Y, y) && near(r.W, w) && near(r.H, h)
}

// Where prints lie, worked out by hand.
func TestLay(t *testing.T) {
	a3, _ := ParseSheet("A3")
	roll, _ := ParseSheet("roll 610mm")
	for name, c := range map[string]struct {
		j           Job
		w, h        int
		sheet, file Rect
		pw, ph      int
		across      bool
	}{
		// 3:2 across A3 with 20 mm: inside 380 by 257; 380 wide is 253.33 high.
		"fit": {job(func(j *Job) { j.Sheet, j.Sheet.Margins = a3, Even(20) }), 6000, 4000, Rect{0, 0, 420, 297}, Rect{20, 21.833, 380, 253.333}, 4488, 2992, true},
		// The same picture on a sheet that stays upright: 257 wide.
		"fit, upright": {job(func(j *Job) { j.Sheet, j.Sheet.Margins, j.Sheet.Feed = a3, Even(20), FeedUpright }), 6000, 4000, Rect{0, 0, 297, 420}, Rect{20, 124.333, 257, 171.333}, 3035, 2024, false},
		"fill":         {job(func(j *Job) { j.Sheet, j.Size.By = a3, FillSheet }), 4000, 6000, Rect{0, 0, 297, 420}, Rect{0, 0, 297, 420}, 3508, 4961, false},
		// 300 by 200 and a border of 10: 320 by 220, in the middle, moved.
		"long edge, border": {job(func(j *Job) {
			j.Sheet, j.Size, j.Border, j.ShiftX, j.ShiftY = a3, Size{LongEdge, 300}, 10, 5, -3
		}), 6000, 4000, Rect{0, 0, 420, 297}, Rect{55, 35.5, 320, 220}, 3543, 2362, true},
		"short edge, no sheet": {job(func(j *Job) { j.Size = Size{ShortEdge, 254}; j.PPI = 360 }), 3000, 2000, Rect{0, 0, 381, 254}, Rect{0, 0, 381, 254}, 5400, 3600, false},
		"own pixels":           {job(func(j *Job) { j.Size.By, j.PPI = OwnPixels, 254 }), 3000, 2000, Rect{0, 0, 300, 200}, Rect{0, 0, 300, 200}, 3000, 2000, false},
		"own pixels by length": {job(func(j *Job) { j.Size, j.PPI = Size{LongEdge, 300}, 0 }), 3000, 2000, Rect{0, 0, 300, 200}, Rect{0, 0, 300, 200}, 3000, 2000, false},
		"turned":               {job(func(j *Job) { j.Size, j.Turn = Size{LongEdge, 300}, 1 }), 3000, 2000, Rect{0, 0, 200, 300}, Rect{0, 0, 200, 300}, 2362, 3543, false},
		// A roll of 610 with 5 mm left and right: 600 wide, 400 high, cut at 5 above and below.
		"roll, fit": {job(func(j *Job) { j.Sheet, j.Sheet.Margins = roll, Even(5) }), 6000, 4000, Rect{0, 0, 610, 410}, Rect{5, 5, 600, 400}, 7087, 4724, false},
		// An upright picture of 300 by 450 lies across to save roll.
		"roll, saving": {job(func(j *Job) { j.Sheet, j.Size = roll, Size{LongEdge, 450} }), 4000, 6000, Rect{0, 0, 300, 610}, Rect{0, 80, 300, 450}, 3543, 5315, true},
		// One of 700 by 467 is too wide unless it is turned.
		"roll, wide": {job(func(j *Job) { j.Sheet, j.Size = roll, Size{LongEdge, 750} }), 6000, 4000, Rect{0, 0, 750, 610}, Rect{0, 55, 750, 500}, 8858, 5906, true},
		"crop":       {job(func(j *Job) { j.Size, j.Crop = Size{LongEdge, 254}, Crop{0.5, 0, 0.5, 1} }), 4000, 1000, Rect{0, 0, 254, 127}, Rect{0, 0, 254, 127}, 3000, 1500, false},
	} {
		l, err := Lay(c.j, c.w, c.h)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		s, f := c.sheet, c.file
		if !rectIs(l.Sheet, s.X, s.Y, s.W, s.H) || !rectIs(l.File, f.X, f.Y, f.W, f.H) || l.W != c.pw || l.H != c.ph || l.Across != c.across {
			t.Errorf("%s: sheet %.2f, file %.2f, %d by %d pixels, across %t, want %v", name, l.Sheet, l.File, l.W, l.H, l.Across, c)
		}
		// A crop is off its shape by less than half a pixel in 4,000.
		if math.Abs(l.Picture.W/l.Picture.H/(float64(l.Crop.Dx())/float64(l.Crop.Dy()))-1) > 1.3e-4 {
			t.Errorf("%s: the picture's shape has changed", name)
		}
	}
	if l, _ := Lay(job(func(j *Job) { j.Size, j.Border = Size{LongEdge, 254}, 25.4 }), 3000, 2000); l.FileW != 3600 || l.FileH != 2600 || l.Inset.X != 300 {
		t.Errorf("border: file %d by %d pixels, picture at %v", l.FileW, l.FileH, l.Inset)
	}
}

// Resolution and distance. One minute of arc is 0.0873 mm at 300 mm: 291 ppi.
func TestResolutionTold(t *testing.T) {
	if v := PPIFor(300); math.Abs(v-291.06) > 0.01 {
		t.Errorf("300 mm need %.2f ppi", v)
	}
	for _, c := range []struct {
		long     float64 // mm, of 3000 pixels
		distance float64
		kind     Kind
	}{{254, 0, 0}, {317, 0, 0}, {318, 0, Coarse}, {423, 0, Coarse}, {424, 0, TooCoarse}, {1000, 0, TooCoarse}, {1000, 1500, 0}, {1000, 1000, TooCoarse}} {
		l, err := Lay(job(func(j *Job) { j.Size, j.Distance = Size{LongEdge, c.long}, c.distance }), 3000, 2000)
		if err != nil {
			t.Fatal(err)
		}
		if c.kind == 0 && len(l.Warnings) > 0 || c.kind != 0 && !has(l.Warnings, c.kind) {
			t.Errorf("%g mm at %g: %v", c.long, c.distance, l.Warnings)
		}
		if want := 3000 / c.long * 25.4; !near(l.TruePPI, want) || l.PPI != 300 {
			t.Errorf("%g mm: true %.2f, file %.2f ppi", c.long, l.TruePPI, l.PPI)
		}
		if !near(PPIFor(l.Suits), l.TruePPI) {
			t.Errorf("suits %.0f mm", l.Suits)
		}
	}
}

func TestLayWarns(t *testing.T) {
	a4, _ := ParseSheet("A4")
	l, err := Lay(job(func(j *Job) { j.Sheet, j.Size = a4, Size{LongEdge, 300} }), 6000, 4000)
	if err != nil || !has(l.Warnings, Outside) {
		t.Errorf("300 mm on A4: %v, %v", l.Warnings, err)
	}
	l, err = Lay(job(func(j *Job) { j.Sheet, j.Size.By = a4, FillSheet }), 6000, 2000)
	if err != nil || !has(l.Warnings, Cropped) || l.Crop.Dy() != 2000 {
		t.Errorf("a panorama that fills A4: %v, crop %v, %v", l.Warnings, l.Crop, err)
	}
}

func TestJobRefused(t *testing.T) {
	a4, _ := ParseSheet("A4")
	roll, _ := ParseSheet("roll 24in")
	for name, change := range map[string]func(*Job){
		"no size":         func(j *Job) {},
		"no paper":        func(j *Job) { j.Sheet, j.Setup.Paper = a4, "" },
		"a mistake":       func(j *Job) { j.Sheet, j.Setup.Slips = a4, "twice" },
		"ppi":             func(j *Job) { j.Sheet, j.PPI = a4, 3000 },
		"NaN":             func(j *Job) { j.Sheet, j.PPI = a4, math.NaN() },
		"filled roll":     func(j *Job) { j.Sheet, j.Size.By = roll, FillSheet },
		"own, no ppi":     func(j *Job) { j.Size.By, j.PPI = OwnPixels, 0 },
		"all margin":      func(j *Job) { j.Sheet, j.Sheet.Margins = a4, Even(110) },
		"too many pixels": func(j *Job) { j.Size, j.PPI = Size{LongEdge, 50000}, 1440 },
		"crop":            func(j *Job) { j.Sheet, j.Crop = a4, Crop{0.5, 0.5, 0.6, 0.5} },
		"turns":           func(j *Job) { j.Sheet, j.Turn = a4, 4 },
		"bits":            func(j *Job) { j.Sheet, j.Depth = a4, 12 },
		"strength":        func(j *Job) { j.Sheet, j.Sharpen.More = a4, 9 },
	} {
		if _, err := Lay(job(change), 3000, 2000); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

// A job is the same after it was stored, and words name its choices.
func TestJobStored(t *testing.T) {
	a3, _ := ParseSheet("A3+")
	j := job(func(j *Job) {
		j.Sheet, j.Sheet.Margins, j.Converts, j.Driver, j.Size = a3, Even(12), Later, DriverConverts, Size{ShortEdge, 210}
		j.Sharpen.Finish, j.Crop, j.Packing, j.Metadata, j.Sheet.Feed = Matte, Crop{0.1, 0, 0.5, 1}, 1, 2, FeedAcross
	})
	data, err := json.Marshal(j)
	if err != nil {
		t.Fatal(err)
	}
	var back Job
	if err := json.Unmarshal(data, &back); err != nil || back != j {
		t.Errorf("%v\n%+v\n%+v\n%s", err, back, j, data)
	}
	if err := json.Unmarshal([]byte(`{"converts":"sometimes"}`), &back); err == nil {
		t.Error("an unknown word is taken")
	}
}
