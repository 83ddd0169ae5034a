package icc

import (
	"encoding/binary"
	"fmt"
	"math"
	"time"
	"unicode/utf16"

	"firstsheet/proof/cie"
)

// Version numbers as a profile's header carries them.
const (
	Version24 uint32 = 0x02400000
	Version43 uint32 = 0x04300000
)

// Draft is a profile to be written: its header and its tags in order.
//
// Source of all layouts below: ICC.1:2010 (profile version 4.3), clauses 7 to 10,
// and ICC.1:2001-04 (2.4) for the types that version 4 dropped; both from memory,
// checked by reading the results with Little CMS.
type Draft struct {
	Version uint32
	Class   Signature
	Space   Signature
	PCS     Signature
	// Created is written in UTC, to the second.
	Created time.Time
	// Intent is the default rendering intent, 0 to 3.
	Intent uint32

	tags []draftTag
}

type draftTag struct {
	sig  Signature
	data []byte
}

// Add appends a tag whose data, type signature first, is one of the Encode
// functions' results. Tags with equal bytes share one place in the file.
func (d *Draft) Add(sig Signature, data []byte) { d.tags = append(d.tags, draftTag{sig, data}) }

// Bytes returns the file. Version 4 profiles get their profile ID. It fails on
// signatures that are not four bytes long, on a tag that was added twice and on a
// profile larger than MaxSize.
func (d *Draft) Bytes() ([]byte, error) {
	for _, s := range []Signature{d.Class, d.Space, d.PCS} {
		if len(s) != 4 {
			return nil, fmt.Errorf("icc: signature %q has %d bytes, not 4", string(s), len(s))
		}
	}
	out := make([]byte, headerSize+4+12*len(d.tags))
	seen := map[Signature]bool{}
	place := map[string]int{}
	for i, t := range d.tags {
		if len(t.sig) != 4 || seen[t.sig] {
			return nil, fmt.Errorf("icc: tag %q is not four bytes or comes twice", string(t.sig))
		}
		seen[t.sig] = true
		at, shared := place[string(t.data)]
		if !shared {
			at = len(out)
			place[string(t.data)] = at
			out = append(out, t.data...)
			out = append(out, make([]byte, -len(out)&3)...)
		}
		e := out[headerSize+4+12*i:]
		copy(e, t.sig)
		binary.BigEndian.PutUint32(e[4:], uint32(at))
		binary.BigEndian.PutUint32(e[8:], uint32(len(t.data)))
	}
	if len(out) > MaxSize {
		return nil, fmt.Errorf("icc: %d bytes are more than the limit of %d", len(out), MaxSize)
	}
	binary.BigEndian.PutUint32(out, uint32(len(out)))
	binary.BigEndian.PutUint32(out[8:], d.Version)
	copy(out[12:], d.Class)
	copy(out[16:], d.Space)
	copy(out[20:], d.PCS)
	u := d.Created.UTC()
	for i, v := range []int{u.Year(), int(u.Month()), u.Day(), u.Hour(), u.Minute(), u.Second()} {
		binary.BigEndian.PutUint16(out[24+2*i:], uint16(v))
	}
	copy(out[36:], "acsp")
	binary.BigEndian.PutUint32(out[64:], d.Intent)
	putXYZ(out[68:], cie.D50)
	binary.BigEndian.PutUint32(out[headerSize:], uint32(len(d.tags)))
	if d.Version >= 0x04000000 {
		id := computeID(out)
		copy(out[84:], id[:])
	}
	return out, nil
}

func element(sig string, size int) []byte {
	b := make([]byte, 8, size)
	copy(b, sig)
	return b
}

func appendU16(b []byte, v ...uint16) []byte {
	for _, x := range v {
		b = binary.BigEndian.AppendUint16(b, x)
	}
	return b
}

// Fixed16 returns v as an s15Fixed16Number, rounded to the nearest.
func Fixed16(v float64) uint32 { return uint32(int32(math.Round(v * 65536))) }

func putXYZ(b []byte, c cie.XYZ) {
	for i, v := range []float64{c.X, c.Y, c.Z} {
		binary.BigEndian.PutUint32(b[4*i:], Fixed16(v))
	}
}

// EncodeText returns a textType element. s is ASCII; other characters become '?'.
func EncodeText(s string) []byte {
	return append(append(element("text", 9+len(s)), ascii(s)...), 0)
}

func ascii(s string) []byte {
	b := make([]byte, 0, len(s))
	for _, r := range s {
		if r > 126 || r < 32 && r != '\n' && r != '\r' && r != '\t' {
			r = '?'
		}
		b = append(b, byte(r))
	}
	return b
}

// EncodeDescription returns a textDescriptionType element (version 2). Text that is no
// plain ASCII goes into the Unicode part, and with question marks in its place into the
// ASCII part, which the standard demands and some programs read alone. The Macintosh
// part is empty.
//
// Source: ICC.1:2001-04, 6.5.17.
func EncodeDescription(s string) []byte {
	text := append(ascii(s), 0)
	b := element("desc", 12+len(text)+78)
	b = binary.BigEndian.AppendUint32(b, uint32(len(text)))
	b = append(b, text...)
	var u []uint16
	if string(ascii(s)) != s {
		u = append(utf16.Encode([]rune(s)), 0)
	}
	b = binary.BigEndian.AppendUint32(b, 0) // no language is claimed
	b = binary.BigEndian.AppendUint32(b, uint32(len(u)))
	b = appendU16(b, u...)
	return append(b, make([]byte, 2+1+67)...)
}

// EncodeLocalized returns a multiLocalizedUnicodeType element (version 4) with s
// as its only text, in US English.
func EncodeLocalized(s string) []byte {
	u := utf16.Encode([]rune(s))
	b := element("mluc", 28+2*len(u))
	for _, v := range []uint32{1, 12, 'e'<<24 | 'n'<<16 | 'U'<<8 | 'S', uint32(2 * len(u)), 28} {
		b = binary.BigEndian.AppendUint32(b, v)
	}
	return appendU16(b, u...)
}

// EncodeXYZ returns an XYZType element with one colour.
func EncodeXYZ(c cie.XYZ) []byte {
	b := append(element("XYZ ", 20), make([]byte, 12)...)
	putXYZ(b[8:], c)
	return b
}

// EncodeFixed returns an s15Fixed16ArrayType element, such as the chromatic
// adaptation matrix.
func EncodeFixed(v ...float64) []byte {
	b := element("sf32", 8+4*len(v))
	for _, x := range v {
		b = binary.BigEndian.AppendUint32(b, Fixed16(x))
	}
	return b
}

// EncodeParametric returns a parametricCurveType element of the function type
// that has that many parameters: 1, 3, 4, 5 or 7 of them, in the order g a b c d e f.
func EncodeParametric(v ...float64) []byte {
	kind := map[int]uint16{1: 0, 3: 1, 4: 2, 5: 3, 7: 4}[len(v)]
	b := appendU16(element("para", 12+4*len(v)), kind, 0)
	for _, x := range v {
		b = binary.BigEndian.AppendUint32(b, Fixed16(x))
	}
	return b
}

// EncodeCurve returns a curveType element: no value is the identity, else the
// output at evenly spaced inputs, 65535 being 1.
func EncodeCurve(table []uint16) []byte {
	b := element("curv", 12+2*len(table))
	b = binary.BigEndian.AppendUint32(b, uint32(len(table)))
	return appendU16(b, table...)
}

// EncodeMeasurement returns a measurementType element that says: 1931 observer,
// D50, geometry 45:0 or 0:45, no flare stated.
func EncodeMeasurement() []byte {
	b := element("meas", 36)
	for _, v := range []uint32{1, 0, 0, 0, 1, 0, 1} {
		b = binary.BigEndian.AppendUint32(b, v)
	}
	return b
}

// Lut is a table between two colour spaces: one curve a channel in, a grid, one
// curve a channel out. All values have 65535 as 1.
type Lut struct {
	// Grid is the number of nodes an axis, 2 to 255.
	Grid int
	// In and Out hold the curves, the same number of entries for each of one side
	// (2 to 4096), for evenly spaced inputs.
	In, Out [][]uint16
	// Nodes are the grid's values: the last input varies fastest, then the outputs
	// of one node lie together.
	Nodes []uint16
}

// IdentityCurve returns the curve that changes nothing.
func IdentityCurve() []uint16 { return []uint16{0, 65535} }

func (l *Lut) check() error {
	n := len(l.Out)
	for range l.In {
		n *= l.Grid
		if n > MaxSize {
			break
		}
	}
	if len(l.In) < 1 || len(l.In) > 15 || len(l.Out) < 1 || len(l.Out) > 15 || l.Grid < 2 || l.Grid > 255 || n != len(l.Nodes) {
		return fmt.Errorf("icc: table of %d inputs, %d outputs, grid %d with %d values", len(l.In), len(l.Out), l.Grid, len(l.Nodes))
	}
	for _, side := range [][][]uint16{l.In, l.Out} {
		for _, c := range side {
			if len(c) < 2 || len(c) > 4096 || len(c) != len(side[0]) {
				return fmt.Errorf("icc: curve of %d entries beside one of %d", len(c), len(side[0]))
			}
		}
	}
	return nil
}

// EncodeLut16 returns l as a lut16Type element (mft2), with an identity matrix.
// A CIELAB side is in the version 2 encoding: L* 100 is FF00h, a* b* 0 are 8000h.
func EncodeLut16(l Lut) ([]byte, error) {
	if err := l.check(); err != nil {
		return nil, err
	}
	b := element("mft2", 52+2*len(l.Nodes)+2*len(l.In)*len(l.In[0])+2*len(l.Out)*len(l.Out[0]))
	b = append(b, byte(len(l.In)), byte(len(l.Out)), byte(l.Grid), 0)
	for i := range 9 {
		v := uint32(0)
		if i%4 == 0 {
			v = 65536
		}
		b = binary.BigEndian.AppendUint32(b, v)
	}
	b = appendU16(b, uint16(len(l.In[0])), uint16(len(l.Out[0])))
	for _, c := range l.In {
		b = appendU16(b, c...)
	}
	b = appendU16(b, l.Nodes...)
	for _, c := range l.Out {
		b = appendU16(b, c...)
	}
	return b, nil
}

// EncodeLutAB returns l as a lutAToBType element (mAB, toPCS true) or a
// lutBToAType element (mBA), 16 bits, without matrix: curves in, grid, curves
// out. A CIELAB side is in the version 4 encoding: L* 100 is FFFFh, a* b* 0 are
// 8080h.
func EncodeLutAB(l Lut, toPCS bool) ([]byte, error) {
	if err := l.check(); err != nil {
		return nil, err
	}
	sig, bCurves, aCurves := "mBA ", l.In, l.Out
	if toPCS {
		sig, bCurves, aCurves = "mAB ", l.Out, l.In
	}
	b := append(element(sig, 64+2*len(l.Nodes)), byte(len(l.In)), byte(len(l.Out)), 0, 0)
	b = append(b, make([]byte, 20)...)
	curves := func(set [][]uint16, field int) {
		binary.BigEndian.PutUint32(b[field:], uint32(len(b)))
		for _, c := range set {
			if len(c) == 2 && c[0] == 0 && c[1] == 65535 {
				c = nil
			}
			b = append(b, EncodeCurve(c)...)
			b = append(b, make([]byte, -len(b)&3)...)
		}
	}
	curves(bCurves, 12)
	binary.BigEndian.PutUint32(b[24:], uint32(len(b)))
	var grid [16]byte
	for i := range l.In {
		grid[i] = byte(l.Grid)
	}
	b = append(b, grid[:]...)
	b = append(b, 2, 0, 0, 0)
	b = appendU16(b, l.Nodes...)
	b = append(b, make([]byte, -len(b)&3)...)
	curves(aCurves, 28)
	return b, nil
}
