package light

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/gamut"
	"firstsheet/proof/space"
)

// Engine is what the package asks of the engine; *proof.Engine is one.
type Engine interface {
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
}

// Screen is what its profile says of a screen.
type Screen struct {
	// Description is the profile's own name; Version its ICC version, "" for a
	// built-in space.
	Description, Version string
	// Made is when the profile was made, zero where it does not say.
	Made time.Time
	// White is the screen's own white as tristimulus values with Y = 1, before it was
	// adapted to D50; Kelvin its correlated colour temperature, 0 where it is off
	// the range of whites; Off its distance from that light in CIE 1960 u, v.
	White  cie.XYZ
	Kelvin float64
	Off    float64
	// Luminance is the white's in cd/m2, 0 where the profile does not say.
	Luminance float64
	// Black is the L* of the screen's black by its profile.
	Black float64
	// Volume is that of its gamut in cubic Lab units, SRGB that of sRGB.
	Volume, SRGB float64
}

// InspectScreen reads a screen's profile and measures out its gamut. It returns
// ctx.Err() when it was stopped.
func InspectScreen(ctx context.Context, e Engine, p *proof.Profile) (Screen, error) {
	s := Screen{Description: p.Name()}
	if sp, ok := p.Space(); ok {
		s.White = cie.FromXY(sp.White[0], sp.White[1])
	} else {
		f := p.File()
		s.Version = f.Version()
		if d := f.Description(); d != "" {
			s.Description = d
		}
		s.Made = made(f.Data)
		s.White = cie.D50
		if w, ok := f.MediaWhite(); ok {
			s.White = w.Scale(1 / w.Y)
		}
		// A white that was adapted to D50 is brought back by the matrix that did
		// it (ICC.1:2022, 9.2.15 and annex E).
		if m, ok := numbers(f.Tag("chad")); ok && len(m) == 9 {
			if back, ok := (cie.Mat3)(m).Inverse(); ok {
				if w := s.White.Transform(back); w.Y > 0 {
					s.White = w.Scale(1 / w.Y)
				}
			}
		}
		if l, ok := numbers(f.Tag("lumi")); ok && len(l) >= 3 {
			s.Luminance = l[1]
		}
	}
	s.Kelvin, s.Off = Kelvin(s.White)
	chain, err := e.Chain(proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return s, err
	}
	s.Black = chain.Value(make([]float64, p.Channels())).Original.L
	chain.Close()
	o, err := gamut.SpaceOutline(ctx, e, p)
	if err != nil {
		return s, err
	}
	s.Volume = o.Volume
	if o, err = gamut.SpaceOutline(ctx, e, proof.SpaceProfile(space.SRGB())); err != nil {
		return s, err
	}
	s.SRGB = o.Volume
	return s, nil
}

// made reads the date of a profile's header (ICC.1:2022, 7.2.8), which is in UTC.
func made(data []byte) time.Time {
	if len(data) < 36 {
		return time.Time{}
	}
	var v [6]int
	for i := range v {
		v[i] = int(binary.BigEndian.Uint16(data[24+2*i:]))
	}
	t := time.Date(v[0], time.Month(v[1]), v[2], v[3], v[4], v[5], 0, time.UTC)
	// A date that time has to mend, such as month 0, is no date.
	if v[0] < 1990 || t.Month() != time.Month(v[1]) || t.Day() != v[2] || t.Hour() != v[3] || t.Minute() != v[4] || t.Second() != v[5] {
		return time.Time{}
	}
	return t
}

// numbers reads the signed fixed-point numbers of a tag of type XYZ or sf32.
func numbers(b []byte, ok bool) ([]float64, bool) {
	if !ok || len(b) < 20 || string(b[:4]) != "sf32" && string(b[:4]) != "XYZ " {
		return nil, false
	}
	var out []float64
	for at := 8; at+4 <= len(b); at += 4 {
		out = append(out, float64(int32(binary.BigEndian.Uint32(b[at:])))/65536)
	}
	if string(b[:4]) == "sf32" && len(out) > 9 {
		out = out[:9]
	}
	return out, true
}

// Kelvin returns the correlated colour temperature of a white and how far it lies
// from the light of that temperature in CIE 1960 u, v: the nearest of the
// daylights from 4000 K up and of black bodies below. It returns 0 for whites
// that lie farther off than 0.05, for which the notion has no meaning (CIE 15).
func Kelvin(white cie.XYZ) (kelvin, off float64) {
	u, v := uv(white)
	best := math.Inf(1)
	for step := 0; ; step++ {
		// Even in reciprocal temperature, as differences are seen.
		mired := 40.0 + 0.25*float64(step)
		k := 1e6 / mired
		if k < MinKelvin {
			break
		}
		w, err := White(k)
		if err != nil {
			continue
		}
		wu, wv := uv(w)
		if d := math.Hypot(wu-u, wv-v); d < best {
			best, kelvin = d, k
		}
	}
	if best > 0.05 {
		return 0, best
	}
	return kelvin, best
}

// uv returns the CIE 1960 chromaticity.
func uv(c cie.XYZ) (u, v float64) {
	d := c.X + 15*c.Y + 3*c.Z
	return 4 * c.X / d, 6 * c.Y / d
}

// Age tells how long ago a profile was made, in words.
func Age(made, now time.Time) string {
	days := int(now.Sub(made).Hours() / 24)
	switch {
	case days < 0:
		return "in the future by this computer’s clock"
	case days == 0:
		return "today"
	case days == 1:
		return "yesterday"
	case days < 60:
		return fmt.Sprintf("%d days ago", days)
	case days < 730:
		return fmt.Sprintf("%d months ago", int(math.Round(float64(days)/30.44)))
	}
	return fmt.Sprintf("%d years ago", int(float64(days)/365.25))
}

// Factor is how bright a print looks beside a screen, as a share of what it
// should: k = (E / pi) / Lw, E the light on the print in lux and Lw the screen's
// white in cd/m2. A perfectly white matt sheet under E lux has E / pi cd/m2.
func Factor(lux, screen float64) float64 { return Luminance(lux, 1) / screen }

// Bright tells in words what a screen's white and the light on a print do to each
// other. paper is the paper's name and white the luminance factor of its white.
func Bright(lux, screen float64, paper string, white float64) string {
	k := Factor(lux, screen)
	sheet := Luminance(lux, 1)
	s := fmt.Sprintf("A perfectly white sheet under %.0f lx has %.0f cd/m², the screen’s white %.0f: ", lux, sheet, screen)
	switch {
	case k < 0.9:
		s += fmt.Sprintf("prints look %.2f times as bright as on the screen, too dark.", k)
	case k > 1.1:
		s += fmt.Sprintf("prints look %.2f times as bright as on the screen; it is the darker of the two.", k)
	default:
		s += fmt.Sprintf("factor %.2f, they match.", k)
	}
	if white > 0 {
		s += fmt.Sprintf(" %s’s own white has %.0f cd/m² there. The screen would match at %.0f cd/m², or the print at %.0f lx.",
			paper, Luminance(lux, white), sheet, Lux(screen, 1))
	}
	return s
}
