// Package papertest makes profiles that papers must be guarded against, for tests.
package papertest

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/paper"
)

// Infinite is a sound paper's profile, given the floating point elements of version 4.3
// on the way to Lab: three matrices, each times 10^19, which is more than single precision
// holds. Layout: ICC.1:2010, 10.14 (multiProcessElementsType), from memory, checked by
// Little CMS reading it.
func Infinite(t testing.TB, white cie.XYZ) []byte {
	t.Helper()
	be := binary.BigEndian
	matrix := append([]byte("matf\x00\x00\x00\x00"), 0, 3, 0, 3)
	for i := range 12 {
		v := float32(0)
		if i < 9 && i%4 == 0 {
			v = 1e19
		}
		matrix = be.AppendUint32(matrix, math.Float32bits(v))
	}
	elements := append([]byte("mpet\x00\x00\x00\x00"), 0, 3, 0, 3, 0, 0, 0, 3)
	for range 3 {
		elements = be.AppendUint32(be.AppendUint32(elements, 16+3*8), uint32(len(matrix)))
	}
	elements = append(elements, matrix...)
	tables := paper.All()[0].Profile.File()
	d := icc.Draft{Version: icc.Version43, Class: icc.ClassOutput, Space: icc.SpaceRGB, PCS: icc.SpaceLab, Created: time.Unix(1e9, 0)}
	d.Add("desc", icc.EncodeLocalized("Infinite"))
	d.Add("wtpt", icc.EncodeXYZ(white))
	for _, sig := range []icc.Signature{"A2B0", "A2B1", "B2A0", "B2A1"} {
		b, ok := tables.Tag(sig)
		if !ok {
			t.Fatalf("the paper has no %s", sig)
		}
		d.Add(sig, b)
	}
	d.Add("D2B1", elements) // relative
	d.Add("D2B3", elements) // absolute
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return data
}
