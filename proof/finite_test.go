package proof

import (
	"context"
	"encoding/binary"
	"errors"
	"math"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

// unbounded is a display profile whose floating point elements, which go before its
// matrix, multiply the numbers from the threshold on (0 for all) by 10^57: more than
// single precision holds. Layout: ICC.1:2010, 10.14 (multiProcessElementsType), from
// memory, checked by Little CMS reading it.
func unbounded(t *testing.T, threshold float32) *Profile {
	t.Helper()
	be, float := binary.BigEndian, func(b []byte, v ...float32) []byte {
		for _, x := range v {
			b = binary.BigEndian.AppendUint32(b, math.Float32bits(x))
		}
		return b
	}
	head := func(sig string, v ...uint16) []byte {
		b := append([]byte(sig), 0, 0, 0, 0)
		for _, x := range v {
			b = be.AppendUint16(b, x)
		}
		return b
	}
	// y = x up to the threshold, from there on 10^19 * x.
	curve := float(head("curf", 2, 0), threshold)
	for _, gain := range []float32{1, 1e19} {
		curve = float(append(curve, head("parf", 0, 0)...), 1, gain, 0, 0) // (gain*x + 0)^1 + 0
	}
	curves := head("cvst", 3, 3)
	for range 3 {
		curves = be.AppendUint32(be.AppendUint32(curves, 12+3*8), uint32(len(curve)))
	}
	curves = append(curves, curve...)
	matrix := head("matf", 3, 3)
	for i := range 12 {
		v := float32(0)
		if i < 9 && i%4 == 0 {
			v = 1e19
		}
		matrix = float(matrix, v)
	}
	elements := be.AppendUint32(head("mpet", 3, 3), 3)
	at := uint32(len(elements) + 3*8)
	for _, e := range [][]byte{curves, matrix, matrix} {
		elements = be.AppendUint32(be.AppendUint32(elements, at), uint32(len(e)))
		at += uint32(len(e))
	}
	elements = append(append(append(elements, curves...), matrix...), matrix...)

	d := icc.Draft{Version: icc.Version43, Class: icc.ClassDisplay, Space: icc.SpaceRGB, PCS: "XYZ ", Created: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
	d.Add("desc", icc.EncodeLocalized("unbounded"))
	d.Add("wtpt", icc.EncodeXYZ(cie.D50))
	m := space.SRGB().ToXYZ()
	for i, tag := range []icc.Signature{"rXYZ", "gXYZ", "bXYZ"} {
		d.Add(tag, icc.EncodeXYZ(cie.XYZ{X: m[i], Y: m[3+i], Z: m[6+i]}))
	}
	for _, tag := range []icc.Signature{"rTRC", "gTRC", "bTRC"} {
		d.Add(tag, icc.EncodeCurve(nil))
	}
	d.Add("D2B1", elements)
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewProfile("unbounded", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestNumbersThatAreNotFiniteAreRefused(t *testing.T) {
	before := lcms.Live()
	for _, threshold := range []float32{0, 0.8} {
		e := NewEngine()
		p := unbounded(t, threshold)
		paper := realProfile(t, "default_cmyk.icc")
		for _, plan := range []Plan{{Source: p, Screen: SpaceProfile(space.SRGB())}, rightPlan(p, paper, Perceptual, true, ScreenWhite)} {
			for what, err := range map[string]error{
				"Chain": func() error { _, err := e.Chain(plan); return err }(),
				"Grid":  func() error { _, err := e.Grid(context.Background(), plan, Draft); return err }(),
			} {
				pe, ok := errors.AsType[*ProfileError](err)
				if !ok || pe.Kind != Refused || pe.Profile != "unbounded" || !errors.Is(err, ErrNotFinite) {
					t.Errorf("from %g on, %s: %v, want a *ProfileError of that profile", threshold, what, err)
				}
			}
		}
		e.Close()
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}
