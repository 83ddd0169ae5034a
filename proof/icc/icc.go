// Package icc reads and writes the container of ICC profiles: the 128-byte
// header, the tag table and the few tags that Firstsheet wants to know about
// itself. It follows ICC.1:2022 (profile version 4.4) and ICC.1:2001-04 (2.4).
//
// Colour is deliberately not computed here; that is Little CMS's part. Every
// offset and length is checked before the bytes are handed on, because a profile
// is a file from anywhere.
package icc

import (
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"firstsheet/proof/cie"
)

// MaxSize is the largest profile that is read. Real output profiles are 0.1 to
// 5 MB; the largest device-n ones seen in practice stay below 20 MB (from memory).
const MaxSize = 64 << 20

// maxTags bounds the tag table; profiles in use carry 9 to about 30 tags.
const maxTags = 200

const headerSize = 128

// Signature is a four-character code.
type Signature string

// Profile and device classes, colour spaces and tags that the program looks at.
const (
	ClassInput      Signature = "scnr"
	ClassDisplay    Signature = "mntr"
	ClassOutput     Signature = "prtr"
	ClassLink       Signature = "link"
	ClassSpace      Signature = "spac"
	ClassAbstract   Signature = "abst"
	ClassNamedColor Signature = "nmcl"

	SpaceRGB  Signature = "RGB "
	SpaceCMYK Signature = "CMYK"
	SpaceGray Signature = "GRAY"
	SpaceLab  Signature = "Lab "
	SpaceXYZ  Signature = "XYZ "
)

// ErrDamaged is what every [FormatError] is, for errors.Is.
var ErrDamaged = errors.New("icc: damaged profile")

// FormatError says what is wrong with the bytes of a profile.
type FormatError struct{ Reason string }

func (e *FormatError) Error() string        { return "icc: " + e.Reason }
func (e *FormatError) Is(target error) bool { return target == ErrDamaged }

func damaged(format string, args ...any) error { return &FormatError{fmt.Sprintf(format, args...)} }

// Profile is a profile whose header and tag table were found sound. It keeps the
// data it was parsed from, which must not be changed afterwards.
type Profile struct {
	Data []byte
	// Major and Minor are the profile's version, such as 4 and 3.
	Major, Minor int
	Class        Signature
	Space        Signature // of the device side
	PCS          Signature // profile connection space, or the far side of a device link
	// Tags are in file order.
	Tags []Tag
}

// Tag is one entry of the tag table; Offset and Size lie inside the data.
type Tag struct {
	Signature    Signature
	Offset, Size int
}

// Parse checks the header and the tag table of an ICC profile. Trailing bytes
// after the size that the header gives are cut off. The errors are *FormatError.
func Parse(data []byte) (*Profile, error) {
	if len(data) < headerSize+4 {
		return nil, damaged("%d bytes are fewer than a header", len(data))
	}
	if len(data) > MaxSize {
		return nil, damaged("%d bytes are more than the limit of %d", len(data), MaxSize)
	}
	if string(data[36:40]) != "acsp" {
		return nil, damaged("no profile signature at byte 36")
	}
	size := binary.BigEndian.Uint32(data)
	if int64(size) > int64(len(data)) {
		return nil, damaged("the header gives %d bytes, the file has %d", size, len(data))
	}
	if size < headerSize+4 {
		return nil, damaged("the header gives a size of %d bytes", size)
	}
	data = data[:size]
	p := &Profile{
		Data:  data,
		Major: int(data[8]), Minor: int(data[9] >> 4),
		Class: Signature(data[12:16]), Space: Signature(data[16:20]), PCS: Signature(data[20:24]),
	}
	if p.Major < 2 || p.Major > 5 {
		return nil, damaged("version %d.%d is not known", p.Major, p.Minor)
	}
	n := binary.BigEndian.Uint32(data[headerSize:])
	if n > maxTags || headerSize+4+12*int(n) > len(data) {
		return nil, damaged("a tag table of %d entries does not fit", n)
	}
	for i := 0; i < int(n); i++ {
		e := data[headerSize+4+12*i:]
		t := Tag{Signature(e[:4]), int(binary.BigEndian.Uint32(e[4:])), int(binary.BigEndian.Uint32(e[8:]))}
		if t.Offset < headerSize || t.Size < 8 || t.Offset > len(data)-t.Size {
			return nil, damaged("tag %q runs past the end (offset %d, size %d, file %d)", string(t.Signature), t.Offset, t.Size, len(data))
		}
		p.Tags = append(p.Tags, t)
	}
	return p, nil
}

// Tag returns the bytes of the tag with that signature, its type first, and
// whether the profile has it.
func (p *Profile) Tag(sig Signature) ([]byte, bool) {
	for _, t := range p.Tags {
		if t.Signature == sig {
			return p.Data[t.Offset : t.Offset+t.Size], true
		}
	}
	return nil, false
}

// Has reports whether the profile has that tag.
func (p *Profile) Has(sig Signature) bool { _, ok := p.Tag(sig); return ok }

// TagType returns the type signature of a tag, or "" without the tag.
func (p *Profile) TagType(sig Signature) Signature {
	b, ok := p.Tag(sig)
	if !ok {
		return ""
	}
	return Signature(b[:4])
}

// Version returns the version as it is usually written, such as "4.3".
func (p *Profile) Version() string { return fmt.Sprintf("%d.%d", p.Major, p.Minor) }

// Channels returns how many device channels the profile's colour space has, or 0
// for a space that is not a device's.
func (p *Profile) Channels() int { return p.Space.Channels() }

// Channels returns how many channels a device colour space has, or 0.
func (s Signature) Channels() int {
	switch s {
	case SpaceGray:
		return 1
	case SpaceRGB, "CMY ", "HSV ", "HLS ", "YCbr":
		return 3
	case SpaceCMYK:
		return 4
	}
	if len(s) == 4 && s[1:] == "CLR" {
		if n := strings.IndexByte("0123456789ABCDEF", s[0]); n >= 2 {
			return n
		}
	}
	return 0
}

// ClassName returns what a profile of the class is, in words, with its article.
func (s Signature) ClassName() string {
	switch s {
	case ClassInput:
		return "a camera or scanner profile"
	case ClassDisplay:
		return "a display profile"
	case ClassOutput:
		return "an output profile"
	case ClassLink:
		return "a device-link profile"
	case ClassSpace:
		return "a colour space profile"
	case ClassAbstract:
		return "an abstract profile"
	case ClassNamedColor:
		return "a named-colour profile"
	}
	return fmt.Sprintf("a profile of the unknown class %q", string(s))
}

// Created returns when the profile was made, by its header, and whether that is a day
// at all.
func (p *Profile) Created() (time.Time, bool) {
	var v [6]int
	for i := range v {
		v[i] = int(binary.BigEndian.Uint16(p.Data[24+2*i:]))
	}
	t := time.Date(v[0], time.Month(v[1]), v[2], v[3], v[4], v[5], 0, time.UTC)
	sound := v[0] >= 1990 && v[0] < 2200 && int(t.Month()) == v[1] && t.Day() == v[2]
	return t, sound
}

// MediaWhite returns the media white point tag, D50-adapted XYZ, and whether
// there is a sound one.
func (p *Profile) MediaWhite() (cie.XYZ, bool) {
	b, ok := p.Tag("wtpt")
	if !ok || len(b) < 20 || string(b[:4]) != "XYZ " {
		return cie.XYZ{}, false
	}
	v := func(at int) float64 { return float64(int32(binary.BigEndian.Uint32(b[at:]))) / 65536 }
	w := cie.XYZ{X: v(8), Y: v(12), Z: v(16)}
	return w, w.X > 0 && w.Y > 0 && w.Z > 0
}

// Whites that a print or a screen can have: from a dark card to paper with much
// brightener, and as yellow or blue as any light. Own choice, far from all in use.
const (
	darkestWhite, lightestWhite = 10.0, 115.0 // L*
	strongestWhite              = 80.0        // C*
)

// CheckWhite reports a media white point that can't be one, as a *FormatError: colour
// engines would compute with it. A profile without one is sound.
func (p *Profile) CheckWhite() error {
	b, ok := p.Tag("wtpt")
	if !ok || len(b) < 20 || string(b[:4]) != "XYZ " {
		return nil // the engine takes D50 for it
	}
	w, positive := p.MediaWhite()
	c := w.ToLab(cie.D50)
	if !positive || c.L < darkestWhite || c.L > lightestWhite || math.Hypot(c.A, c.B) > strongestWhite {
		return damaged("its media white point is XYZ %.4f, %.4f, %.4f (L* %.0f), which no white can have", w.X, w.Y, w.Z, c.L)
	}
	return nil
}

// ID returns the MD5 of the profile as ICC.1:2022, 7.2.18 defines it: with the
// flags, the rendering intent and the ID field taken as zero. Two files with one
// ID are the same profile.
func (p *Profile) ID() [16]byte { return computeID(p.Data) }

func computeID(data []byte) [16]byte {
	var head [headerSize]byte
	copy(head[:], data)
	for _, span := range [][2]int{{44, 48}, {64, 68}, {84, 100}} {
		clear(head[span[0]:span[1]])
	}
	h := md5.New()
	h.Write(head[:])
	h.Write(data[headerSize:])
	return [16]byte(h.Sum(nil))
}

// EightBit reports whether the table that colours reach the paper through, with
// that tag, has only 8 bits (type mft1): its rounding then hides differences of
// about 1 ΔE00.
func (p *Profile) EightBit(sig Signature) bool { return p.TagType(sig) == "mft1" }
