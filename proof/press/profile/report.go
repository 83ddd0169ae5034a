package profile

import (
	"errors"
	"math/rand/v2"
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
)

// report measures the finished version 2 profile, read back from its bytes.
func (b *builder) report() error {
	p, err := icc.Parse(b.result.V2)
	if err != nil {
		return err
	}
	var luts [2]icc.Lut
	for i, sig := range []icc.Signature{"A2B1", "B2A1"} {
		tag, _ := p.Tag(sig)
		if luts[i], err = icc.DecodeLut16(tag); err != nil {
			return err
		}
	}
	forward, inverse := luts[0], luts[1]
	white, ok := p.MediaWhite()
	if !ok {
		return errors.New("profile: the profile written has no media white")
	}
	b.white = white
	print := func(d []float64) cie.Lab { return encodingV2.decode(Evaluate(forward, d)) }
	r := &b.result.Report
	n := b.spec.Channels
	rng := rand.New(rand.NewPCG(1976, 2000))
	random := func() []float64 {
		for {
			d := make([]float64, n)
			sum := 0.0
			for ch := range d {
				d[ch] = rng.Float64()
				sum += d[ch]
			}
			if n == 3 || b.spec.TotalInk == 0 || sum <= b.spec.TotalInk {
				return d
			}
		}
	}
	var fit, back []float64
	for range 1000 {
		d := random()
		fit = append(fit, cie.DeltaE00(b.spec.Forward(d), b.absolute(print(d))))
	}
	for range 4000 {
		c := print(random())
		back = append(back, cie.DeltaE00(c, print(EvaluateLab(inverse, encodingV2.encode(c)))))
	}
	r.Forward, r.RoundTrip = stats(fit), stats(back)
	r.White = b.absolute(print(b.bare()))
	r.Black = b.absolute(print(EvaluateLab(inverse, encodingV2.encode(cie.Lab{}))))
	return nil
}

func stats(v []float64) Stats {
	slices.Sort(v)
	s := Stats{Count: len(v), Max: v[len(v)-1], P95: v[(len(v)*95+99)/100-1]}
	for _, x := range v {
		s.Mean += x / float64(len(v))
	}
	return s
}
