package icc

import (
	"bytes"
	"encoding/binary"
	"os"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/cie"
)

func tinyLut(in, out int) Lut {
	l := Lut{Grid: 2}
	n := out
	for range in {
		l.In = append(l.In, IdentityCurve())
		n *= 2
	}
	for range out {
		l.Out = append(l.Out, IdentityCurve())
	}
	l.Nodes = make([]uint16, n)
	for i := range l.Nodes {
		l.Nodes[i] = uint16(i * 257)
	}
	return l
}

// output returns a small profile in order.
func output(t *testing.T, version uint32) []byte {
	t.Helper()
	d := &Draft{Version: version, Class: ClassOutput, Space: SpaceRGB, PCS: SpaceLab, Created: time.Date(2026, 2, 3, 4, 5, 6, 0, time.UTC)}
	table := func(l Lut, toPCS bool) []byte {
		b, err := EncodeLut16(l)
		if version >= Version43 {
			b, err = EncodeLutAB(l, toPCS)
		}
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	if version >= Version43 {
		d.Add("desc", EncodeLocalized("Ein Büttenpapier"))
		d.Add("cprt", EncodeLocalized("none"))
	} else {
		d.Add("desc", EncodeDescription("A paper"))
		d.Add("cprt", EncodeText("none"))
	}
	d.Add("wtpt", EncodeXYZ(cie.XYZ{X: 0.9, Y: 0.93, Z: 0.75}))
	for _, s := range []Signature{"A2B0", "A2B1", "A2B2"} {
		d.Add(s, table(tinyLut(3, 3), true))
	}
	for _, s := range []Signature{"B2A0", "B2A1", "B2A2"} {
		d.Add(s, table(tinyLut(3, 3), false))
	}
	d.Add("gamt", table(tinyLut(3, 1), false))
	b, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestWrittenProfileIsReadBack(t *testing.T) {
	for version, name := range map[uint32]string{Version24: "2.4", Version43: "4.3"} {
		p, err := Parse(output(t, version))
		if err != nil {
			t.Fatal(err)
		}
		want := "A paper"
		if version == Version43 {
			want = "Ein Büttenpapier"
		}
		if p.Version() != name || p.Description() != want || p.Copyright() != "none" || p.Class != ClassOutput || p.Space != SpaceRGB || p.PCS != SpaceLab {
			t.Errorf("%s: %q, %q, %q", p.Version(), p.Description(), p.Copyright(), p.Class)
		}
		if w, ok := p.MediaWhite(); !ok || cie.DeltaE76(w.ToLab(cie.D50), cie.XYZ{X: 0.9, Y: 0.93, Z: 0.75}.ToLab(cie.D50)) > 0.002 {
			t.Errorf("white %v, %v", w, ok)
		}
		for _, f := range p.OutputFaults() {
			t.Errorf("%s: %s", name, f)
		}
	}
}

// The header's illuminant as published profiles carry it: 0000F6D6 00010000
// 0000D32D (ICC.1:2010, 7.2.16).
func TestHeaderBytes(t *testing.T) {
	b := output(t, Version43)
	want := []byte{0, 0, 0xF6, 0xD6, 0, 1, 0, 0, 0, 0, 0xD3, 0x2D}
	if !bytes.Equal(b[68:80], want) {
		t.Errorf("illuminant % X, want % X", b[68:80], want)
	}
	date := []byte{0x07, 0xEA, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6}
	if !bytes.Equal(b[24:36], date) {
		t.Errorf("date % X, want % X", b[24:36], date)
	}
	if string(b[36:40]) != "acsp" || binary.BigEndian.Uint32(b) != uint32(len(b)) {
		t.Errorf("signature %q, size %d of %d", b[36:40], binary.BigEndian.Uint32(b), len(b))
	}
}

func TestEqualTagsShareTheirPlace(t *testing.T) {
	p, err := Parse(output(t, Version24))
	if err != nil {
		t.Fatal(err)
	}
	at := map[Signature]int{}
	for _, tag := range p.Tags {
		at[tag.Signature] = tag.Offset
	}
	if at["A2B0"] != at["A2B1"] || at["A2B0"] != at["A2B2"] || at["A2B0"] == at["gamt"] {
		t.Errorf("offsets %v", at)
	}
}

func TestLut16ComesBack(t *testing.T) {
	want := tinyLut(4, 3)
	want.In = [][]uint16{{0, 5, 65535}, {0, 6, 65535}, {0, 7, 65535}, {1, 8, 65535}}
	b, err := EncodeLut16(want)
	if err != nil {
		t.Fatal(err)
	}
	got, err := DecodeLut16(b)
	if err != nil {
		t.Fatal(err)
	}
	if got.Grid != 2 || len(got.In) != 4 || got.In[3][0] != 1 || got.In[1][1] != 6 || len(got.Out) != 3 || len(got.Nodes) != 48 || got.Nodes[47] != 47*257 {
		t.Errorf("%+v", got)
	}
	for n := range b {
		if _, err := DecodeLut16(b[:n]); err == nil {
			t.Fatalf("the first %d of %d bytes are taken for a table", n, len(b))
		}
	}
}

func TestWrongTablesAndTagsAreRefused(t *testing.T) {
	for name, spoil := range map[string]func(*Lut){
		"grid of one":       func(l *Lut) { l.Grid = 1 },
		"a node missing":    func(l *Lut) { l.Nodes = l.Nodes[1:] },
		"no outputs":        func(l *Lut) { l.Out = nil },
		"uneven curves":     func(l *Lut) { l.In[1] = []uint16{0, 1, 2} },
		"a curve too short": func(l *Lut) { l.Out = [][]uint16{{0}, {0}, {0}} },
	} {
		l := tinyLut(3, 3)
		spoil(&l)
		if _, err := EncodeLut16(l); err == nil {
			t.Errorf("%s: written by EncodeLut16", name)
		}
		if _, err := EncodeLutAB(l, true); err == nil {
			t.Errorf("%s: written by EncodeLutAB", name)
		}
	}
	d := &Draft{Version: Version24, Class: ClassOutput, Space: SpaceRGB, PCS: SpaceLab}
	d.Add("cprt", EncodeText("x"))
	d.Add("cprt", EncodeText("y"))
	if _, err := d.Bytes(); err == nil {
		t.Error("one tag twice is written")
	}
	if _, err := (&Draft{Class: "prt", Space: SpaceRGB, PCS: SpaceLab}).Bytes(); err == nil {
		t.Error("a class of three letters is written")
	}
}

// Each rule that is broken is told.
func TestOutputFaultsNameWhatIsBroken(t *testing.T) {
	tag := func(b []byte, sig string) int { return bytes.Index(b[132:], []byte(sig)) + 132 }
	for _, c := range []struct {
		name, want string
		version    uint32
		spoil      func([]byte) []byte
	}{
		{"a byte of a table", "profile ID", Version43, func(b []byte) []byte { b[len(b)-30] ^= 1; return b }},
		{"the class", "class", Version24, func(b []byte) []byte { copy(b[12:], "mntr"); return b }},
		{"the illuminant", "illuminant", Version24, func(b []byte) []byte { b[70]++; return b }},
		{"a reserved byte", "reserved", Version24, func(b []byte) []byte { b[120] = 1; return b }},
		{"a tag renamed", `"gamt" is missing`, Version24, func(b []byte) []byte { copy(b[tag(b, "gamt"):], "xxxx"); return b }},
		{"a tag twice", "comes twice", Version24, func(b []byte) []byte { copy(b[tag(b, "gamt"):], "B2A2"); return b }},
		{"an odd offset", "multiple of 4", Version24, func(b []byte) []byte {
			at := tag(b, "cprt") + 4
			binary.BigEndian.PutUint32(b[at:], binary.BigEndian.Uint32(b[at:])+1)
			return b
		}},
		{"an offset into the tag table", "inside the tag table", Version24, func(b []byte) []byte {
			binary.BigEndian.PutUint32(b[tag(b, "cprt")+4:], 132)
			return b
		}},
		{"the intent", "rendering intent", Version24, func(b []byte) []byte { b[67] = 9; return b }},
		{"the channels", "channels", Version24, func(b []byte) []byte { copy(b[16:], "CMYK"); return b }},
		{"the size", "multiple", Version24, func(b []byte) []byte {
			binary.BigEndian.PutUint32(b, uint32(len(b)+2))
			return append(b, 0, 0)
		}},
		{"the white", "media white", Version24, func(b []byte) []byte {
			copy(b[bytes.Index(b, []byte("XYZ \x00\x00\x00\x00"))+8:], []byte{0, 0, 1, 0})
			return b
		}},
	} {
		p, err := Parse(c.spoil(output(t, c.version)))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if faults := strings.Join(p.OutputFaults(), "; "); !strings.Contains(faults, c.want) {
			t.Errorf("%s: faults %q, want one with %q", c.name, faults, c.want)
		}
	}
}

// A profile that the printing trade made and uses keeps the same rules.
func TestARealOutputProfileHasNoFaults(t *testing.T) {
	data, err := os.ReadFile("../../testdata/cache/profiles/FOGRA39L_coated.icc")
	if err != nil {
		t.Fatalf("%v (testdata/fetch.sh fetches it)", err)
	}
	p, err := Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range p.OutputFaults() {
		t.Error(f)
	}
}
