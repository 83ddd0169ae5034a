package icc

import (
	"encoding/binary"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"firstsheet/proof/cie"
)

// titled is a profile with a description and a copyright in the version 2 or 4 form.
func titled(t *testing.T, version uint32, desc, copyright string) *Profile {
	t.Helper()
	d := Draft{Version: version, Class: ClassOutput, Space: SpaceRGB, PCS: SpaceLab, Created: time.Unix(0, 0)}
	if version == Version43 {
		mluc := func(s string) []byte {
			b := append([]byte("mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS"), 0, 0, 0, 0, 0, 0, 0, 28)
			u := utf16.Encode([]rune(s))
			binary.BigEndian.PutUint32(b[20:], uint32(2*len(u)))
			for _, v := range u {
				b = binary.BigEndian.AppendUint16(b, v)
			}
			return b
		}
		d.Add("desc", mluc(desc))
		d.Add("cprt", mluc(copyright))
	} else {
		text := binary.BigEndian.AppendUint32([]byte("desc\x00\x00\x00\x00"), uint32(len(desc)+1))
		d.Add("desc", append(append(text, desc...), 0))
		d.Add("cprt", append([]byte("text\x00\x00\x00\x00"), copyright+"\x00"...))
	}
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	p, err := Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Texts come out fit for a terminal and a sentence, whatever stands in the file.
func TestTextsAreCleaned(t *testing.T) {
	for _, version := range []uint32{Version24, Version43} {
		p := titled(t, version, "\x1b[31mPearl\x1b[0m\nnext \u202eline", strings.Repeat("long ", 1000))
		if got := p.Description(); got != "Pearl next line" {
			t.Errorf("version %x: description %q", version, got)
		}
		if got := []rune(p.Copyright()); len(got) > maxText || !strings.HasPrefix(string(got), "long long") {
			t.Errorf("version %x: copyright of %d characters", version, len(got))
		}
	}
}

func TestCheckWhite(t *testing.T) {
	for _, c := range []struct {
		white cie.XYZ
		sound bool
	}{
		{cie.D50, true}, {cie.XYZ{X: 0.9505, Y: 1, Z: 1.089}, true}, // D65, in version 2 display profiles
		{cie.Lab{L: 60, A: 5, B: 45}.ToXYZ(cie.D50), true}, // brown card
		{cie.Lab{L: 2182}.ToXYZ(cie.D50), false}, {cie.XYZ{X: 0.9, Y: -2, Z: 0.8}, false}, {cie.XYZ{}, false},
		{cie.Lab{L: 90, B: 110}.ToXYZ(cie.D50), false}, {cie.Lab{L: 3}.ToXYZ(cie.D50), false},
	} {
		d := Draft{Version: Version24, Class: ClassOutput, Space: SpaceRGB, PCS: SpaceLab, Created: time.Unix(0, 0)}
		b := []byte("XYZ \x00\x00\x00\x00")
		for _, v := range []float64{c.white.X, c.white.Y, c.white.Z} {
			b = binary.BigEndian.AppendUint32(b, uint32(int32(v*65536)))
		}
		d.Add("wtpt", b)
		data, err := d.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		p, err := Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.CheckWhite(); (err == nil) != c.sound {
			t.Errorf("%v: %v", c.white.ToLab(cie.D50), err)
		}
	}
	if err := titled(t, Version24, "no white", "").CheckWhite(); err != nil {
		t.Errorf("without one: %v", err)
	}
}
