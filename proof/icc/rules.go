package icc

import (
	"encoding/binary"
	"fmt"
	"math"

	"firstsheet/proof/cie"
)

// OutputFaults returns what in p breaks the rules of ICC.1 for an output profile,
// of tables or, in one grey ink, of a curve; one sentence each, and a profile in
// order has none. Many profiles in use have some and work nevertheless.
//
// It looks at: the header's size, class, connection space, illuminant, zero
// bytes and profile ID; the tag table (no tag twice, offsets on four bytes, none
// inside the header); required tags and their types; the white point's range;
// each table's channel counts.
//
// Source: ICC.1:2010, 7.2, 7.3, 8.5 (required tags of an N-component LUT-based and of
// a monochrome output profile), 9.2.
func (p *Profile) OutputFaults() []string {
	var faults []string
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	d := p.Data
	if size := binary.BigEndian.Uint32(d); int(size) != len(d) {
		fault("the header gives %d bytes, there are %d", size, len(d))
	}
	if len(d)%4 != 0 {
		fault("the size %d is no multiple of 4", len(d))
	}
	if p.Class != ClassOutput {
		fault("the class is %q", string(p.Class))
	}
	if p.PCS != SpaceLab && p.PCS != SpaceXYZ {
		fault("the connection space is %q", string(p.PCS))
	}
	for i, want := range []uint32{Fixed16(cie.D50.X), Fixed16(cie.D50.Y), Fixed16(cie.D50.Z)} {
		got := binary.BigEndian.Uint32(d[68+4*i:])
		if diff := int64(got) - int64(want); diff < -1 || diff > 1 {
			fault("component %d of the illuminant is %08X, not D50's %08X", i+1, got, want)
		}
	}
	if binary.BigEndian.Uint32(d[64:]) > 3 {
		fault("the rendering intent is %d", binary.BigEndian.Uint32(d[64:]))
	}
	for i := 100; i < headerSize; i++ {
		if d[i] != 0 {
			fault("byte %d of the header is reserved and not zero", i)
			break
		}
	}
	if p.Major >= 4 {
		if id := [16]byte(d[84:100]); id != ([16]byte{}) && id != p.ID() {
			fault("the profile ID does not belong to these bytes")
		}
	}

	seen := map[Signature]bool{}
	tableEnd := headerSize + 4 + 12*len(p.Tags)
	for _, t := range p.Tags {
		if seen[t.Signature] {
			fault("tag %q comes twice", string(t.Signature))
		}
		seen[t.Signature] = true
		if t.Offset%4 != 0 {
			fault("tag %q starts at byte %d, no multiple of 4", string(t.Signature), t.Offset)
		}
		if t.Offset < tableEnd {
			fault("tag %q starts at byte %d, inside the tag table", string(t.Signature), t.Offset)
		}
	}

	text := []Signature{"desc"}
	copyright := []Signature{"text"}
	toPCS, fromPCS, curve := []Signature{"mft1", "mft2"}, []Signature{"mft1", "mft2"}, []Signature{"curv"}
	if p.Major >= 4 {
		text, copyright, curve = []Signature{"mluc"}, []Signature{"mluc"}, []Signature{"curv", "para"}
		toPCS, fromPCS = append(toPCS, "mAB "), append(fromPCS, "mBA ")
	}
	type rule struct {
		sig   Signature
		types []Signature
		// in and out are the channels of a table, 0 for no table.
		in, out int
	}
	required := []rule{
		{"desc", text, 0, 0}, {"cprt", copyright, 0, 0}, {"wtpt", []Signature{"XYZ "}, 0, 0},
	}
	tables := []rule{
		{"A2B0", toPCS, p.Channels(), 3}, {"A2B1", toPCS, p.Channels(), 3}, {"A2B2", toPCS, p.Channels(), 3},
		{"B2A0", fromPCS, 3, p.Channels()}, {"B2A1", fromPCS, 3, p.Channels()}, {"B2A2", fromPCS, 3, p.Channels()},
		{"gamt", fromPCS, 3, 1},
	}
	if p.Space == SpaceGray && !p.Has("A2B0") {
		required = append(required, rule{"kTRC", curve, 0, 0})
	} else {
		required = append(required, tables...)
	}
	for _, r := range required {
		b, ok := p.Tag(r.sig)
		if !ok {
			fault("tag %q is missing", string(r.sig))
			continue
		}
		known := false
		for _, t := range r.types {
			known = known || Signature(b[:4]) == t
		}
		if !known {
			fault("tag %q has the type %q", string(r.sig), string(b[:4]))
			continue
		}
		if binary.BigEndian.Uint32(b[4:]) != 0 {
			fault("tag %q: the four bytes after the type are not zero", string(r.sig))
		}
		if r.in > 0 && len(b) > 10 && (int(b[8]) != r.in || int(b[9]) != r.out) {
			fault("tag %q leads from %d to %d channels, not from %d to %d", string(r.sig), b[8], b[9], r.in, r.out)
		}
	}
	if w, ok := p.MediaWhite(); ok {
		if c := w.ToLab(cie.D50); c.L < 50 || c.L > 101 || math.Hypot(c.A, c.B) > 40 {
			fault("the media white is L* a* b* %v", c)
		}
	}
	return faults
}
