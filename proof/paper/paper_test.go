package paper

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

const profiles = "../../testdata/cache/profiles/"

func realProfile(t *testing.T, name string) *proof.Profile {
	t.Helper()
	p, err := ReadProfile(profiles + name)
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	return p
}

func inspect(t *testing.T, p *proof.Profile) Facts {
	t.Helper()
	before := lcms.Live()
	f, err := Inspect(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	if n := lcms.Live(); n != before {
		t.Errorf("Inspect(%s) leaves %d handles of the library open", p.Name(), n-before)
	}
	return f
}

// Whites as the profiles' own wtpt tags give them (FOGRA39's characterisation data
// say 95, 0, -2 too). The default_cmyk black is the A2B1 look of its B2A1 of Lab
// 0, 0, 0, printed by transicc 2.14: relative 16.50, 0.13, -0.25. Total ink: the
// name of ISOcoated_v2_300 promises 300 percent, FOGRA39L_coated is separated for
// 330 or less. Gamut volumes of coated offset lie near 400,000 (common practice,
// no source). Which profiles share one table for all intents is in their tag tables.
func TestFactsOfRealProfiles(t *testing.T) {
	for _, c := range []struct {
		file, version string
		white         cie.Lab
		maxInk        float64
		gamutTag      bool
		volLo, volHi  float64
		shared        bool
	}{
		{"FOGRA39L_coated.icc", "2.2", cie.Lab{L: 95, B: -2}, 3.4, true, 330e3, 480e3, true},
		{"ISOcoated_v2_300_bas.icc", "2.1", cie.Lab{L: 95, B: -2}, 3.05, true, 330e3, 480e3, false},
		{"cmyk.icc", "2.2", cie.Lab{L: 96.5, A: 0.4, B: -0.9}, 4, true, 250e3, 480e3, false},
		{"default_cmyk.icc", "2.1", cie.Lab{L: 88.7306, A: -0.2536, B: 3.6461}, 4, false, 200e3, 450e3, true},
	} {
		f := inspect(t, realProfile(t, c.file))
		if f.Version != c.version || f.Space != "CMYK" || f.Channels != 4 || f.GamutTag != c.gamutTag || f.Description == "" {
			t.Errorf("%s: %+v", c.file, f)
		}
		if d := cie.DeltaE76(f.White, c.white); !f.WhiteKnown || d > 0.1 {
			t.Errorf("%s: white %.2f, want %.2f", c.file, f.White, c.white)
		}
		if f.TotalInk < 2 || f.TotalInk > c.maxInk {
			t.Errorf("%s: total ink %.2f, want 2 to %.2f", c.file, f.TotalInk, c.maxInk)
		}
		if f.Volume < c.volLo || f.Volume > c.volHi {
			t.Errorf("%s: gamut of %.0f, want %.0f to %.0f", c.file, f.Volume, c.volLo, c.volHi)
		}
		if got := f.Intents[2].SameAs == "perceptual"; got != c.shared {
			t.Errorf("%s: intents %+v, want shared %t", c.file, f.Intents, c.shared)
		}
		if f.Black.L < 3 || f.Black.L > 25 {
			t.Errorf("%s: black %.2f", c.file, f.Black)
		}
	}
	f := inspect(t, realProfile(t, "default_cmyk.icc"))
	white := f.White.ToXYZ(cie.D50)
	relative := cie.Lab{L: 16.50, A: 0.13, B: -0.25}.ToXYZ(cie.D50)
	want := cie.XYZ{X: relative.X * white.X / cie.D50.X, Y: relative.Y * white.Y, Z: relative.Z * white.Z / cie.D50.Z}.ToLab(cie.D50)
	if d := cie.DeltaE76(f.Black, want); d > 0.02 {
		t.Errorf("black %.3f, want %.3f", f.Black, want)
	}
	if !f.EightBit {
		t.Error("default_cmyk.icc separates through mft1 tables and is not told to be of 8 bits")
	}
}

// A profile with perceptual tables only says which stand in.
func TestStandInsAreSaid(t *testing.T) {
	f := inspect(t, realProfile(t, "ps_cmyk.icc"))
	if !f.Intents[1].StandIn || !f.Intents[2].StandIn || f.Intents[0].StandIn {
		t.Errorf("intents %+v, want stand-ins for two", f.Intents)
	}
	if len(f.Assumed) != 3 {
		t.Errorf("assumptions %q, want three sentences", f.Assumed)
	}
}

// The gamut of a matrix space is the image of a cube under an almost linear map of
// known shape. sRGB's volume in CIELAB is 832,870 by the ICC's count (ICC: 'Color
// gamut comparison', from memory: about 830,000).
func TestVolumeOfSRGB(t *testing.T) {
	ctx, err := lcms.NewContext()
	if err != nil {
		t.Fatal(err)
	}
	defer ctx.Close()
	rgb, err := ctx.RGB(space.SRGB())
	if err != nil {
		t.Fatal(err)
	}
	defer rgb.Close()
	lab, err := ctx.Lab()
	if err != nil {
		t.Fatal(err)
	}
	defer lab.Close()
	tr, err := ctx.Float(rgb, lab, lcms.Options{Intent: 1})
	if err != nil {
		t.Fatal(err)
	}
	defer tr.Close()
	v, err := volume(context.Background(), &probe{channels: 3, relative: tr})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(v-832e3) > 0.03*832e3 {
		t.Errorf("volume of sRGB = %.0f, want 832,000 within 3 percent", v)
	}
}

// The same volume by counting: cells of Lab that mixtures of four inks fall into.
// A cell counts whole as soon as one mixture lies in it, which adds about half a
// cell all around.
func TestVolumeByCounting(t *testing.T) {
	q, err := newProbe(realProfile(t, "ISOcoated_v2_300_bas.icc"))
	if err != nil {
		t.Fatal(err)
	}
	defer q.close()
	v, err := volume(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	const steps, cell = 28, 5.0
	hit := map[[3]int]bool{}
	device := make([]float64, 0, 4*steps*steps)
	for i := range steps * steps {
		device = device[:0]
		for k := range steps * steps {
			for _, x := range []int{i / steps, i % steps, k / steps, k % steps} {
				device = append(device, float64(x)/(steps-1))
			}
		}
		looks, err := q.looks(device)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range looks {
			hit[[3]int{int(math.Floor(c.L / cell)), int(math.Floor(c.A / cell)), int(math.Floor(c.B / cell))}] = true
		}
	}
	counted := float64(len(hit)) * cell * cell * cell
	// A sphere of that volume with half a cell more of radius; a gamut's surface is
	// larger than a sphere's.
	r := math.Cbrt(v * 3 / 4 / math.Pi)
	grown := v * math.Pow((r+cell/2)/r, 3)
	if counted < grown || counted > 1.12*grown {
		t.Errorf("volume %.0f, counted cells make %.0f, want %.0f to 12 percent more", v, counted, grown)
	}
}

// The built-in papers are papers, each with a card and wrong settings that change
// how it prints.
func TestBuiltinPapers(t *testing.T) {
	ids := map[string]bool{}
	l := Open(t.TempDir())
	for _, p := range All() {
		if ids[p.ID] || p.ID != FileName(p.ID) || p.Name == "" || !p.Builtin || p.Profile.Name() != p.Name {
			t.Errorf("paper %q called %q, profile %q", p.ID, p.Name, p.Profile.Name())
		}
		ids[p.ID] = true
		if err := p.Profile.CheckPaper(); err != nil {
			t.Error(err)
		}
		if err := p.Card.Check(); err != nil || p.Card.BlackInk == "" || p.Card.Media == "" || p.Card.Finish == "" || p.Card.DryHours == 0 {
			t.Errorf("%s: card %+v, %v", p.ID, p.Card, err)
		}
		if first, ok := p.Setting(""); !ok || first.Profile.ID() == p.Profile.ID() || first.Name == p.Card.Media {
			t.Errorf("%s has no wrong media setting", p.ID)
		}
		if _, ok := p.Setting("no such"); ok {
			t.Errorf("%s knows a setting of any name", p.ID)
		}
		f := inspect(t, p.Profile)
		if f.Space != "RGB" || f.TotalInk != 0 || f.Volume < 100e3 || f.Volume > 1.2e6 || f.White.L < 85 || f.Black.L < 1 || len(f.Assumed) != 0 {
			t.Errorf("%s: %+v", p.ID, f)
		}
		for _, i := range f.Intents {
			if i.StandIn || i.SameAs != "" {
				t.Errorf("%s: intent %+v has no table of its own", p.ID, i)
			}
		}
		_, err := l.AddBytes("copy.icc", p.Profile.Data())
		if e, ok := errors.AsType[*DuplicateError](err); !ok || e.Existing.ID != p.ID {
			t.Errorf("adding a copy of %s: %v", p.ID, err)
		}
		// A person's own card replaces the one it comes with.
		own := Card{Notes: "mine"}
		if err := l.SetCard(p.ID, own); err != nil {
			t.Fatal(err)
		}
		if q, err := l.Resolve(p.ID); err != nil || q.Card != own {
			t.Errorf("%s: own card gives %+v, %v", p.ID, q.Card, err)
		}
		if _, err := l.Remove(p.ID); err == nil {
			t.Errorf("%s can be removed", p.ID)
		}
	}
	if len(ids) == 0 {
		t.Error("no papers come with the program")
	}
	if papers, _ := l.List(); papers[0].Card.Notes != "mine" {
		t.Error("the list shows the card that came with the program")
	}
}

func TestRefusedAsPapers(t *testing.T) {
	l := Open(t.TempDir())
	whole, err := os.ReadFile(profiles + "FOGRA39L_coated.icc")
	if err != nil {
		t.Fatal(err)
	}
	file := func(name string, data []byte) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	class := func(name string) []byte {
		data := append([]byte(nil), whole...)
		copy(data[12:], name)
		return data
	}
	huge := file("huge.icc", nil)
	if err := os.Truncate(huge, 65<<20); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		path    string
		file    Kind
		profile proof.Kind
		says    string
	}{
		{profiles + "sRGB.icc", 0, proof.WrongClass, "display profile"},
		{profiles + "Crayons.icc", 0, proof.WrongClass, ""},
		{profiles + "lab.icc", 0, proof.WrongClass, ""},
		{file("camera.icc", class("scnr")), 0, proof.WrongClass, "camera or scanner"},
		{file("link.icc", class("link")), 0, proof.WrongClass, "device-link"},
		{file("abstract.icc", class("abst")), 0, proof.WrongClass, "abstract"},
		{file("named.icc", class("nmcl")), 0, proof.WrongClass, "named-colour"},
		{file("cut.icc", whole[:len(whole)/2]), 0, proof.Damaged, ""},
		{file("cut2.icc", whole[:100]), 0, proof.Damaged, ""},
		{file("text.icc", []byte(strings.Repeat("no profile at all. ", 100))), 0, proof.Damaged, ""},
		{file("empty.icc", nil), Empty, 0, "0 bytes"},
		{huge, TooLarge, 0, ""},
		{t.TempDir(), NotReadable, 0, "folder"},
		{"/dev/null", NotReadable, 0, "ordinary"},
		{filepath.Join(t.TempDir(), "none.icc"), NotFound, 0, ""},
	} {
		_, err := l.Add(c.path)
		if c.file != 0 {
			if e, ok := errors.AsType[*FileError](err); !ok || e.Kind != c.file || e.Path != c.path {
				t.Errorf("Add(%s): %v, want a FileError: %s", c.path, err, c.file)
			}
		} else if e, ok := errors.AsType[*proof.ProfileError](err); !ok || e.Kind != c.profile || e.Profile != c.path {
			t.Errorf("Add(%s): %v, want a ProfileError: %s", c.path, err, c.profile)
		}
		if err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("Add(%s): %v, want it to say %q", c.path, err, c.says)
		}
	}
	// A table whose inside is damaged is found by trying it.
	broken := append([]byte(nil), whole...)
	p := realProfile(t, "FOGRA39L_coated.icc")
	for _, tag := range p.File().Tags {
		if tag.Signature == "B2A1" {
			binary.BigEndian.PutUint32(broken[tag.Offset:], 0xdeadbeef)
		}
	}
	if _, err := l.AddBytes("broken.icc", broken); err == nil {
		t.Error("a profile with a table of no type is accepted")
	}
	if left, _ := os.ReadDir(l.Dir()); len(left) != 0 {
		t.Errorf("after refusals %d files lie in the folder", len(left))
	}
}

func TestAddListRemove(t *testing.T) {
	l := Open(filepath.Join(t.TempDir(), "not", "yet"))
	if papers, problems := l.List(); len(papers) != len(All()) || len(problems) != 0 {
		t.Fatalf("a library without a folder: %d papers, %v", len(papers), problems)
	}
	added, err := l.Add(profiles + "FOGRA39L_coated.icc")
	if err != nil {
		t.Fatal(err)
	}
	if added.ID != FileName(added.Name) || filepath.Base(added.Path) != added.ID+".icc" {
		t.Errorf("added as %q in %s, want it named by %q", added.ID, added.Path, added.Name)
	}
	// The same profile under another file name, with another flag word in its header,
	// is the same profile (ICC.1:2022, 7.2.18).
	data, _ := os.ReadFile(profiles + "FOGRA39L_coated.icc")
	data[47] ^= 1
	_, err = l.AddBytes("again.icc", data)
	if e, ok := errors.AsType[*DuplicateError](err); !ok || e.Existing.ID != added.ID {
		t.Errorf("adding it again: %v, want a DuplicateError of %s", err, added.ID)
	}
	// Another profile of the same description gets a name of its own.
	data[len(data)-1] ^= 1
	other, err := l.AddBytes("other.icc", data)
	if err != nil {
		t.Fatal(err)
	}
	if other.ID != added.ID+"-2" {
		t.Errorf("the second of one description is called %q, want %q", other.ID, added.ID+"-2")
	}
	fresh := Open(l.Dir())
	for _, l := range []*Library{l, fresh} {
		papers, problems := l.List()
		if len(papers) != len(All())+2 || len(problems) != 0 {
			t.Errorf("%d papers, problems %v", len(papers), problems)
		}
		p, err := l.Resolve(added.ID)
		if err != nil || p.Profile.ID() != added.Profile.ID() || p.Builtin {
			t.Errorf("Resolve(%s) = %+v, %v", added.ID, p, err)
		}
	}
	card := Card{Printer: "eight inks", Media: "heavy matte", BlackInk: "matte", Condition: "M1", Date: "2024-02-29", DryHours: 24, Notes: "two\nlines"}
	if err := l.SetCard(added.ID, card); err != nil {
		t.Fatal(err)
	}
	if p, _ := fresh.Resolve(added.ID); p.Card != card {
		t.Errorf("card %+v, want %+v", p.Card, card)
	}
	if _, err := l.Remove(added.ID); err != nil {
		t.Fatal(err)
	}
	if left, _ := filepath.Glob(filepath.Join(l.Dir(), "*.icc*")); len(left) != 1 {
		t.Errorf("after removing one of two, %d files lie in the folder", len(left))
	}
	_, again := l.Remove(added.ID)
	for _, err := range []error{again, l.SetCard("nobody", card)} {
		if _, ok := errors.AsType[*UnknownError](err); !ok {
			t.Errorf("an unknown paper gives %v", err)
		}
	}
	if p, err := l.Resolve(profiles + "cmyk.icc"); err != nil || p.Profile.Channels() != 4 {
		t.Errorf("Resolve of a path: %v", err)
	}
	if _, err := l.Resolve("nobody"); err == nil || !strings.Contains(err.Error(), "nobody") {
		t.Errorf("Resolve of nothing: %v", err)
	}
}

// What lies broken in the folder is told and hides nothing.
func TestBrokenFilesAreReported(t *testing.T) {
	l := Open(t.TempDir())
	added, err := l.Add(profiles + "cmyk.icc")
	if err != nil {
		t.Fatal(err)
	}
	put := func(name, text string) {
		if err := os.WriteFile(filepath.Join(l.Dir(), name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("empty.icc", "")
	put("text.ICM", strings.Repeat("x", 500))
	put("readme.txt", "not a profile, and not called one")
	put(".own.icc.0000abcd.part", "left by a crash")
	put(added.ID+".icc"+cardEnding, "{ no json")
	if err := os.Mkdir(filepath.Join(l.Dir(), "folder.icc"), 0o700); err != nil {
		t.Fatal(err)
	}
	display, err := os.ReadFile(profiles + "sRGB.icc")
	if err != nil {
		t.Fatal(err)
	}
	put("display.icc", string(display))
	papers, problems := l.List()
	if len(papers) != len(All())+1 || papers[len(papers)-1].Card != (Card{}) {
		t.Errorf("%d papers, want the sound one with an empty card", len(papers))
	}
	var bad []string
	for _, p := range problems {
		bad = append(bad, filepath.Base(p.Path))
	}
	want := []string{added.ID + ".icc" + cardEnding, "display.icc", "empty.icc", "folder.icc", "text.ICM"}
	if fmt.Sprint(bad) != fmt.Sprint(want) {
		t.Errorf("problems %q, want %q", bad, want)
	}
	// A file that is mended is read anew.
	data, err := os.ReadFile(profiles + "default_cmyk.icc")
	if err != nil {
		t.Fatal(err)
	}
	put("empty.icc", string(data))
	if p, err := l.Resolve("empty"); err != nil || p.Profile.Channels() != 4 {
		t.Errorf("after mending: %v", err)
	}
}

// Many hands at once add the same and different profiles: each is there once.
func TestAddAtOnce(t *testing.T) {
	dir := t.TempDir()
	names := []string{"FOGRA39L_coated.icc", "ISOcoated_v2_300_bas.icc", "cmyk.icc", "default_cmyk.icc"}
	var group sync.WaitGroup
	one := Open(dir)
	for i := range 16 {
		group.Go(func() {
			l := one
			if i%2 == 1 {
				l = Open(dir) // as another program would
			}
			_, err := l.Add(profiles + names[i%len(names)])
			if _, ok := errors.AsType[*DuplicateError](err); err != nil && !ok {
				t.Error(err)
			}
			l.List()
		})
	}
	group.Wait()
	papers, problems := Open(dir).List()
	if len(papers) != len(All())+len(names) || len(problems) != 0 {
		t.Errorf("%d papers, problems %v; want %d", len(papers), problems, len(All())+len(names))
	}
}

func TestUnwritableFolder(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	l := Open(filepath.Join(file, "papers"))
	_, err := l.Add(profiles + "cmyk.icc")
	if e, ok := errors.AsType[*FileError](err); !ok || e.Kind != NotWritable {
		t.Errorf("%v, want NotWritable", err)
	}
	t.Setenv("HOME", "")
	t.Setenv("XDG_CONFIG_HOME", "")
	t.Setenv("AppData", "")
	l = Open("")
	if _, err := l.Add(profiles + "cmyk.icc"); err == nil {
		t.Error("without a settings folder a paper is added nowhere")
	}
	if papers, problems := l.List(); len(papers) != len(All()) || len(problems) != 0 {
		t.Errorf("without a settings folder: %d papers, %v", len(papers), problems)
	}
}

func TestFileNames(t *testing.T) {
	for description, want := range map[string]string{
		"Coated FOGRA39 (ISO 12647-2:2004)": "coated-fogra39-iso-12647-2-2004",
		"":                                  "paper",
		"../../etc/passwd":                  "etc-passwd",
		"CON":                               "paper-con",
		"com1":                              "paper-com1",
		".hidden":                           "hidden",
		"Büttenpapier 310 g/m²":             "büttenpapier-310-g-m",
		"a\x00b\nc":                         "a-b-c",
		"和紙":                                "和紙",
	} {
		if got := FileName(description); got != want {
			t.Errorf("FileName(%q) = %q, want %q", description, got, want)
		}
	}
	if n := len(FileName(strings.Repeat("和", 500))); n > maxFileName || n < 90 {
		t.Errorf("a long name has %d bytes", n)
	}
}

func TestCardsAreChecked(t *testing.T) {
	for _, c := range []Card{
		{BlackInk: "blue"}, {Condition: "M3"}, {Date: "2023-02-29"}, {Date: "yesterday"},
		{DryHours: -1}, {DryHours: math.NaN()}, {Printer: strings.Repeat("x", 201)}, {Notes: strings.Repeat("x", 20001)},
	} {
		if c.Check() == nil {
			t.Errorf("%+v passes", c)
		}
	}
	if err := (Card{BlackInk: "photo", Condition: "M0", Date: "2024-02-29", DryHours: 1.5}).Check(); err != nil {
		t.Error(err)
	}
}
