package teststrip_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/teststrip"
)

// ramp is a picture that has every number somewhere, at 16 bits.
func ramp(w, h int) raster.Pixels {
	p := raster.New(w, h, 3, true)
	for y := range h {
		for x := range w {
			i := 3 * (y*w + x)
			p.P16[i], p.P16[i+1], p.P16[i+2] = uint16(65535*x/w), uint16(65535*y/h), uint16(65535*((x+y)%w)/w)
		}
	}
	return p
}

// wish is the ramp in ROMM RGB on the demo pearl.
func wish(t *testing.T, mistakes ...string) teststrip.Wish {
	t.Helper()
	right := setup.Usual("pearl")
	right.Source = "romm"
	find := setup.Files{Library: paper.Open(t.TempDir())}
	var papers []string
	for _, p := range paper.All() {
		papers = append(papers, p.ID)
	}
	c, err := setup.AtHand(right, find, papers, []string{"srgb"})
	if err != nil {
		t.Fatal(err)
	}
	w := teststrip.Wish{Right: right, Find: find, Choices: c, Intents: both, AsItShouldBe: true}
	for _, id := range mistakes {
		s, ok := slip.ByID(id)
		if !ok {
			t.Fatalf("no slip %q", id)
		}
		w.Mistakes = append(w.Mistakes, s)
	}
	return w
}

func ways(t *testing.T, w teststrip.Wish) []teststrip.Way {
	t.Helper()
	ways, _, err := w.Ways()
	if err != nil {
		t.Fatal(err)
	}
	return ways
}

func stock(t *testing.T, w teststrip.Wish) paper.Paper {
	t.Helper()
	p, err := w.Find.Paper(w.Right.Paper)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func order(t *testing.T, w teststrip.Wish) teststrip.Order {
	t.Helper()
	return teststrip.Order{Numbers: ramp(400, 300), Paper: stock(t, w).Profile, Ways: ways(t, w), Width: 8, Height: 6,
		Pins:  []pin.Pin{{Name: "shirt", X: 0.7, Y: 0.3}, {Name: "edge", X: 0, Y: 1}},
		Sheet: teststrip.Sheet{Width: 120, Height: 60, PPI: 150, Border: 3}}
}

var both = []proof.Intent{proof.RelativeColorimetric, proof.Perceptual}

func TestWays(t *testing.T) {
	w := wish(t)
	w.Mistakes = slip.All()
	ways, left, err := w.Ways()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, w := range ways {
		names = append(names, w.Name())
	}
	// 'Never' once; wrong setting and bright screen are not of the numbers. The demo
	// profiles are of version 2, so compensation can be left out with both intents.
	want := "relative|relative, wrong source space|relative, compensation left out|relative, converted twice|relative, another paper's profile|never converted|" +
		"perceptual|perceptual, wrong source space|perceptual, compensation left out|perceptual, converted twice|perceptual, another paper's profile"
	if got := strings.Join(names, "|"); got != want {
		t.Errorf("ways\n%s\nwant\n%s", got, want)
	}
	said := strings.Join(left, " ")
	for _, s := range []string{"never converted", "wrong media setting", "screen too bright"} {
		if !strings.Contains(said, s) {
			t.Errorf("nothing is said of %q: %s", s, said)
		}
	}
	w.Intents = nil
	if ways, _, _ := w.Ways(); len(ways) != 0 {
		t.Errorf("%d ways without an intent", len(ways))
	}
	w = wish(t)
	w.Right.Paper = "nosuch"
	if _, _, err := w.Ways(); err == nil {
		t.Error("a strip of no paper")
	}
}

// A slip that nobody has heard of is on the strip, or is left out, by what it says of
// itself; where it can be made in several ways the first that works is taken.
func TestAMadeUpSlip(t *testing.T) {
	w := wish(t)
	w.Mistakes = []slip.Slip{
		{ID: "one", Name: "folded", WholeSheet: true},
		{ID: "two", Name: "glanced at", OnScreen: true},
		{ID: "three", Name: "sideways"},
	}
	_, left, err := w.Ways()
	if err != nil || len(left) != 3 {
		t.Fatalf("left %q, %v", left, err)
	}
	for i, want := range []string{"‘folded’ is made by the driver", "‘glanced at’ is no matter", "‘sideways’: no slip is called"} {
		if !strings.HasPrefix(left[i], want) {
			t.Errorf("%q, want %q…", left[i], want)
		}
	}
	w = wish(t, "otherpaper", "wrongsource")
	w.AsItShouldBe, w.Intents = false, both[:1]
	w.Choices.Papers = []string{"pearl", "nosuch", "washi", "cotton"}
	w.Choices.Spaces = nil
	ways, left, err := w.Ways()
	if err != nil || len(ways) != 1 || ways[0].Setup.Other != "washi" || !strings.Contains(ways[0].Detail, "ashi") {
		t.Errorf("another paper's profile: %+v, %v", ways, err)
	}
	if len(left) != 1 || !strings.Contains(left[0], "must be given") {
		t.Errorf("without a space: %q", left)
	}
}

func TestPiecesStayInThePicture(t *testing.T) {
	o := order(t, wish(t))
	for _, p := range o.Pieces() {
		// 8 by 6 mm at 150 ppi: 47 by 35 pixels.
		if p.From.Dx() != 47 || p.From.Dy() != 35 || p.From.Min.X < 0 || p.From.Max.X > 400 || p.From.Max.Y > 300 || p.From.Min.Y < 0 {
			t.Errorf("%s: %v", p.Pin, p.From)
		}
	}
	o.Width, o.Height = 500, 500
	if p := o.Pieces()[0]; p.From.Dx() != 400 || p.From.Dy() != 300 {
		t.Errorf("a piece larger than the picture: %v", p.From)
	}
}

// All pieces of a pin lie in one row where the offcut is wide enough.
func TestPinsKeepTogether(t *testing.T) {
	o := order(t, wish(t, "twice"))
	o.Ways = o.Ways[:3]
	o.Sheet.Width = 75 // (75 - 11 + 5) / (8 + 5): five in a row, three of them a pin's
	l, pieces, err := o.Lay()
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range pieces {
		if k := i - i%3; l.Cells[i].Tile.Min.Y != l.Cells[k].Tile.Min.Y {
			t.Errorf("piece %d of %s lies in another row", i, p.Pin)
		}
	}
	if l.Cells[3].Tile.Min.Y == l.Cells[0].Tile.Min.Y {
		t.Error("both pins in one row")
	}
	if want := 443; l.W != want { // 75 mm at 150 ppi
		t.Errorf("the sheet is %d pixels wide, want %d", l.W, want)
	}
	// Where that takes too much height, the pieces close up.
	o.Sheet.Height = 54
	o.Pins = append(o.Pins, o.Pins...)[:3]
	if _, _, err := o.Lay(); err != nil {
		t.Errorf("two rows of five hold nine pieces: %v", err)
	}
}

func TestWhatFitsIsSaid(t *testing.T) {
	o := order(t, wish(t, "twice", "never"))
	if _, _, err := o.Lay(); err != nil {
		t.Fatal(err)
	}
	o.Sheet.Height = 34
	_, _, err := o.Lay()
	var size *teststrip.SizeError
	if !errors.As(err, &size) {
		t.Fatalf("a low offcut: %v", err)
	}
	said := o.Explain(err)
	if !strings.Contains(said, "pieces fit") || !strings.Contains(said, "mm high") {
		t.Errorf("said %q", said)
	}
	// What is proposed does fit.
	o.Sheet.Height, o.Width, o.Height = 60, 40, 40
	_, _, err = o.Lay()
	if said = o.Explain(err); !strings.Contains(said, "would all fit") {
		t.Fatalf("said %q of %v", said, err)
	}
	i := strings.Index(said, "Pieces of ")
	var w, h float64
	if _, err := fmt.Sscanf(said[i:], "Pieces of %g by %g mm", &w, &h); err != nil {
		t.Fatal(err)
	}
	o.Width, o.Height = w, h
	if _, _, err := o.Lay(); err != nil {
		t.Errorf("%g by %g mm were proposed: %v", w, h, err)
	}
	o.Sheet.Width = 10
	_, _, err = o.Lay()
	if said := o.Explain(err); !strings.Contains(said, "mm wide") {
		t.Errorf("a narrow offcut: %q", said)
	}
	o = order(t, wish(t))
	o.Ways = nil
	if _, _, err := o.Lay(); !errors.Is(err, teststrip.ErrEmpty) {
		t.Errorf("nothing ordered: %v", err)
	}
}

// The file's numbers are the exact chain's at the middle of every piece, and bare
// paper between them; the text names every piece.
func TestWrittenNumbersAreTheChains(t *testing.T) {
	w := wish(t, "twice", "never", "otherpaper")
	o, pearl := order(t, w), stock(t, w)
	o.Sheet.Height = 90
	e := proof.NewEngine()
	defer e.Close()
	for _, c := range []struct {
		name string
		bare bool
	}{{"strip.tif", false}, {"strip.png", true}} {
		path := filepath.Join(t.TempDir(), c.name)
		if err := o.Write(context.Background(), e, path, teststrip.Options{Bare: c.bare, Card: pearl.Card}, nil); err != nil {
			t.Fatal(err)
		}
		pic, err := photo.Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		if (pic.ICC == nil) != c.bare || !c.bare && !bytes.Equal(pic.ICC, pearl.Profile.Data()) {
			t.Errorf("%s: a profile of %d bytes", c.name, len(pic.ICC))
		}
		l, pieces, err := o.Lay()
		if err != nil {
			t.Fatal(err)
		}
		if pic.W != l.W || pic.H != l.H || pic.Depth != 16 {
			t.Fatalf("%s: %d by %d at %d bits", c.name, pic.W, pic.H, pic.Depth)
		}
		for i, p := range pieces {
			chain, err := e.Chain(p.Way.Plan)
			if err != nil {
				t.Fatal(err)
			}
			dx, dy := p.From.Dx()/2, p.From.Dy()/2
			want := chain.Value(o.Numbers.At(nil, p.From.Min.X+dx, p.From.Min.Y+dy)).Device
			chain.Close()
			got := pic.At(l.Cells[i].Tile.Min.X+dx, l.Cells[i].Tile.Min.Y+dy)
			for k := range want {
				if math.Abs(got[k]-want[k]) > 0.5001/65535 { // 16 bits, rounded
					t.Errorf("%s piece %d (%s %s): %v, want %v", c.name, i, p.Pin, p.Way.Name(), got, want)
				}
			}
		}
		for _, v := range pic.At(1, 1) {
			if v != 1 {
				t.Errorf("%s: bare paper is %v", c.name, v)
			}
		}
		text, err := os.ReadFile(teststrip.TextFile(path))
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range []string{"conversion off", "shirt: relative, converted twice", pearl.Card.Media, "one too many"} {
			if !strings.Contains(string(text), s) {
				t.Errorf("the text lacks %q:\n%s", s, text)
			}
		}
		if n := strings.Count(string(text), " > "); n < len(pieces) {
			t.Errorf("%d steps of routes for %d pieces", n, len(pieces))
		}
	}
}

func TestStoppedStripLeavesNothing(t *testing.T) {
	o := order(t, wish(t))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := t.TempDir()
	e := proof.NewEngine()
	defer e.Close()
	if err := o.Write(ctx, e, filepath.Join(dir, "s.tif"), teststrip.Options{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	var no *photo.Error
	if err := o.Write(context.Background(), e, filepath.Join(dir, "s.bmp"), teststrip.Options{}, nil); !errors.As(err, &no) {
		t.Errorf("an ending that can't be written: %v", err)
	}
	if list, _ := os.ReadDir(dir); len(list) != 0 {
		t.Errorf("left behind: %v", list)
	}
}

// A press takes ink: bare paper is no ink, labels are of black alone.
func TestStripForInk(t *testing.T) {
	w := wish(t)
	w.Right.Paper = "../../testdata/cache/profiles/FOGRA39L_coated.icc" // testdata/fetch.sh brings it
	o := order(t, w)
	e := proof.NewEngine()
	defer e.Close()
	img, err := o.Make(context.Background(), e, nil)
	if err != nil {
		t.Fatal(err)
	}
	l, _, _ := o.Lay()
	at := func(x, y int) []uint16 { return img.Pix[(y*img.W+x)*4 : (y*img.W+x)*4+4] }
	for _, v := range at(0, 0) {
		if v != 0 {
			t.Errorf("bare paper is %v", at(0, 0))
		}
	}
	mark := l.Marks[0].Min
	if got := at(mark.X, mark.Y); got[0] != 0 || got[3] != 65535 {
		t.Errorf("a cut mark is %v", got)
	}
}
