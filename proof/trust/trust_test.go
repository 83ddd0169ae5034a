package trust

import (
	"bytes"
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
)

const profiles = "../../testdata/cache/profiles/"

func check(t *testing.T, p *proof.Profile, title string) Report {
	t.Helper()
	before := lcms.Live()
	r, err := Check(context.Background(), p, title)
	if err != nil {
		t.Fatalf("%s: %v", title, err)
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%s: %d handles of the library stay open", title, n)
	}
	worst := Sound
	for _, f := range r.Findings {
		worst = max(worst, f.Verdict)
		if f.ID == "" || f.Name == "" || f.Words == "" || f.Means == "" || f.Verdict < Sound || f.Verdict > Unsound {
			t.Errorf("%s: half a finding: %+v", title, f)
		}
	}
	if r.Verdict != worst || r.Sentence == "" {
		t.Errorf("%s: verdict %v, the worst finding's is %v", title, r.Verdict, worst)
	}
	return r
}

// verdicts are the findings that are not sound, by ID.
func verdicts(r Report) map[string]Verdict {
	out := map[string]Verdict{}
	for _, f := range r.Findings {
		if f.Verdict != Sound {
			out[f.ID] = f.Verdict
		}
	}
	return out
}

func finding(r Report, id string) Finding {
	for _, f := range r.Findings {
		if f.ID == id {
			return f
		}
	}
	return Finding{}
}

func builtin(t *testing.T, id string) *proof.Profile {
	t.Helper()
	for _, p := range paper.All() {
		if p.ID == id {
			return p.Profile
		}
	}
	t.Fatalf("no paper %s", id)
	return nil
}

// The built-in papers are sound in everything, and their steps are those that others are
// held against.
func TestBuiltinPapersAreSound(t *testing.T) {
	var srgb, lines, fall float64
	for _, p := range paper.All() {
		r := check(t, p.Profile, p.Name)
		if bad := verdicts(r); len(bad) != 0 {
			t.Errorf("%s: %v", p.Name, bad)
		}
		f := finding(r, "smooth").Figures
		srgb, lines, fall = max(srgb, f["step_p999"]), max(lines, f["line_step_p999"]), max(fall, f["lightness_falls"])
	}
	const rounding = 0.01
	for what, v := range map[string][2]float64{"steps in sRGB": {srgb, builtinSteps.srgb}, "steps along lines": {lines, builtinSteps.lines}, "fall of L*": {fall, builtinSteps.fall}} {
		if d := v[0] - v[1]; d > rounding || d < -rounding {
			t.Errorf("%s: %.3f, and %.2f is said", what, v[0], v[1])
		}
	}
}

// Makers' profiles of offset printing. What is held against each is known of it: the
// tables that FOGRA39L_coated and default_cmyk share are in their tag tables,
// default_cmyk has tables of type mft1; ps_cmyk is no print but a formula, with one table
// a way, which is why white and black are those of no paper and its ways disagree. The
// limit of ISOcoated_v2_300 is in its name.
func TestRealProfiles(t *testing.T) {
	for file, want := range map[string]map[string]Verdict{
		"ISOcoated_v2_300_bas.icc": {},
		"FOGRA39L_coated.icc":      {"tables": Doubtful},
		"cmyk.icc":                 {"round_trip": Doubtful, "smooth": Doubtful},
		"default_cmyk.icc":         {"tables": Doubtful, "round_trip": Doubtful, "smooth": Doubtful},
		"ps_cmyk.icc":              {"rules": Doubtful, "tables": Doubtful, "round_trip": Unsound, "white": Doubtful, "black": Doubtful},
		"sRGB.icc":                 {"kind": Unsound},
		"sgray.icc":                {"kind": Unsound},
	} {
		p, err := paper.ReadProfile(profiles + file)
		if err != nil {
			t.Fatalf("%v (run testdata/fetch.sh)", err)
		}
		got := verdicts(check(t, p, file))
		if len(got) != len(want) {
			t.Errorf("%s: %v, want %v", file, got, want)
			continue
		}
		for id, v := range want {
			if got[id] != v {
				t.Errorf("%s: %s is %v, want %v", file, id, got[id], v)
			}
		}
	}
}

// A curve for one grey ink is a whole output profile (ICC.1:2010, 8.5, monochrome output profiles): no table is
// missing. These are display profiles of the class changed, white as no paper is.
func TestACurveLacksNoTables(t *testing.T) {
	for _, file := range []string{"sgray.icc", "default_gray.icc", "Gray-CIE_L.icc"} {
		data, err := os.ReadFile(profiles + file)
		if err != nil {
			t.Fatalf("%v (run testdata/fetch.sh)", err)
		}
		copy(data[12:], icc.ClassOutput)
		p, err := proof.NewProfile(file, data)
		if err != nil {
			t.Fatal(err)
		}
		if got := verdicts(check(t, p, file)); len(got) != 2 || got["white"] != Doubtful || got["black"] != Doubtful {
			t.Errorf("%s: %v", file, got)
		}
		copy(data[bytes.Index(data[132:], []byte("kTRC"))+132:], "xxxx")
		if p, err := icc.Parse(data); err != nil || !slices.Contains(p.OutputFaults(), `tag "kTRC" is missing`) {
			t.Errorf("%s without its curve: %v, %v", file, p.OutputFaults(), err)
		}
	}
}

// altered is a profile with one of its tables changed.
func altered(t *testing.T, p *proof.Profile, tag icc.Signature, change func(l *icc.Lut)) *proof.Profile {
	t.Helper()
	data := bytes.Clone(p.Data())
	old, _ := p.File().Tag(tag)
	l, err := icc.DecodeLut16(old)
	if err != nil {
		t.Fatal(err)
	}
	change(&l)
	b, err := icc.EncodeLut16(l)
	if err != nil || len(b) != len(old) {
		t.Fatalf("%d bytes for %d, %v", len(b), len(old), err)
	}
	for _, entry := range p.File().Tags {
		if entry.Signature == tag {
			copy(data[entry.Offset:], b)
		}
	}
	q, err := proof.NewProfile("broken", data)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// Each thing that a profile can have wrong is found.
func TestBrokenProfilesAreFound(t *testing.T) {
	pearl := builtin(t, "pearl")
	each := func(change func(node []uint16)) func(*icc.Lut) {
		return func(l *icc.Lut) {
			for i := 0; i < len(l.Nodes); i += 3 {
				change(l.Nodes[i : i+3])
			}
		}
	}
	noise := rand.New(rand.NewPCG(1, 2))
	bytesOf := func(change func(data []byte)) *proof.Profile {
		data := bytes.Clone(pearl.Data())
		change(data)
		q, err := proof.NewProfile("broken", data)
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	for what, c := range map[string]struct {
		p    *proof.Profile
		id   string
		want Verdict
	}{
		"red and blue exchanged into the numbers": {altered(t, pearl, "B2A1", each(func(n []uint16) { n[0], n[2] = n[2], n[0] })), "round_trip", Unsound},
		"red and blue exchanged out of them":      {altered(t, pearl, "A2B1", each(func(n []uint16) { n[1], n[2] = n[2], n[1] })), "round_trip", Unsound},
		"a table of noise": {altered(t, pearl, "B2A1", each(func(n []uint16) {
			for i := range n {
				n[i] = uint16(min(max(int(n[i])+int(noise.NormFloat64()*5000), 0), 65535))
			}
		})), "smooth", Unsound},
		"one colour for all":  {altered(t, pearl, "B2A1", each(func(n []uint16) { n[0], n[1], n[2] = 30000, 30000, 30000 })), "smooth", Unsound},
		"a cast in the greys": {altered(t, pearl, "B2A1", each(func(n []uint16) { n[2] = uint16(float64(n[2]) * 0.93) })), "neutral", Unsound},
		"a veil on white":     {altered(t, pearl, "B2A1", each(func(n []uint16) { n[0] = min(n[0], 50000) })), "white", Unsound},
		"a grey for black": {altered(t, pearl, "B2A1", each(func(n []uint16) {
			for i := range n {
				n[i] = max(n[i], 24000)
			}
		})), "black", Unsound},
		"bare paper that is no white": {altered(t, pearl, "A2B1", func(l *icc.Lut) { l.Nodes[len(l.Nodes)-1] += 3000 }), "white", Unsound},
		"a white of cardboard": {bytesOf(func(data []byte) {
			for _, entry := range pearl.File().Tags {
				if entry.Signature == "wtpt" {
					copy(data[entry.Offset+8:], []byte{0, 0, 0x50, 0, 0, 0, 0x4c, 0, 0, 0, 0x18, 0})
				}
			}
		}), "white", Doubtful},
		"another class": {bytesOf(func(data []byte) { copy(data[12:], "mntr") }), "kind", Unsound},
		"a broken rule": {bytesOf(func(data []byte) { data[110] = 1 }), "rules", Doubtful},
	} {
		r := check(t, c.p, "Pearl")
		if got := finding(r, c.id); got.Verdict != c.want {
			t.Errorf("%s: %s is %v (%s), want %v", what, c.id, got.Verdict, got.Words, c.want)
		}
		if c.want == Unsound && !strings.HasPrefix(r.Sentence, "Don’t print by this profile") {
			t.Errorf("%s: %s", what, r.Sentence)
		}
	}
}

func TestNamesAreHeldAgainstWhatIsThere(t *testing.T) {
	rgb, cmyk := paper.Facts{Space: "RGB", Channels: 3}, paper.Facts{Space: "CMYK", Channels: 4, TotalInk: 3}
	for _, c := range []struct {
		facts paper.Facts
		name  string
		sound bool
		says  string
	}{
		{rgb, "Pearl", true, ""}, {rgb, "Pearl CMYK", false, "CMYK"}, {rgb, "pearl_rgb.icc", true, ""}, {rgb, "RGB to CMYK press", true, ""},
		{cmyk, "Coated 300%", true, ""}, {cmyk, "Coated 240 %", false, "240 %"}, {cmyk, "my_rgb_paper", false, "RGB"}, {cmyk, "ISO Coated v2", true, ""},
		{rgb, "greyscale pearl", false, "of grey,"}, {rgb, "Coated 300%", true, ""},
	} {
		f := nameOf(c.facts, c.name)
		if (f.Verdict == Sound) != c.sound || !strings.Contains(f.Words, c.says) {
			t.Errorf("%s called %q: %v, %s", c.facts.Space, c.name, f.Verdict, f.Words)
		}
	}
}

func TestTheReportIsPlainInJSON(t *testing.T) {
	data, err := json.Marshal(told([]Finding{{ID: "a", Verdict: Doubtful, Name: "steps"}}))
	if err != nil || !bytes.Contains(data, []byte(`"verdict":"look at it"`)) {
		t.Errorf("%s, %v", data, err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Check(ctx, builtin(t, "pearl"), "Pearl"); err != context.Canceled {
		t.Errorf("cancelled: %v", err)
	}
}
