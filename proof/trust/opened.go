package trust

import (
	"math"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// opened is a profile opened to be asked for single colours.
type opened struct {
	channels int
	ink      float64            // the most that its tables ask for, 0 for no limit
	into     [3]*lcms.Transform // Lab to device, by intent
	relative *lcms.Transform    // device to Lab
	absolute *lcms.Transform
	bare     float64 // the number that leaves the paper bare
	free     []func()
}

func open(p *proof.Profile, ink float64) (_ *opened, err error) {
	q := &opened{channels: p.Channels(), ink: ink}
	if q.channels == 3 || q.channels == 1 {
		q.bare = 1
	}
	defer func() {
		if err != nil {
			q.close()
			err = &proof.ProfileError{Op: "check", Profile: p.Name(), Kind: proof.Refused, Err: err}
		}
	}()
	c, err := lcms.NewContext()
	if err != nil {
		return nil, err
	}
	q.free = append(q.free, c.Close)
	device, err := c.Open(p.Data())
	if err != nil {
		return nil, err
	}
	q.free = append(q.free, device.Close)
	lab, err := c.Lab()
	if err != nil {
		return nil, err
	}
	q.free = append(q.free, lab.Close)
	make := func(to **lcms.Transform, from, by *lcms.Profile, intent proof.Intent) {
		if err != nil {
			return
		}
		if *to, err = c.Float(from, by, lcms.Options{Intent: int(intent)}); err == nil {
			q.free = append(q.free, (*to).Close)
		}
	}
	for i := range q.into {
		make(&q.into[i], lab, device, proof.Intent(i))
	}
	make(&q.relative, device, lab, proof.RelativeColorimetric)
	make(&q.absolute, device, lab, proof.AbsoluteColorimetric)
	return q, err
}

func (q *opened) close() {
	for i := range q.free {
		q.free[len(q.free)-1-i]()
	}
}

// looks returns the colours of device numbers, relative to the paper's white.
func (q *opened) looks(device []float64) []cie.Lab { return q.run(q.relative, device) }

func (q *opened) run(t *lcms.Transform, device []float64) []cie.Lab {
	flat := make([]float64, len(device)/q.channels*3)
	t.Run(flat, device)
	out := make([]cie.Lab, len(flat)/3)
	for i := range out {
		out[i] = cie.Lab{L: flat[3*i], A: flat[3*i+1], B: flat[3*i+2]}
	}
	return out
}

// numbers returns the device numbers that colours are printed with, in 0 to 1.
func (q *opened) numbers(asked []cie.Lab, intent proof.Intent) []float64 {
	flat := make([]float64, 3*len(asked))
	for i, c := range asked {
		flat[3*i], flat[3*i+1], flat[3*i+2] = c.L, c.A, c.B
	}
	device := make([]float64, q.channels*len(asked))
	q.into[intent].Run(device, flat)
	for i, v := range device {
		if device[i] = min(max(v, 0), 1); math.IsNaN(v) {
			device[i] = 0
		}
	}
	return device
}

// print returns what colours come out as by the colorimetric tables.
func (q *opened) print(asked []cie.Lab) []cie.Lab {
	return q.looks(q.numbers(asked, proof.RelativeColorimetric))
}
