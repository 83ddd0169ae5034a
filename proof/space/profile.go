package space

import (
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
)

// ICC returns the space as an ICC profile of version 4.3, class display, with
// matrix and parametric curves: to be embedded in files. The bytes are always the
// same. Its colorants are rounded to 1/65536 as the format demands.
//
// Source: ICC.1:2010, 8.3.3 (three-component matrix-based display profiles).
func (s Space) ICC() []byte {
	d := icc.Draft{Version: icc.Version43, Class: icc.ClassDisplay, Space: icc.SpaceRGB, PCS: icc.SpaceXYZ,
		Created: time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)}
	d.Add("desc", icc.EncodeLocalized(s.Name))
	d.Add("cprt", icc.EncodeLocalized("No copyright, use freely"))
	d.Add("wtpt", icc.EncodeXYZ(cie.D50))
	adaptation := cie.Adaptation(cie.FromXY(s.White[0], s.White[1]), cie.D50)
	d.Add("chad", icc.EncodeFixed(adaptation[:]...))
	m := s.ToXYZ()
	for i, tag := range []icc.Signature{"rXYZ", "gXYZ", "bXYZ"} {
		d.Add(tag, icc.EncodeXYZ(cie.XYZ{X: m[i], Y: m[3+i], Z: m[6+i]}))
	}
	for _, tag := range []icc.Signature{"rTRC", "gTRC", "bTRC"} { // all three share one curve
		k := s.Curve
		d.Add(tag, icc.EncodeParametric(k.G, k.A, k.B, k.C, k.D))
	}
	data, err := d.Bytes()
	if err != nil {
		panic(err) // the draft above is well formed whatever the space
	}
	return data
}
