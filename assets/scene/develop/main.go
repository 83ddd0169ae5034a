// Command develop makes the demo picture's files from rendered passes.
//
// A pass is linear ROMM RGB in a scan-line OpenEXR file, written by ../regatta.py.
// Passes of different seeds are averaged, the rest of their noise is filtered,
// and a print tone curve and the encoding of ROMM RGB (ISO 22028-2) are applied:
//
//	go run ./assets/scene/develop -out assets pass1.exr pass2.exr
//
// writes regatta.jpg at the passes' own size and regatta16.png, a deep copy at half
// the size. With -view it writes an 8-bit sRGB picture to look at instead; with -pins it
// prints the CIELAB of every pin.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"log"
	"math"
	"os"
	"path/filepath"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

func main() {
	log.SetFlags(0)
	out := flag.String("out", "", "folder that receives regatta.jpg and regatta16.png")
	view := flag.String("view", "", "PNG to write for looking at, in sRGB")
	pins := flag.String("pins", "", "pin list whose colours are printed")
	stops := flag.Float64("exposure", 0, "exposure in stops")
	strength := flag.Float64("denoise", 1, "strength of the noise filter; 0 is off")
	radius := flag.Int("radius", 5, "window of the noise filter in pixels")
	quality := flag.Int("quality", 92, "JPEG quality")
	bits := flag.Int("bits", 11, "significant bits of the deep copy")
	flag.Parse()
	if err := run(*out, *view, *pins, *stops, *strength, *radius, *quality, *bits, flag.Args()); err != nil {
		log.Fatal(err)
	}
}

func run(out, view, pins string, stops, strength float64, radius, quality, bits int, passes []string) error {
	if len(passes) == 0 {
		return errors.New("develop: no passes given")
	}
	p, err := merge(passes)
	if err != nil {
		return err
	}
	denoise(p, radius, strength)
	gain := math.Exp2(stops)
	romm, ok := space.ByID("romm")
	if !ok {
		return errors.New("develop: no ROMM RGB")
	}
	m := romm.ToXYZ()
	for i := range p.w * p.h {
		y := gain * (m[3]*float64(p.rgb[0][i]) + m[4]*float64(p.rgb[1][i]) + m[5]*float64(p.rgb[2][i]))
		for c := range p.rgb {
			p.rgb[c][i] = tone(gain * opened(y) * float64(p.rgb[c][i]))
		}
	}
	if pins != "" {
		if err := printPins(p, romm, pins); err != nil {
			return err
		}
	}
	if view != "" {
		if err := writeView(view, p, romm); err != nil {
			return err
		}
	}
	if out == "" {
		return nil
	}
	data, err := jpegFile(p, romm, quality)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "regatta.jpg"), data, 0o644); err != nil {
		return err
	}
	if data, err = deepFile(halved(p), romm, bits); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(out, "regatta16.png"), data, 0o644)
}

// merge averages the passes and estimates the variance of the mean at each pixel: from
// the passes' differences, or from one pass's own roughness.
func merge(paths []string) (*picture, error) {
	var p *picture
	var square plane
	for _, path := range paths {
		l, err := readEXR(path)
		if err != nil {
			return nil, err
		}
		if p == nil {
			p = &picture{w: l.w, h: l.h, vari: make(plane, l.w*l.h)}
			square = make(plane, l.w*l.h)
			for c := range 3 {
				p.rgb[c], p.albedo[c], p.normal[c] = make(plane, l.w*l.h), make(plane, l.w*l.h), make(plane, l.w*l.h)
			}
		}
		if l.w != p.w || l.h != p.h {
			return nil, fmt.Errorf("develop: %s is %dx%d, the first pass %dx%d", path, l.w, l.h, p.w, p.h)
		}
		var from [3][3]plane
		for c := range 3 {
			from[0][c] = l.find("Combined." + "RGB"[c:c+1])
			from[1][c] = l.find("DiffCol." + "RGB"[c:c+1])
			from[2][c] = l.find("Normal." + "XYZ"[c:c+1])
			for k := range from {
				if from[k][c] == nil {
					return nil, fmt.Errorf("develop: %s lacks a channel of the picture, the surface colour or the normals", path)
				}
			}
		}
		for c := range 3 {
			for i := range p.rgb[c] {
				p.rgb[c][i] += from[0][c][i]
				p.albedo[c][i] += from[1][c][i]
				p.normal[c][i] += from[2][c][i]
			}
		}
		for i := range square {
			m := (squash(from[0][0][i]) + squash(from[0][1][i]) + squash(from[0][2][i])) / 3
			p.vari[i] += m
			square[i] += m * m
		}
	}
	n := float32(len(paths))
	for c := range 3 {
		for i := range p.rgb[c] {
			p.rgb[c][i] /= n
			p.albedo[c][i] /= n
			p.normal[c][i] /= n
		}
	}
	if n > 1 {
		for i := range square {
			mean := p.vari[i] / n
			p.vari[i] = max(square[i]/n-mean*mean, 0) / (n - 1)
		}
	} else {
		m := p.vari
		p.vari = make(plane, len(m))
		for y := 1; y < p.h-1; y++ {
			for x := 1; x < p.w-1; x++ {
				i := y*p.w + x
				// second differences cancel slopes; 20 is the sum of the squared taps over
				// what one sample contributes
				d := m[i]*4 - m[i-1]*2 - m[i+1]*2 - m[i-p.w]*2 - m[i+p.w]*2 +
					m[i-p.w-1] + m[i-p.w+1] + m[i+p.w-1] + m[i+p.w+1]
				p.vari[i] = min(d*d/36, 0.02)
			}
		}
	}
	return p, nil
}

// tone is the print's tone curve on linear light: straight up to the knee, then a
// shoulder that never quite reaches 1, so that bright cloth keeps its modelling.
func tone(v float64) float32 {
	const knee = 0.62
	if v <= 0 {
		return 0
	}
	if v < knee {
		return float32(v)
	}
	return float32(knee + (1-knee)*(1-math.Exp(-(v-knee)/(1-knee))))
}

// opened is by how much the shadows are opened where the luminance is y: the deepest
// become two and a half times as bright, above 5 % of white nothing changes. The factor is
// the same for all three channels, so that dark colours keep their hue and purity.
func opened(y float64) float64 { return 1 + 1.5*math.Exp(-max(y, 0)/0.01) }

// halved averages 2x2 pixels of linear light.
func halved(p *picture) *picture {
	q := &picture{w: p.w / 2, h: p.h / 2}
	for c := range q.rgb {
		q.rgb[c] = make(plane, q.w*q.h)
		for y := range q.h {
			for x := range q.w {
				i := 2*y*p.w + 2*x
				s := p.rgb[c]
				q.rgb[c][y*q.w+x] = (s[i] + s[i+1] + s[i+p.w] + s[i+p.w+1]) / 4
			}
		}
	}
	return q
}

func writeView(path string, p *picture, romm space.Space) error {
	srgb := space.SRGB()
	img := image.NewNRGBA(image.Rect(0, 0, p.w, p.h))
	for y := range p.h {
		for x := range p.w {
			i := y*p.w + x
			lab := romm.ToLab(romm.Encode(float64(p.rgb[0][i])), romm.Encode(float64(p.rgb[1][i])), romm.Encode(float64(p.rgb[2][i])))
			v := srgb.FromLab(lab)
			var b [3]uint8
			for c := range b {
				b[c] = uint8(math.Round(255 * min(max(v[c], 0), 1)))
			}
			img.SetNRGBA(x, y, color.NRGBA{b[0], b[1], b[2], 255})
		}
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, img); err != nil {
		return err
	}
	return os.WriteFile(path, buf.Bytes(), 0o644)
}

// printPins prints the mean colour inside every pin's circle and how much it varies.
func printPins(p *picture, romm space.Space, path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var pins []struct {
		Name         string
		X, Y, Radius float64
	}
	if err := json.Unmarshal(data, &pins); err != nil {
		return fmt.Errorf("develop: %s: %w", path, err)
	}
	for _, pin := range pins {
		cx, cy, r := pin.X*float64(p.w), pin.Y*float64(p.h), pin.Radius*float64(p.w)
		var sum [3]float64
		var n float64
		lo, hi := math.Inf(1), math.Inf(-1)
		for y := max(0, int(cy-r)); y < min(p.h, int(cy+r)+1); y++ {
			for x := max(0, int(cx-r)); x < min(p.w, int(cx+r)+1); x++ {
				if math.Hypot(float64(x)+0.5-cx, float64(y)+0.5-cy) > r {
					continue
				}
				i := y*p.w + x
				var e [3]float64
				for c := range e {
					e[c] = float64(p.rgb[c][i])
					sum[c] += e[c]
				}
				l := labOf(romm, e).L
				lo, hi = min(lo, l), max(hi, l)
				n++
			}
		}
		for c := range sum {
			sum[c] /= n
		}
		lab := labOf(romm, sum)
		v := space.SRGB().FromLab(lab)
		out := ""
		if min(v[0], v[1], v[2]) < 0 || max(v[0], v[1], v[2]) > 1 {
			out = fmt.Sprintf("  outside sRGB (%.2f %.2f %.2f)", v[0], v[1], v[2])
		}
		fmt.Printf("%-8s L* %5.1f  a* %6.1f  b* %6.1f  C* %5.1f  h %5.1f  L* %.1f to %.1f%s\n",
			pin.Name, lab.L, lab.A, lab.B, lab.Chroma(), lab.Hue(), lo, hi, out)
	}
	return nil
}

func labOf(s space.Space, linear [3]float64) cie.Lab {
	return s.ToLab(s.Encode(linear[0]), s.Encode(linear[1]), s.Encode(linear[2]))
}
