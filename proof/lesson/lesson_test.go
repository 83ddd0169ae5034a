package lesson_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/handout"
	"firstsheet/proof/lesson"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// demo is the regatta on the demo pearl, opened once.
var demo = sync.OnceValues(func() (lesson.Material, error) {
	pic, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		return lesson.Material{}, err
	}
	source, err := proof.NewProfile("", pic.ICC)
	if err != nil {
		return lesson.Material{}, err
	}
	m := lesson.Material{Picture: "regatta", Numbers: raster.Pixels{W: pic.W, H: pic.H, Channels: 3, P8: pic.Pix8, P16: pic.Pix16},
		Right: setup.Usual("pearl"), Find: setup.Files{Library: paper.Open("no folder"), Picture: source}, Spaces: []string{"srgb"}}
	m.Right.White = proof.PaperWhite
	for _, p := range paper.All() {
		m.Papers = append(m.Papers, p.ID)
	}
	list, err := assets.RegattaPins()
	if err != nil {
		return m, err
	}
	for _, p := range list {
		m.Pins = append(m.Pins, pin.Pin{Name: p.Name, X: p.X, Y: p.Y, Radius: p.Radius})
	}
	return m, nil
})

func material(t *testing.T) lesson.Material {
	t.Helper()
	m, err := demo()
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// one engine serves all tests: it keeps the fine grids, which take a second each.
var one = sync.OnceValue(proof.NewEngine)

func engine(*testing.T) *proof.Engine { return one() }

func made(t *testing.T, m lesson.Material) *lesson.Lesson {
	t.Helper()
	l, err := lesson.New(context.Background(), engine(t), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestDemoLesson(t *testing.T) {
	m := material(t)
	l := made(t, m)
	var kinds []lesson.Kind
	for _, s := range l.Steps {
		kinds = append(kinds, s.Kind)
		if s.Title == "" || s.Place == "" || len(s.Lead) == 0 {
			t.Errorf("step %q says nothing: %+v", s.Title, s.Lead)
		}
		t.Logf("%d %s | %s\n   %s", s.Kind, s.Place, s.Title, strings.Join(s.Lead, "\n   "))
		for _, r := range s.Rows[:min(len(s.Rows), 3)] {
			t.Logf("     %s: %s %s", r.Pin, r.Figures, r.Change.Sentence())
		}
	}
	// Five stations, all seven mistakes (the demo pearl has an ink model), the table.
	want := []lesson.Kind{0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, lesson.Summary}
	if len(kinds) != len(want) {
		t.Fatalf("kinds %v, want %v", kinds, want)
	}
	for i := range want {
		if kinds[i] != want[i] {
			t.Fatalf("kinds %v, want %v", kinds, want)
		}
	}
	last := math.Inf(1)
	for _, s := range l.Mistakes() {
		if !s.Route.Faulty() || s.Reason == "" || s.Recognise == "" || s.Prevent == "" {
			t.Errorf("%s: faulty %t, reason %q", s.ID, s.Route.Faulty(), s.Reason)
		}
		if turn := math.Abs(s.Rows[0].Change.Turn); turn > last+0.5 {
			t.Errorf("%s turns the shirt %.1f, more than the one before it (%.1f)", s.ID, turn, last)
		} else {
			last = turn
		}
	}
	if l.Plan.Route().Faulty() {
		t.Error("the right way is faulty")
	}
}

// The pins' figures are those of the engine's chain, run here pixel by pixel and
// averaged in the light.
func TestNumbersAreTheChains(t *testing.T) {
	m := material(t)
	m.Pins = m.Pins[:2]
	l := made(t, m)
	e := engine(t)
	average := func(p proof.Plan, q pin.Pin) (relative cie.Lab, device []float64) {
		c, err := e.Chain(p)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		var sum cie.XYZ
		pts := q.Pixels(m.Numbers.W, m.Numbers.H)
		device = make([]float64, 3)
		for _, at := range pts {
			v := c.Value(m.Numbers.At(nil, at.X, at.Y))
			x := v.Relative.ToXYZ(cie.D50)
			sum.X, sum.Y, sum.Z = sum.X+x.X, sum.Y+x.Y, sum.Z+x.Z
			for k := range device {
				device[k] += v.Device[k] / float64(len(pts))
			}
		}
		return sum.Scale(1 / float64(len(pts))).ToLab(cie.D50), device
	}
	for _, s := range l.Mistakes() {
		for i, r := range s.Rows {
			right, _ := average(l.Plan, m.Pins[i])
			wrong, device := average(s.Plan, m.Pins[i])
			if cie.DeltaE76(right, r.Right.Relative) > 1e-6 || cie.DeltaE76(wrong, r.Wrong.Relative) > 1e-6 {
				t.Errorf("%s %s: %v and %v, want %v and %v", s.ID, r.Pin, r.Right.Relative, r.Wrong.Relative, right, wrong)
			}
			for k := range device {
				if math.Abs(device[k]-r.Wrong.Device[k]) > 1e-9 {
					t.Errorf("%s %s: device %v, want %v", s.ID, r.Pin, r.Wrong.Device, device)
				}
			}
			if s.ID != "brightscreen" {
				if got, want := r.Change.DeltaE00, cie.DeltaE00(right, wrong); math.Abs(got-want) > 1e-6 {
					t.Errorf("%s %s: ΔE00 %.4f, want %.4f", s.ID, r.Pin, got, want)
				}
			}
		}
	}
}

// A perfectly white sheet at 0.63 of its luminance is L* 83.4: 116 times the cube
// root of 0.63, less 16 (CIE 15).
func TestBrightScreenDarkens(t *testing.T) {
	m := material(t)
	m.Right.Dim = 0.63
	l := made(t, m)
	for _, s := range l.Mistakes() {
		if s.ID != "brightscreen" {
			continue
		}
		for _, r := range s.Rows {
			y := r.Right.Relative.ToXYZ(cie.D50).Y * 0.63
			want := 116*math.Cbrt(y) - 16
			if y > 0.01 && math.Abs(r.Wrong.Seen.L-want) > 1e-6 {
				t.Errorf("%s is seen at L* %.3f, want %.3f", r.Pin, r.Wrong.Seen.L, want)
			}
			if r.Pin == "sail" && r.Change.Lightness < words.Clear {
				t.Errorf("the sail is not told to be darker: %q", r.Change.Sentence())
			}
		}
		return
	}
	t.Error("no such mistake")
}

// In a room whose screen is not too bright the usual one shows what one that is does.
func TestTheUsualRoomTeaches(t *testing.T) {
	m := material(t)
	m.Pins = m.Pins[:1]
	for _, c := range [][2]float64{{0.4, 0.4}, {0, slip.UsualDim}, {1, slip.UsualDim}, {1.2, slip.UsualDim}} {
		m.Right.Dim = c[0]
		for _, s := range made(t, m).Mistakes() {
			if want := map[bool]float64{true: c[1], false: 1}[s.ID == "brightscreen"]; s.Dim != want {
				t.Errorf("with %g %s is seen at %g, want %g", c[0], s.ID, s.Dim, want)
			}
		}
	}
}

// press is a real press profile.
const press = "../../testdata/cache/profiles/FOGRA39L_coated.icc"

func TestWhatCannotBeSaysWhy(t *testing.T) {
	m := material(t)
	m.Right.Paper, m.Right.BPC = press, false
	l := made(t, m)
	var told string
	for _, s := range l.Steps {
		if s.Kind == lesson.Cannot {
			told = strings.Join(s.Lead, "\n")
		}
	}
	// A press has no RGB numbers to send as they are, no second conversion from
	// sRGB, no ink model; no other CMYK paper is at hand; compensation is off.
	for _, want := range []string{"Never converted:", "Converted twice:", "Wrong media setting:", "Another paper's profile:", "Compensation left out:"} {
		i := strings.Index(told, want)
		if i < 0 || len(strings.SplitN(told[i:], "\n", 2)[0]) < len(want)+20 {
			t.Errorf("%q is not explained in:\n%s", want, told)
		}
	}
	if n := len(l.Mistakes()); n != len(slip.All())-5 {
		t.Errorf("%d mistakes can be made", n)
	}
	found := false
	for _, s := range l.Steps {
		if s.Kind == lesson.Station && s.Route.Stations[s.At].Kind == proof.NumbersStation {
			found = strings.Count(s.Rows[0].Figures, "%") == 4
		}
	}
	if !found {
		t.Error("ink is not told in percent")
	}
}

func TestPlainNumbersAndWords(t *testing.T) {
	rgb := proof.SpaceProfile(space.SRGB())
	if got := lesson.Numbers([]float64{0, 0.5, 1}, rgb); got != "0, 128, 255" {
		t.Errorf("numbers %q", got)
	}
	red, orange := cie.LCh{L: 45, C: 60, H: 30}.Lab(), cie.LCh{L: 45, C: 60, H: 44}.Lab()
	if got := lesson.Cell(words.Compare(red, orange)); got != "+14° orange" {
		t.Errorf("cell %q", got)
	}
	if got := lesson.Cell(words.Compare(red, red)); got != "–" {
		t.Errorf("cell of no change %q", got)
	}
	if got := lesson.Cell(words.Compare(cie.Lab{L: 60}, cie.Lab{L: 40})); got != "darker" {
		t.Errorf("cell of a grey that darkens %q", got)
	}
}

// The headline of every mistake is one sentence of its own, whose reason is the slip's.
func TestHeadlinesAreSentences(t *testing.T) {
	m := material(t)
	m.Pins = m.Pins[:1]
	reasons := map[string]string{
		"wrongsource":  "Firstsheet took ROMM RGB numbers for sRGB numbers",
		"compensation": "black point compensation is left out",
		"twice":        "Firstsheet converted to the numbers of Pearl, then the driver took those for sRGB numbers and converted again",
		"never":        "nobody converted: ROMM RGB numbers were sent as if they were the numbers of Pearl",
		"brightscreen": "beside this screen the print has 63 % of the luminance it should have",
		"otherpaper":   "the numbers were made for ",
		"wrongsetting": "the driver lays ink down for ",
	}
	for _, s := range made(t, m).Mistakes() {
		r := s.Rows[0]
		want := "This shirt " + r.Change.Sentence() + ", because " + s.Reason + "."
		switch {
		case r.Change.Same():
			want = "This shirt does not show it: " + s.Reason + "."
		case !strings.HasPrefix(r.Change.Sentence(), "turns "):
			want = "This shirt is " + r.Change.Sentence() + ", because " + s.Reason + "."
		}
		if s.Lead[0] != want || !strings.HasPrefix(s.Reason, reasons[s.ID]) {
			t.Errorf("%s: %q, want %q, its reason %q…", s.ID, s.Lead[0], want, reasons[s.ID])
		}
	}
}

// Every slip that there is has a step of its own or a sentence that says why not.
func TestEverySlipIsTold(t *testing.T) {
	m := material(t)
	m.Pins, m.Papers, m.Spaces = m.Pins[:1], nil, nil
	l := made(t, m)
	told := map[string]bool{}
	for _, s := range l.Mistakes() {
		told[s.ID] = true
	}
	for _, s := range slip.All() {
		missing := s.NeedsPaper || s.NeedsReads
		if told[s.ID] == missing {
			t.Errorf("%s is a step: %t", s.ID, told[s.ID])
		}
		for _, step := range l.Steps {
			if step.Kind == lesson.Cannot && missing != strings.Contains(strings.Join(step.Lead, "\n"), words.Capital(s.Name)+": ") {
				t.Errorf("%s: %q", s.ID, step.Lead)
			}
		}
	}
}

func TestTheChosenPinComesFirst(t *testing.T) {
	m := material(t)
	m.Pins, m.Lead = m.Pins[:3], 1
	l := made(t, m)
	if got := strings.Join(l.Pins, " "); got != "leaf shirt reeds" {
		t.Errorf("pins %q", got)
	}
	if got := strings.Join([]string{m.Pins[0].Name, m.Pins[1].Name}, " "); got != "shirt leaf" {
		t.Errorf("the caller's pins are now %q", got)
	}
	for _, s := range l.Mistakes() {
		if s.Rows[0].Pin != "leaf" || !strings.Contains(s.Lead[0], "leaf") {
			t.Errorf("%s speaks of %q: %s", s.ID, s.Rows[0].Pin, s.Lead[0])
		}
	}
}

// sRGB under another name is no other space: the mistake takes the next one.
func TestAnotherNameIsNoOtherSpace(t *testing.T) {
	m := material(t)
	m.Pins = m.Pins[:1]
	same, err := proof.NewProfile("a screen's", space.SRGB().ICC())
	if err != nil {
		t.Fatal(err)
	}
	adobe, _ := space.ByID("adobe1998")
	m.Find = setup.Files{Library: paper.Open("no folder"), Picture: same}
	m.Spaces = []string{"srgb", "adobe1998"}
	for _, s := range made(t, m).Mistakes() {
		if s.ID == "wrongsource" && !strings.Contains(s.Chosen, adobe.Name) {
			t.Errorf("taken for: %q", s.Chosen)
		}
	}
}

func TestNothingToTeach(t *testing.T) {
	m := material(t)
	m.Pins = nil
	if _, err := lesson.New(context.Background(), engine(t), m, nil); !errors.Is(err, lesson.ErrNoPins) {
		t.Errorf("no pins: %v", err)
	}
	m = material(t)
	m.Right.Paper = ""
	var no *proof.PlanError
	if _, err := lesson.New(context.Background(), engine(t), m, nil); !errors.As(err, &no) {
		t.Errorf("no paper: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := lesson.New(ctx, engine(t), material(t), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// short leaves two mistakes of a lesson: a fine grid takes half a second each.
func short(l *lesson.Lesson) {
	n := 0
	var steps []lesson.Step
	for _, s := range l.Steps {
		if s.Kind == lesson.Mistake {
			if n++; n > 2 {
				continue
			}
		}
		steps = append(steps, s)
	}
	l.Steps = steps
}

// little is the demo picture at a tenth, so that pages are made quickly.
func little(t *testing.T, m *lesson.Material) []raster.Pixels {
	t.Helper()
	px, err := raster.Fit(context.Background(), raster.Levels(m.Numbers), 240, 240)
	if err != nil {
		t.Fatal(err)
	}
	m.Numbers = px
	return raster.Levels(px)
}

func TestHandout(t *testing.T) {
	m := material(t)
	levels := little(t, &m)
	e := engine(t)
	l, err := lesson.New(context.Background(), e, m, nil)
	if err != nil {
		t.Fatal(err)
	}
	if os.Getenv("FIRSTSHEET_SEE") == "" {
		short(l)
	}
	path := filepath.Join(t.TempDir(), "lesson.pdf")
	var last float64
	if err := lesson.WriteHandout(context.Background(), e, l, levels, handout.Letter, path, nil, func(d float64) { last = d }); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil || !bytes.HasPrefix(data, []byte("%PDF")) {
		t.Fatalf("%v, begins with %q", err, data[:min(8, len(data))])
	}
	if n := len(regexp.MustCompile(`/Type /Page\b[^s]`).FindAll(data, -1)); n != len(l.Mistakes()) {
		t.Errorf("%d pages for %d mistakes", n, len(l.Mistakes()))
	}
	if last == 0 {
		t.Error("no progress was told")
	}
	if dir := os.Getenv("FIRSTSHEET_SEE"); dir != "" {
		_ = os.WriteFile(filepath.Join(dir, "lesson.pdf"), data, 0o644)
	}
}

func TestPairsCarryTheScreensProfile(t *testing.T) {
	m := material(t)
	levels := little(t, &m)
	e := engine(t)
	l, err := lesson.New(context.Background(), e, m, nil)
	if err != nil {
		t.Fatal(err)
	}
	short(l)
	stem := filepath.Join(t.TempDir(), "regatta")
	files, err := lesson.WritePairs(context.Background(), e, l, levels, stem, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != len(l.Mistakes()) {
		t.Fatalf("%d files", len(files))
	}
	pic, err := photo.Open(context.Background(), files[0])
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(pic.ICC, l.Plan.Screen.Data()) {
		t.Error("the screen's profile is not embedded")
	}
	pair, err := lesson.Pairs(context.Background(), e, l, l.Mistakes()[0], levels, 1900)
	if err != nil {
		t.Fatal(err)
	}
	w, gap := pair.Right.Rect.Dx(), max(pair.Right.Rect.Dx()/40, 8)
	x, y := w/3, pair.Right.Rect.Dy()/2
	for k := range 3 {
		if got, want := pic.Pix8[((gap+y)*pic.W+gap+x)*3+k], pair.Right.Pix[pair.Right.PixOffset(x, y)+k]; got != want {
			t.Errorf("right half channel %d: %d, want %d", k, got, want)
		}
		if got, want := pic.Pix8[((gap+y)*pic.W+2*gap+w+x)*3+k], pair.Wrong.Pix[pair.Wrong.PixOffset(x, y)+k]; got != want {
			t.Errorf("wrong half channel %d: %d, want %d", k, got, want)
		}
	}
}
