package press

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.5f, want %.5f ± %g", what, got, want, tolerance)
	}
}

// The D50 white by published chromaticity (CIE 15: x 0.3457, y 0.3585) and as
// ASTM E308 gives it (96.422, 100, 82.521), before anything is scaled.
func TestPerfectDiffuserIsD50(t *testing.T) {
	sum := diffuser.X + diffuser.Y + diffuser.Z
	near(t, "x of the perfect diffuser", diffuser.X/sum, 0.3457, 5e-5)
	near(t, "y of the perfect diffuser", diffuser.Y/sum, 0.3585, 5e-5)
	near(t, "X of the perfect diffuser", diffuser.X, 0.96422, 1e-4)
	near(t, "Z of the perfect diffuser", diffuser.Z, 0.82521, 2e-4)
	var one Spectrum
	one.flat(1)
	if c := one.Lab(); cie.DeltaE76(c, cie.Lab{L: 100}) > 1e-9 {
		t.Errorf("a reflectance of 1 is %v, want 100, 0, 0", c)
	}
	var grey Spectrum
	grey.flat(0.184187)
	if c := grey.Lab(); cie.DeltaE76(c, cie.Lab{L: 50}) > 1e-3 { // Y of L* 50
		t.Errorf("a reflectance of 0.184 is %v, want 50, 0, 0", c)
	}
}

// The published weights come from another interpolation; theirs and ours differ
// by no more than 0.02 of a luminance of 100. The end bands hold what lies beyond.
func TestWeightsAgreeWithThePublishedOnes(t *testing.T) {
	f, err := os.Open("../../testdata/tables/weights_d50_2deg.csv")
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
	for i, row := range rows[1:] {
		x, errX := strconv.ParseFloat(row[1], 64)
		y, errY := strconv.ParseFloat(row[2], 64)
		if errX != nil || errY != nil || row[0] != strconv.Itoa(FirstBand+BandStep*i) {
			t.Fatalf("row %v", row)
		}
		near(t, "X weight at "+row[0], 100*weights[i].X, x, 0.02)
		near(t, "Y weight at "+row[0], 100*weights[i].Y, y, 0.02)
	}
}

// With n = 1, no gain and one ink the model is that of Murray and Davies: the
// reflectance is the mean of paper and solid, weighted by coverage. With two inks
// it is Neugebauer's, with Demichel's four areas.
func TestHalftoneAgainstWrittenOutFormulas(t *testing.T) {
	stock := Stocks()[0]
	stock.N, stock.Gain = 1, 0
	p := newPrimaries(stock, stock.Right)
	solid := func(inks ...int) Spectrum {
		var a [Inks]float64
		for _, n := range inks {
			a[n] = 1
		}
		return p.Reflectance(a)
	}
	paper, c, m, cm := solid(), solid(Cyan), solid(Magenta), solid(Cyan, Magenta)
	var one, two [Inks]float64
	one[Cyan] = 0.3
	two[Cyan], two[Magenta] = 0.3, 0.6
	gotOne, gotTwo := p.Reflectance(one), p.Reflectance(two)
	for i := range paper {
		near(t, "Murray-Davies", gotOne[i], 0.7*paper[i]+0.3*c[i], 1e-12)
		near(t, "Neugebauer", gotTwo[i], 0.28*paper[i]+0.12*c[i]+0.42*m[i]+0.18*cm[i], 1e-12)
	}
	// Yule and Nielsen with n = 2: the square of the mean of square roots.
	stock.N = 2
	p = newPrimaries(stock, stock.Right)
	got := p.Reflectance(one)
	for i := range paper {
		want := 0.7*math.Sqrt(paper[i]) + 0.3*math.Sqrt(c[i])
		near(t, "Yule-Nielsen", got[i], want*want, 1e-12)
	}
}

// The paper's own reflectance comes back from the way through the surface and
// out again, when no brightener is in.
func TestBareSheetMeasuresWhatItIsGiven(t *testing.T) {
	for _, s := range Stocks() {
		s.Brightener = 0
		got := newPrimaries(s, s.Right).Reflectance([Inks]float64{})
		for i, want := range s.paper() {
			near(t, s.ID, got[i], want, 1e-12)
		}
	}
}

// Ranges of facts the trade agrees on: matte black L* 14 to 18 and pearl or gloss
// 3 to 6 (common practice; densities 1.6 and 2.2 to 2.4 are published for the two
// kinds), white L* 93 to 98, b* -3 to -12 with brightener and 0 to +5 without.
func TestWhitesAndBlacksAreThoseOfSuchPaper(t *testing.T) {
	for _, s := range Stocks() {
		p := New(s, s.Right)
		white, black := p.White(), p.Forward([]float64{0, 0, 0})
		if white.L < 93 || white.L > 98 {
			t.Errorf("%s: white %v", s.ID, white)
		}
		if s.Brightener > 0 && (white.B > -3 || white.B < -12) || s.Brightener == 0 && (white.B < 0 || white.B > 5) {
			t.Errorf("%s: white %v with brightener %g", s.ID, white, s.Brightener)
		}
		low, high := 3.0, 6.0
		if s.Finish == Matte {
			low, high = 14, 18.05
		}
		if black.L < low || black.L > high || black.Chroma() > 1.5 {
			t.Errorf("%s: black %v, want L* %g to %g", s.ID, black, low, high)
		}
	}
}

// The solids lie where pigment inks do: between published coated offset (FOGRA39:
// cyan 55 -37 -50, hue 233; magenta 48 74 -3, hue 358; blue L* 24) and purer dyes.
// That pigment inkjets print blue at L* 20 to 30, C* 60 to 75 is from memory.
func TestSolidsAreThoseOfPigments(t *testing.T) {
	for _, s := range Stocks() {
		p := New(s, s.Right)
		at := func(r, g, b float64) cie.LCh {
			return relativeTo(p.White(), p.Forward([]float64{r, g, b})).LCh()
		}
		c, m, y, blue := at(0, 1, 1), at(1, 0, 1), at(1, 1, 0), at(0, 0, 1)
		if c.H < 218 || c.H > 236 || m.H < 340 || m.H > 358 || y.H < 88 || y.H > 98 {
			t.Errorf("%s: cyan %.0f, magenta %.0f, yellow %.0f", s.ID, c, m, y)
		}
		if s.Finish != Matte && (blue.L < 19.5 || blue.L > 30 || blue.C < 60 || blue.C > 75) || blue.H < 285 || blue.H > 303 {
			t.Errorf("%s: blue %.0f", s.ID, blue)
		}
	}
}

// What a smooth coating is bought for: deep reds are no narrower than on matte stock.
func TestDarkRedsAreWidestOnGlossyStock(t *testing.T) {
	widest := func(id string) (most [4]float64) {
		s, _ := StockByID(id)
		p := New(s, s.Right)
		white := p.White()
		for r := 0.0; r <= 1; r += 1.0 / 24 {
			for g := 0.0; g <= min(r, 0.4); g += 1.0 / 24 {
				for b := 0.0; b <= min(r, 0.4); b += 1.0 / 24 {
					c := relativeTo(white, p.Forward([]float64{r, g, b})).LCh()
					if n := int((c.L - 20) / 6); c.L >= 20 && n < len(most) && c.H > 20 && c.H < 42 {
						most[n] = max(most[n], c.C)
					}
				}
			}
		}
		return most
	}
	cotton, washi := widest("cotton"), widest("washi")
	for _, id := range []string{"pearl", "gloss"} {
		got := widest(id)
		t.Logf("C* of dark reds from L* 20 on in steps of 6: %s %.0f, cotton %.0f, washi %.0f", id, got, cotton, washi)
		for n := range got {
			if got[n] < max(cotton[n], washi[n]) {
				t.Errorf("%s: C* %.0f from L* %d on, matte stock has %.0f", id, got[n], 20+6*n, max(cotton[n], washi[n]))
			}
		}
	}
}

func TestBrightenerActsOnlyThroughBareSheet(t *testing.T) {
	s, _ := StockByID("gloss")
	with := newPrimaries(s, s.Right)
	s.Brightener = 0
	without := newPrimaries(s, s.Right)
	var yellow [Inks]float64
	if d := without.White().B - with.White().B; d < 5 {
		t.Errorf("the brightener moves the white's b* by %.1f, want more than 5", d)
	}
	yellow[Yellow] = 1
	if d := cie.DeltaE76(with.Reflectance(yellow).Lab(), without.Reflectance(yellow).Lab()); d > 2 {
		t.Errorf("under solid yellow, which takes the ultraviolet, the brightener still makes %.1f", d)
	}
}

// The right setting is calibrated: neutral greys, even steps of L*.
func TestGreyRampIsNeutralAndEven(t *testing.T) {
	for _, s := range Stocks() {
		p := New(s, s.Right)
		white := p.White()
		end := relativeTo(white, p.Forward([]float64{0, 0, 0})).L
		before := 200.0
		for i := 0; i <= 255; i++ {
			v := float64(i) / 255
			c := relativeTo(white, p.Forward([]float64{1 - v, 1 - v, 1 - v}))
			if c.Chroma() > 0.5 {
				t.Errorf("%s: signal %.3f gives %v", s.ID, v, c)
			}
			near(t, s.ID+": L*", c.L, 100+(end-100)*v, 0.7)
			if c.L >= before {
				t.Errorf("%s: L* does not fall at signal %.3f", s.ID, v)
			}
			before = c.L
		}
	}
}

func TestSeparationKeepsToItsLimits(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	for _, s := range Stocks() {
		d := NewDriver(s.Right)
		if a := d.Separate(1, 1, 1); a != ([Inks]float64{}) {
			t.Errorf("%s: white gets ink %v", s.ID, a)
		}
		for i := range 3000 {
			rgb := [3]float64{r.Float64(), r.Float64(), r.Float64()}
			if i%3 == 0 { // the corners matter most
				for k := range rgb {
					rgb[k] = math.Round(rgb[k])
				}
			}
			total := 0.0
			for n, v := range d.Separate(rgb[0], rgb[1], rgb[2]) {
				if !(v >= 0 && v <= 1) {
					t.Fatalf("%s: %v gives %s %g", s.ID, rgb, InkNames()[n], v)
				}
				total += v
			}
			if total > d.Limit+1e-9 {
				t.Errorf("%s: %v lays down %.3f, limit %.2f", s.ID, rgb, total, d.Limit)
			}
		}
	}
}

// Light inks do the highlights alone, full inks the solids.
func TestLightInksComeFirst(t *testing.T) {
	d := NewDriver(pearlSetting())
	highlight := d.Separate(0.9, 1, 1)
	if highlight[LightCyan] < 5*highlight[Cyan] {
		t.Errorf("a pale cyan gets %.3f light and %.3f full", highlight[LightCyan], highlight[Cyan])
	}
	if solid := d.Separate(0, 1, 1); solid[Cyan] < 0.95 {
		t.Errorf("solid cyan gets %.3f full", solid[Cyan])
	}
}

// The wrong black: matte black lies grey on gloss, photo black sinks into matte;
// each makes a paler black than the right one. Too much ink blocks the shadows.
func TestWrongSettingsDoWhatTheyDoOnPaper(t *testing.T) {
	at := func(stock string, setting Setting, v float64) cie.Lab {
		s, _ := StockByID(stock)
		return New(s, setting).Forward([]float64{v, v, v})
	}
	if right, wrong := at("gloss", glossSetting(), 0).L, at("gloss", matteSetting(), 0).L; wrong < right+10 {
		t.Errorf("gloss: black L* %.1f with matte black, %.1f with photo black", wrong, right)
	}
	if right, wrong := at("cotton", matteSetting(), 0).L, at("cotton", pearlSetting(), 0).L; wrong < right+1 {
		t.Errorf("cotton: black L* %.1f with photo black, %.1f with matte black", wrong, right)
	}
	right := at("washi", thinMatteSetting(), 0.1).L - at("washi", thinMatteSetting(), 0).L
	wrong := at("washi", pearlSetting(), 0.1).L - at("washi", pearlSetting(), 0).L
	if wrong > right/3 {
		t.Errorf("washi: the last tenth spans %.1f L* with too much ink, %.1f with the right amount", wrong, right)
	}
}

// Which way colours go when ROMM numbers lose their meaning. The bounds are those
// of the complaint that print-makers have (reds orange, leaves yellow, skin
// sallow); the model is not fitted to them, see the package's comment. Hue turns
// counter-clockwise: red to orange and skin to yellow are positive, leaf to yellow
// negative.
func TestLostROMMNumbersTurnRedsOrange(t *testing.T) {
	romm, _ := space.ByID("romm")
	for _, c := range []struct {
		name      string
		colour    cie.Lab
		low, high float64
	}{
		{"shirt", cie.Lab{L: 44, A: 64, B: 42}, 6, 20},
		{"leaf", cie.Lab{L: 46, A: -28, B: 34}, -14, -3},
		{"light skin", cie.Lab{L: 70, A: 16, B: 18}, 8, 22},
		{"mid skin", cie.Lab{L: 58, A: 18, B: 21}, 8, 22},
		{"dark skin", cie.Lab{L: 38, A: 14, B: 15}, 8, 22},
	} {
		v := romm.FromLab(c.colour)
		check := func(what string, got cie.Lab) {
			turn := cie.HueTurn(c.colour.Hue(), got.Hue())
			if turn < c.low || turn > c.high || got.Chroma() >= c.colour.Chroma() {
				t.Errorf("%s, %s: turns %+.1f to chroma %.1f from %.1f, want a turn of %g to %g and less chroma",
					c.name, what, turn, got.Chroma(), c.colour.Chroma(), c.low, c.high)
			}
		}
		check("read as sRGB", space.SRGB().ToLab(v[0], v[1], v[2]))
		for _, s := range Stocks() {
			p := New(s, s.Right)
			check("raw on "+s.ID, relativeTo(p.White(), p.Forward(v[:])))
		}
	}
}

func TestStocksAndSettingsAreNamedOnce(t *testing.T) {
	ids := map[string]bool{}
	for _, s := range Stocks() {
		if ids[s.ID] || s.ID == "" || s.Name == "" || s.Notes == "" || s.Right.Home != s.ID || len(s.Wrong) == 0 {
			t.Errorf("stock %+v", s)
		}
		ids[s.ID] = true
		for _, w := range s.Wrong {
			if w.Home == s.ID || w.Name == "" {
				t.Errorf("%s: wrong setting %q belongs to %q", s.ID, w.Name, w.Home)
			}
		}
	}
}

func BenchmarkForward(b *testing.B) {
	p := New(Stocks()[1], Stocks()[1].Right)
	for b.Loop() {
		p.Forward([]float64{0.3, 0.5, 0.7})
	}
}
