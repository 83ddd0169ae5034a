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
	"firstsheet/proof/lesson"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
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

func material(t *testing.T) lesson.Material {
	t.Helper()
	romm, _ := space.ByID("romm")
	m := lesson.Material{Numbers: ramp(400, 300), Others: paper.All(), Spaces: []*proof.Profile{proof.SpaceProfile(space.SRGB())}}
	for _, p := range paper.All() {
		if p.ID == "pearl" {
			m.Paper = p
		}
	}
	src := proof.SpaceProfile(romm)
	m.Right = proof.Plan{Source: src, Paper: m.Paper.Profile, Screen: proof.SpaceProfile(space.SRGB()),
		Conversions: []proof.Conversion{{From: src, To: m.Paper.Profile, Intent: proof.RelativeColorimetric, BPC: true, By: "Firstsheet"}}}
	return m
}

func order(m lesson.Material, ways []teststrip.Way) teststrip.Order {
	return teststrip.Order{Numbers: m.Numbers, Paper: m.Right.Paper, Ways: ways, Width: 8, Height: 6,
		Pins:  []pin.Pin{{Name: "shirt", X: 0.7, Y: 0.3}, {Name: "edge", X: 0, Y: 1}},
		Sheet: teststrip.Sheet{Width: 120, Height: 60, PPI: 150, Border: 3}}
}

var both = []proof.Intent{proof.RelativeColorimetric, proof.Perceptual}

func all() []string {
	var ids []string
	for _, s := range slip.All() {
		ids = append(ids, s.ID)
	}
	return ids
}

func TestWays(t *testing.T) {
	ways, left := teststrip.Ways(material(t), both, true, all())
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
	if ways, _ := teststrip.Ways(material(t), nil, true, all()); len(ways) != 0 {
		t.Errorf("%d ways without an intent", len(ways))
	}
}

func TestPiecesStayInThePicture(t *testing.T) {
	m := material(t)
	ways, _ := teststrip.Ways(m, both, true, nil)
	o := order(m, ways)
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
	m := material(t)
	ways, _ := teststrip.Ways(m, both, true, []string{"twice"})
	o := order(m, ways[:3])
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
	m := material(t)
	ways, _ := teststrip.Ways(m, both, true, []string{"twice", "never"})
	o := order(m, ways)
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
	if _, _, err := order(m, nil).Lay(); !errors.Is(err, teststrip.ErrEmpty) {
		t.Errorf("nothing ordered: %v", err)
	}
}

// The file's numbers are the exact chain's at the middle of every piece, and bare
// paper between them; the text names every piece.
func TestWrittenNumbersAreTheChains(t *testing.T) {
	m := material(t)
	ways, _ := teststrip.Ways(m, both, true, []string{"twice", "never", "otherpaper"})
	o := order(m, ways)
	o.Sheet.Height = 90
	e := proof.NewEngine()
	defer e.Close()
	for _, c := range []struct {
		name string
		bare bool
	}{{"strip.tif", false}, {"strip.png", true}} {
		path := filepath.Join(t.TempDir(), c.name)
		if err := o.Write(context.Background(), e, path, teststrip.Options{Bare: c.bare, Card: m.Paper.Card}, nil); err != nil {
			t.Fatal(err)
		}
		pic, err := photo.Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		if (pic.ICC == nil) != c.bare || !c.bare && !bytes.Equal(pic.ICC, m.Paper.Profile.Data()) {
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
			want := chain.Value(m.Numbers.At(nil, p.From.Min.X+dx, p.From.Min.Y+dy)).Device
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
		for _, s := range []string{"conversion off", "shirt: relative, converted twice", m.Paper.Card.Media, "one too many"} {
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
	m := material(t)
	ways, _ := teststrip.Ways(m, both, true, nil)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := t.TempDir()
	e := proof.NewEngine()
	defer e.Close()
	if err := order(m, ways).Write(ctx, e, filepath.Join(dir, "s.tif"), teststrip.Options{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	var no *photo.Error
	if err := order(m, ways).Write(context.Background(), e, filepath.Join(dir, "s.bmp"), teststrip.Options{}, nil); !errors.As(err, &no) {
		t.Errorf("an ending that can't be written: %v", err)
	}
	if list, _ := os.ReadDir(dir); len(list) != 0 {
		t.Errorf("left behind: %v", list)
	}
}

// A press takes ink: bare paper is no ink, labels are of black alone.
func TestStripForInk(t *testing.T) {
	data, err := os.ReadFile("../../testdata/cache/profiles/FOGRA39L_coated.icc")
	if err != nil {
		t.Fatalf("%v (testdata/fetch.sh brings it)", err)
	}
	p, err := proof.NewProfile("offset", data)
	if err != nil {
		t.Fatal(err)
	}
	m := material(t)
	m.Right.Paper = p
	m.Right.Conversions[0].To = p
	m.Paper = paper.Paper{Name: "offset", Profile: p}
	ways, _ := teststrip.Ways(m, both, true, nil)
	e := proof.NewEngine()
	defer e.Close()
	o := order(m, ways)
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
