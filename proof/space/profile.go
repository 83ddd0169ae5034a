package space

import (
	"crypto/md5"
	"encoding/binary"
	"math"
	"unicode/utf16"

	"firstsheet/proof/cie"
)

// ICC returns the space as an ICC profile of version 4.3, class display, with
// matrix and parametric curves: to be embedded in files. The bytes are always the
// same. Its colorants are rounded to 1/65536 as the format demands.
//
// Source: ICC.1:2010, 8.3.3 (three-component matrix-based display profiles).
func (s Space) ICC() []byte {
	m := s.ToXYZ()
	column := func(i int) []byte { return xyzTag(m[i], m[3+i], m[6+i]) }
	k := s.Curve
	curve := fixed([]byte("para\x00\x00\x00\x00\x00\x03\x00\x00"), k.G, k.A, k.B, k.C, k.D)
	chad := []byte("sf32\x00\x00\x00\x00")
	adaptation := cie.Adaptation(cie.FromXY(s.White[0], s.White[1]), cie.D50)
	chad = fixed(chad, adaptation[:]...)
	tags := []struct {
		sig  string
		data []byte
	}{
		{"desc", textTag(s.Name)},
		{"cprt", textTag("No copyright, use freely")},
		{"wtpt", xyzTag(cie.D50.X, cie.D50.Y, cie.D50.Z)},
		{"chad", chad},
		{"rXYZ", column(0)}, {"gXYZ", column(1)}, {"bXYZ", column(2)},
		{"rTRC", curve}, {"gTRC", curve}, {"bTRC", curve},
	}

	out := make([]byte, 128, 1024)
	copy(out[8:], []byte{4, 0x30, 0, 0})
	copy(out[12:], "mntrRGB XYZ ")
	copy(out[24:], []byte{0x07, 0xea, 0, 1, 0, 1}) // 1 January 2026
	copy(out[36:], "acsp")
	copy(out[68:], fixed(nil, cie.D50.X, cie.D50.Y, cie.D50.Z))
	out = binary.BigEndian.AppendUint32(out, uint32(len(tags)))
	body, offset, curveAt := []byte(nil), 128+4+12*len(tags), 0
	for _, t := range tags {
		at := offset + len(body)
		if t.sig == "gTRC" || t.sig == "bTRC" { // all three channels share one curve
			at = curveAt
		} else {
			body = append(body, t.data...)
			body = append(body, make([]byte, -len(body)&3)...)
		}
		if t.sig == "rTRC" {
			curveAt = at
		}
		out = append(out, t.sig...)
		out = binary.BigEndian.AppendUint32(out, uint32(at))
		out = binary.BigEndian.AppendUint32(out, uint32(len(t.data)))
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out, uint32(len(out)))
	id := md5.Sum(out) // flags, intent and the ID field are still zero, as 7.2.18 asks
	copy(out[84:], id[:])
	return out
}

func fixed(dst []byte, values ...float64) []byte {
	for _, v := range values {
		dst = binary.BigEndian.AppendUint32(dst, uint32(int32(math.Round(v*65536))))
	}
	return dst
}

func xyzTag(x, y, z float64) []byte { return fixed([]byte("XYZ \x00\x00\x00\x00"), x, y, z) }

func textTag(text string) []byte {
	u := utf16.Encode([]rune(text))
	b := []byte("mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS")
	b = binary.BigEndian.AppendUint32(b, uint32(2*len(u)))
	b = binary.BigEndian.AppendUint32(b, 28)
	for _, c := range u {
		b = binary.BigEndian.AppendUint16(b, c)
	}
	return b
}
