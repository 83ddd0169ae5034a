package photo

import (
	"encoding/binary"
	"fmt"
	"math"

	"firstsheet/proof/space"
)

// pngColour is what the colour chunks of a PNG state.
type pngColour struct {
	srgb  bool
	gamma uint32     // gAMA, 100,000 times the encoding exponent; 0 when missing
	chrm  *[8]uint32 // cHRM, 100,000 times x, y of white, red, green, blue
	cicp  *[4]byte
}

func (c *pngColour) chunk(kind string, body []byte) {
	switch {
	case kind == "sRGB" && len(body) == 1:
		c.srgb = true
	case kind == "gAMA" && len(body) == 4:
		c.gamma = binary.BigEndian.Uint32(body)
	case kind == "cHRM" && len(body) == 32:
		c.chrm = new([8]uint32)
		for i := range c.chrm {
			c.chrm[i] = binary.BigEndian.Uint32(body[4*i:])
		}
	case kind == "cICP" && len(body) == 4:
		c.cicp = (*[4]byte)(body)
	}
}

// namedSpace is an encoding that a file names by other means than a profile.
type namedSpace struct {
	space *space.Space
	// first: it stands above a profile in the same file.
	first bool
	// note is said when the space is used, or when it could not be.
	note string
}

// space picks the encoding by PNG's order of precedence (third edition, 4.3):
// cICP, a profile, sRGB, then gAMA and cHRM. hasProfile tells that there is one
// to fall back on.
func (c *pngColour) space(hasProfile bool) (namedSpace, error) {
	note := ""
	if c.cicp != nil {
		s, why := fromCICP(*c.cicp)
		switch {
		case s != nil:
			return namedSpace{space: s, first: true}, nil
		case hasProfile:
			return namedSpace{}, nil
		case c.cicp[1] == cicpPQ || c.cicp[1] == cicpHLG:
			return namedSpace{}, highRange("PNG", c.cicp[1])
		}
		note = "The file states its colour space by codes that are not known here (" + why + ")."
	}
	if c.srgb {
		return namedSpace{space: new(space.SRGB()), note: note}, nil
	}
	s, more := c.stated()
	return namedSpace{space: s, note: joinNotes(note, more)}, nil
}

func joinNotes(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " " + b
}

// Codes of ITU-T H.273, tables 2 and 3.
const (
	cicpPQ  = 16
	cicpHLG = 18
)

// fromCICP returns the encoding that four code points name, or nil and why not.
//
// Source: ITU-T H.273 (07/2021), 8.1 to 8.3.
func fromCICP(code [4]byte) (*space.Space, string) {
	primaries, transfer, matrix, full := code[0], code[1], code[2], code[3]
	why := fmt.Sprintf("%d/%d/%d/%d", primaries, transfer, matrix, full)
	if matrix != 0 || full != 1 {
		return nil, why
	}
	rec2020, _ := space.ByID("rec2020")
	p3, _ := space.ByID("displayp3")
	srgb := space.SRGB()
	s := space.Space{}
	switch primaries {
	case 1:
		s = srgb
	case 5: // BT.601 625 lines
		s = srgb
		s.Red, s.Green, s.Blue = [2]float64{0.64, 0.33}, [2]float64{0.29, 0.60}, [2]float64{0.15, 0.06}
	case 6, 7: // BT.601 525 lines
		s = srgb
		s.Red, s.Green, s.Blue = [2]float64{0.630, 0.340}, [2]float64{0.310, 0.595}, [2]float64{0.155, 0.070}
	case 9:
		s = rec2020
	case 11: // P3 with the cinema's white
		s = p3
		s.White = [2]float64{0.314, 0.351}
	case 12:
		s = p3
	default:
		return nil, why
	}
	switch transfer {
	case 1, 6, 14, 15: // the camera curve of BT.709, which BT.2020 keeps
		s.Curve = rec2020.Curve
	case 4:
		s.Curve = space.Power(2.2)
	case 5:
		s.Curve = space.Power(2.8)
	case 8:
		s.Curve = space.Power(1)
	case 13:
		s.Curve = srgb.Curve
	default:
		return nil, why
	}
	return known(s, "colour codes "+why), ""
}

// known returns the built-in space that s equals, or s under a name of its own.
func known(s space.Space, stated string) *space.Space {
	for _, k := range space.All() {
		same := s
		same.ID, same.Name = k.ID, k.Name
		if same == k {
			return &k
		}
	}
	s.ID = fmt.Sprintf("stated %.5g %.5g %.5g %.5g %.5g", s.Curve, s.White, s.Red, s.Green, s.Blue)
	s.Name = "as the file states (" + stated + ")"
	return &s
}

const (
	// srgbGamma is what PNG tells writers of sRGB to put into gAMA for readers
	// that do not know sRGB (11.3.2.5); writers round it differently.
	srgbGamma      = 45455
	gammaTolerance = 50

	// chrmTolerance is 0.001 in x and y: writers round, and take the primaries
	// from profiles.
	chrmTolerance = 100
)

// stated builds the encoding from gAMA and cHRM. What one of them leaves open is
// taken from sRGB. Nil when neither is there or they make no sense.
func (c *pngColour) stated() (*space.Space, string) {
	if c.gamma == 0 && c.chrm == nil {
		return nil, ""
	}
	// Exponents outside this are no picture's: PNG names 1 as the steepest and
	// film scans reach 1/3.
	if c.gamma != 0 && (c.gamma < 10_000 || c.gamma > 1_000_000) {
		return nil, fmt.Sprintf("The file states an impossible tone curve (gAMA %d), which is not used.", c.gamma)
	}
	s := space.SRGB()
	usual := c.gamma == 0 || absDiff(c.gamma, srgbGamma) <= gammaTolerance
	if c.chrm == nil {
		if usual {
			return &s, "The file states only the tone curve that belongs to sRGB; sRGB is taken."
		}
		s.Curve = space.Power(100_000 / float64(c.gamma))
		return known(s, fmt.Sprintf("gamma %.4g, primaries of sRGB", s.Curve.G)),
			fmt.Sprintf("The file states its tone curve (gamma %.4g) but not its primaries; those of sRGB are taken.", s.Curve.G)
	}
	if usual && c.near(s) {
		return &s, ""
	}
	if a, _ := space.ByID("adobe1998"); c.near(a) && absDiff(c.gamma, 45_471) <= gammaTolerance {
		return &a, ""
	}
	xy := func(i int) [2]float64 { return [2]float64{float64(c.chrm[2*i]) / 1e5, float64(c.chrm[2*i+1]) / 1e5} }
	s.White, s.Red, s.Green, s.Blue = xy(0), xy(1), xy(2), xy(3)
	if !plausible(s) {
		return nil, "The file states impossible primaries (cHRM), which are not used."
	}
	if c.gamma == 0 {
		return known(s, "own primaries, tone curve of sRGB"), "The file states its primaries but not its tone curve; that of sRGB is taken."
	}
	s.Curve = space.Power(100_000 / float64(c.gamma))
	return known(s, fmt.Sprintf("gamma %.4g, own primaries", s.Curve.G)), ""
}

// near reports whether cHRM gives the primaries and white of s.
func (c *pngColour) near(s space.Space) bool {
	for i, xy := range [][2]float64{s.White, s.Red, s.Green, s.Blue} {
		for j, v := range xy {
			if absDiff(c.chrm[2*i+j], uint32(math.Round(v*1e5))) > chrmTolerance {
				return false
			}
		}
	}
	return true
}

// plausible reports whether the primaries span a triangle around the white.
// ROMM's blue lies outside the spectrum, so imaginary primaries are fine.
func plausible(s space.Space) bool {
	for _, p := range [][2]float64{s.White, s.Red, s.Green, s.Blue} {
		if p[0] < 0 || p[0] > 1 || p[1] < 0 || p[1] > 1 {
			return false
		}
	}
	if s.White[1] < 0.01 {
		return false
	}
	side := func(a, b, p [2]float64) float64 {
		return (b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])
	}
	// Twice the areas of the three triangles that the white makes with the sides;
	// the least of any space in use is above 0.01.
	const least = 1e-4
	return math.Min(side(s.Red, s.Green, s.White), math.Min(side(s.Green, s.Blue, s.White), side(s.Blue, s.Red, s.White))) > least
}

func absDiff(a, b uint32) uint32 { return max(a, b) - min(a, b) }
