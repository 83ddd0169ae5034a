package proof

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"firstsheet/assets"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/space"
)

// Where a conversion begins at the originals it gives the numbers that Little CMS's own link
// gives from the source's: the same ones, or with compensation, which is computed in single
// precision, nearly. Compensation has to be told of a black that has light; so has a table
// that differs from intent to intent.
func TestConversionsFromOriginals(t *testing.T) {
	const off = 2e-4 // of full scale: steps of the paper's curves, which have 16 bits
	lifted := space.SRGB()
	lifted.Name = "lifted black"
	lifted.Curve = space.Curve{G: 2.4, A: 0.9, B: 0.1} // black has 0.4 % of the light
	demo, err := NewProfile("", assets.Papers()[0].ICC)
	if err != nil {
		t.Fatal(err)
	}
	romm, _ := space.ByID("romm")
	inks := realProfile(t, "ISOcoated_v2_300_bas.icc")
	r := rand.New(rand.NewPCG(41, 42))
	for _, k := range []struct {
		source *Profile
		is     bool
	}{
		{SpaceProfile(space.SRGB()), true},
		{SpaceProfile(romm), true},
		{realProfile(t, "AdobeRGB1998.icc"), true},
		{realProfile(t, "sgray.icc"), true},
		{SpaceProfile(lifted), false},
		{twoLooks(t), false},
		{demo, false},
		{inks, false},
	} {
		src := make([]float64, 3000*k.source.Channels())
		for i := range src {
			src[i] = r.Float64() * float64(i%3) / 2
		}
		for _, paper := range []*Profile{demo, inks} {
			for _, intent := range Intents() {
				for _, bpc := range []bool{false, true} {
					c, err := newCore(rightPlan(k.source, paper, intent, bpc, ScreenWhite))
					if err != nil {
						t.Fatal(err)
					}
					name := k.source.Name() + " to " + paper.Name() + ", " + intent.String()
					if is := k.is && intent != AbsoluteColorimetric; c.fromLab != is {
						t.Errorf("%s: from originals %t", name, c.fromLab)
					}
					got, err := c.separate(src)
					if err != nil {
						t.Fatal(err)
					}
					worst := 0.0
					for i, want := range wholeLink(t, c, Conversion{From: k.source, To: paper, Intent: intent, BPC: bpc}, src) {
						worst = max(worst, math.Abs(got[i]-want))
					}
					if worst > off || !bpc && intent == RelativeColorimetric && worst != 0 {
						t.Errorf("%s, compensation %t: numbers are off by up to %.6f", name, bpc, worst)
					}
					c.release()
				}
			}
		}
	}
}

// twoLooks is a source of version 2 whose perceptual table tells twice the chroma that the
// colorimetric one does; black has no light by either.
func twoLooks(t *testing.T) *Profile {
	t.Helper()
	d := icc.Draft{Version: icc.Version24, Class: icc.ClassDisplay, Space: icc.SpaceRGB, PCS: "Lab ", Created: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)}
	d.Add("desc", icc.EncodeDescription("two looks"))
	d.Add("cprt", icc.EncodeText("none"))
	d.Add("wtpt", icc.EncodeXYZ(cie.D50))
	for i, tag := range []icc.Signature{"A2B0", "A2B1"} {
		straight := [][]uint16{icc.IdentityCurve(), icc.IdentityCurve(), icc.IdentityCurve()}
		l := icc.Lut{Grid: 2, In: straight, Out: straight}
		for node := range 8 { // L* by green, a* by the two others
			l.Nodes = append(l.Nodes, uint16(0xff00*(node>>1&1)), uint16(0x8000+(node&1-node>>2&1)*0x2000/(1+i)), 0x8000)
		}
		b, err := icc.EncodeLut16(l)
		if err != nil {
			t.Fatal(err)
		}
		d.Add(tag, b)
	}
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewProfile("two looks", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// wholeLink returns what one link makes of numbers.
func wholeLink(t *testing.T, c *core, k Conversion, src []float64) []float64 {
	t.Helper()
	open, err := newOpener(c.ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer open.close()
	defer open.links.close()
	l, err := open.link(k.From, k.To, k.Intent, k.BPC)
	if err != nil {
		t.Fatal(err)
	}
	in, out := l.Channels()
	dst := make([]float64, len(src)/in*out)
	if err := l.run(dst, src); err != nil {
		t.Fatal(err)
	}
	clipAll(dst)
	return dst
}
