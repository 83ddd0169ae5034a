package ticket

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// made makes the ticket of a small printed picture.
func made(t *testing.T) (Ticket, string) {
	t.Helper()
	dir := t.TempDir()
	path := filepath.Join(dir, "boats.png")
	p := &photo.Picture{W: 90, H: 60, Channels: 3, Depth: 8, Pix8: make([]uint8, 90*60*3), ICC: space.SRGB().ICC()}
	for i := range 90 * 60 {
		copy(p.Pix8[3*i:], []uint8{uint8(200 - i%90), 40, uint8(30 + i/90)})
	}
	if err := photo.Write(t.Context(), path, p, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	pic, err := photo.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	source, err := setup.SourceOf(pic, nil)
	if err != nil {
		t.Fatal(err)
	}
	e := proof.NewEngine()
	t.Cleanup(e.Close)
	j := printfile.Usual(setup.Usual("cotton"))
	j.Size = printfile.Size{By: printfile.LongEdge, Length: 40}
	print, err := printfile.Prepare(t.Context(), e, setup.Files{Library: paper.Open(t.TempDir()), Picture: source.Profile}, source, j)
	if err != nil {
		t.Fatal(err)
	}
	defer print.Close()
	file := filepath.Join(dir, "print.tif")
	if err := print.Write(t.Context(), file, nil, nil); err != nil {
		t.Fatal(err)
	}
	hash, err := Hash(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	pins := []pin.Pin{{Name: "hull", X: 0.2, Y: 0.3, Radius: 0.02}, {Name: "Shade", X: 0.9, Y: 0.9}}
	ticket, err := New(t.Context(), e, print, file, hash, pins, time.Date(2031, 5, 4, 10, 20, 30, 99, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return ticket, path
}

// The ticket says what was done, and comes back from its file as it was.
func TestTicket(t *testing.T) {
	k, _ := made(t)
	if k.Picture.Name != "boats.png" || len(k.Picture.SHA256) != 64 || k.Picture.W != 90 || k.Paper.Name != "Cotton Matte" || len(k.Paper.ProfileID) != 32 ||
		k.File.Name != "print.tif" || k.File.W != 472 || k.File.PPI != 300 || k.File.WidthMM != 40 || len(k.File.SHA256) != 64 || len(k.Route) != 5 || len(k.Settings) < 4 {
		t.Errorf("%+v", k)
	}
	if k.Job.Sharpen.Finish != printfile.Matte {
		t.Errorf("sharpened for %v", k.Job.Sharpen.Finish)
	}
	// Pins against the published definition of the space, and their own difference.
	px := []float64{200 - 18, 40, 30 + 18}
	want := space.SRGB().ToLab(px[0]/255, px[1]/255, px[2]/255)
	if got := k.Pins[0].Original; math.Abs(got[0]-want.L) > 0.7 || math.Abs(got[1]-want.A) > 1 || math.Abs(got[2]-want.B) > 1 {
		t.Errorf("pin %v, want about %v", got, want)
	}
	a, b := k.Pins[0].Original, k.Pins[0].Print
	if d := cie.DeltaE00(cie.Lab{L: a[0], A: a[1], B: a[2]}, cie.Lab{L: b[0], A: b[1], B: b[2]}); math.Abs(d-k.Pins[0].DeltaE00) > 0.1 || k.Pins[0].Words == "" {
		t.Errorf("pin's ΔE00 %.2f, of its colours %.2f", k.Pins[0].DeltaE00, d)
	}
	for _, data := range [][]byte{k.Original, k.Proof} {
		if img, err := png.Decode(bytes.NewReader(data)); err != nil || img.Bounds().Dx() != smallSide {
			t.Errorf("picture: %v", err)
		}
	}
	if bytes.Equal(k.Original, k.Proof) {
		t.Error("the pair is one picture twice")
	}
	path := filepath.Join(t.TempDir(), "a.json")
	if err := k.Write(t.Context(), path, nil); err != nil {
		t.Fatal(err)
	}
	back, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	one, _ := k.Encode()
	two, _ := back.Encode()
	if !bytes.Equal(one, two) || back.Job != k.Job {
		t.Error("it comes back otherwise")
	}
}

// A picture or profile that has changed since is told.
func TestChanges(t *testing.T) {
	k, path := made(t)
	same, err := paper.Open(t.TempDir()).Resolve("cotton")
	if err != nil {
		t.Fatal(err)
	}
	hash, err := Hash(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if c := k.Changes(hash, same.Profile); c != nil {
		t.Errorf("nothing has changed: %q", c)
	}
	if err := os.WriteFile(path, []byte("another picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	now, _ := Hash(t.Context(), path)
	other, err := paper.Open(t.TempDir()).Resolve("pearl")
	if err != nil {
		t.Fatal(err)
	}
	if c := k.Changes(now, other.Profile); len(c) != 2 || !strings.Contains(c[0], "boats.png") || !strings.Contains(c[1], "Cotton Matte") {
		t.Errorf("both have changed: %q", c)
	}
	if c := k.Changes("", nil); len(c) != 1 {
		t.Errorf("the paper is gone: %q", c)
	}
}

// What cannot be a ticket is refused before anything is printed by it.
func TestRefused(t *testing.T) {
	k, _ := made(t)
	good, err := k.Encode()
	if err != nil {
		t.Fatal(err)
	}
	change := func(from, to string) string {
		if !strings.Contains(string(good), from) {
			t.Fatalf("no %s", from)
		}
		return strings.Replace(string(good), from, to, 1)
	}
	if _, err := Parse(good); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"nothing": "", "cut off": string(good[:len(good)/2]), "another format": change(Format, "Shopping list"),
		"ppi": change(`"ppi": 300`, `"ppi": 1e9`), "converter": change(`"converts": "here"`, `"converts": "there"`),
		"old": change(`"version": 1`, `"version": 0`), "intent": change(`"intent": "relative"`, `"intent": "any"`),
		"a mistake": change(`"white": "screen"`, `"white": "screen", "slips": "twice"`),
	} {
		if _, err := Parse([]byte(text)); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if _, err := Parse([]byte(change(`"version": 1`, `"version": 2`))); !errors.Is(err, ErrNewer) {
		t.Errorf("a newer one: %v", err)
	}
	// What is unknown is passed over: a later program of this version may add to it.
	if _, err := Parse([]byte(change(`"version": 1`, `"version": 1, "weather": "fine"`))); err != nil {
		t.Error(err)
	}
	var no *FileError
	for _, path := range []string{filepath.Join(t.TempDir(), "none.json"), t.TempDir()} {
		if _, err := Open(path); !errors.As(err, &no) || no.Path != path {
			t.Errorf("%s: %v", path, err)
		}
	}
}

// The page is one, and full tickets do not run off it.
func TestPage(t *testing.T) {
	k, _ := made(t)
	write := func(k Ticket) []byte {
		t.Helper()
		var b bytes.Buffer
		if err := k.WritePDF(&b); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	for name, change := range map[string]func(*Ticket){
		"as made": func(*Ticket) {},
		"full": func(k *Ticket) {
			long := strings.Repeat("a long sentence ", 30)
			for i := range 30 {
				k.Warnings = append(k.Warnings, long)
				k.Settings = append(k.Settings, long)
				q := k.Pins[0]
				q.Name, q.Words = fmt.Sprintf("%s %d", long, i), long
				k.Pins = append(k.Pins, q)
			}
			k.Picture.Name, k.Paper.Profile, k.Outcome.Notes = long, long, strings.Repeat(long, 5)
		},
		"no pictures": func(k *Ticket) { k.Original, k.Proof = nil, nil },
	} {
		j := k
		j.Pins = append([]Pin(nil), k.Pins...)
		change(&j)
		data := write(j)
		if n := bytes.Count(data, []byte("/Type /Page\n")); n != 1 || !bytes.HasPrefix(data, []byte("%PDF-")) {
			t.Errorf("%s: %d pages", name, n)
		}
	}
	k.Original = []byte("no picture")
	if err := k.WritePDF(&bytes.Buffer{}); err == nil {
		t.Error("a damaged picture is taken")
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"format":"Firstsheet job ticket","version":1,"job":{"setup":{"paper":"pearl","intent":"relative","white":"screen"},"size":{"by":"long edge","length_mm":100}}}`))
	f.Add([]byte(`{"format":"Firstsheet job ticket","version":9}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		k, err := Parse(data)
		if err != nil {
			return
		}
		if k.Job.Check() != nil {
			t.Error("a job that cannot be")
		}
		if _, err := json.Marshal(k); err != nil {
			t.Error(err)
		}
	})
}
