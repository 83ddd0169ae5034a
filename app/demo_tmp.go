package main

import (
	"context"
	"math"

	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

func demoTmp(context.Context) (*photo.Picture, []pin.Pin, error) {
	w, h := 1800, 1200
	p := &photo.Picture{W: w, H: h, Channels: 3, Depth: 16, Pix16: make([]uint16, w*h*3)}
	for y := range h {
		for x := range w {
			hue := float64(x) / float64(w) * 2 * math.Pi
			l := 1 - float64(y)/float64(h)
			c := 0.45 * math.Sin(l*math.Pi)
			for k := range 3 {
				v := l + c*math.Cos(hue-float64(k)*2*math.Pi/3)
				p.Pix16[(y*w+x)*3+k] = uint16(math.Max(0, math.Min(1, v)) * 65535)
			}
		}
	}
	s, _ := space.ByID("romm")
	p.Space = &s
	return p, []pin.Pin{{Name: "shirt", X: .1, Y: .5, Radius: .006}}, nil
}
