package press

import (
	"math"

	"firstsheet/proof/cie"
)

// Press is a printer with a stock and a media setting in it: everything between
// RGB numbers and the colour on the paper. It does not change and may be used
// from many goroutines.
type Press struct {
	Driver *Driver
	primaries
}

// primaries are the inks of a setting on a stock: for each of the 256 sets of
// inks that can lie over each other, the reflectance to the power 1/n.
type primaries struct {
	Stock Stock
	load  float64
	power [1 << Inks]Spectrum
}

// New returns the press that prints on stock with a driver set to setting. The
// setting need not be one that suits the stock.
func New(stock Stock, setting Setting) *Press {
	return &Press{NewDriver(setting), *newPrimaries(stock, setting)}
}

func newPrimaries(stock Stock, setting Setting) *primaries {
	var layers [Inks]dye
	for n := range layers {
		layers[n] = ink(n, setting.Black).scaled(setting.Load * stock.hold(n, setting.Black))
	}
	return overprints(stock, setting.Load, &layers, func(_, _ int) float64 { return stock.Trap })
}

// overprints lays every set of inks over each other. trap is the share of its
// density that the upper of two inks keeps on the lower one, against what it has
// on bare stock; the lower has the smaller number. Sets with an ink that has no
// density at all are left out.
func overprints(stock Stock, load float64, layers *[Inks]dye, trap func(upper, lower int) float64) *primaries {
	p := &primaries{Stock: stock, load: load}
	base := stock.base()
	absent := 0
	for n, layer := range layers {
		if layer == (dye{}) {
			absent |= 1 << n
		}
	}
	for set := range p.power {
		if set&absent != 0 {
			continue
		}
		var density Spectrum
		uv := 0.0
		for n, layer := range layers {
			if set>>n&1 == 0 {
				continue
			}
			held := 1.0
			for lower := range n {
				if set>>lower&1 == 1 {
					held *= trap(n, lower)
				}
			}
			for i, d := range layer.density {
				density[i] += held * d
			}
			uv += held * layer.uv
		}
		for i, d := range density {
			through := math.Pow(10, -d)
			// Light that enters the sheet is reflected inside at its surface and
			// passes paper and ink again and again (Saunderson 1942, as in the
			// Clapper and Yule picture of a layer over a scatterer).
			inside := base[i] * through
			r := stock.Surface + (1-stock.Surface)*(1-stock.Inner)*inside/(1-stock.Inner*inside)
			// The brightener is excited through the ink once and shines back
			// through it once: half of the two-way density each.
			r += stock.Brightener * glow(i) * math.Pow(10, -uv/2-d/2)
			p.power[set][i] = math.Pow(r, 1/stock.N)
		}
	}
	return p
}

// glow is the apparent reflectance that a brightener adds, as a share of its
// peak: stilbene brighteners shine at about 440 nm and take away light below
// 400 nm (common knowledge of the trade).
func glow(band int) float64 {
	nm := float64(FirstBand + BandStep*band)
	d := (nm - 441) / 24
	if nm > 441 {
		d = (nm - 441) / 36
	}
	return math.Exp(-d * d / 2)
}

// base is what the paper itself reflects inside, such that the bare sheet
// without brightener measures Stock.Paper.
func (s Stock) base() Spectrum {
	paper := s.paper()
	for i, r := range paper {
		t := (r - s.Surface) / ((1 - s.Surface) * (1 - s.Inner))
		paper[i] = t / (1 + s.Inner*t)
	}
	return paper
}

// Reflectance returns the reflectance factor, brightener included, of the ink
// amounts a: the nominal coverage of each ink, 0 to 1.
//
// The halftone is a Yule-Nielsen modified spectral Neugebauer mix over all 256
// overprints, the coverages multiplied as for independently placed dots.
//
// Source: Neugebauer 1937; Demichel; Yule and Nielsen 1951; Viggiano 1985 for
// the spectral form.
func (p *primaries) Reflectance(a [Inks]float64) Spectrum {
	spread := p.spread(a)
	for n, nominal := range a {
		a[n] = gained(nominal, spread)
	}
	return p.mix(a)
}

// mix is Reflectance for the coverages that dots really have.
func (p *primaries) mix(a [Inks]float64) Spectrum {
	var share [1 << Inks]float64
	share[0] = 1
	present := uint(0) // sets that can occur are subsets of this one
	for n, c := range a {
		if c <= 0 {
			continue
		}
		// Walk the subsets built so far, splitting each in with and without ink n.
		bit := uint(1) << n
		for set := present; ; set = (set - 1) & present {
			share[set|bit] = share[set] * c
			share[set] *= 1 - c
			if set == 0 {
				break
			}
		}
		present |= bit
	}
	var mix Spectrum
	for set := present; ; set = (set - 1) & present {
		if f := share[set]; f > 0 {
			for i, r := range p.power[set] {
				mix[i] += f * r
			}
		}
		if set == 0 {
			break
		}
	}
	for i, r := range mix {
		mix[i] = math.Pow(r, p.Stock.N)
	}
	return mix
}

// spread returns the dot gain of the sheet under that much ink. Beyond what the
// stock takes up, ink runs: dots grow and the shadows block up.
func (p *primaries) spread(a [Inks]float64) float64 {
	total := 0.0
	for _, c := range a {
		total += c
	}
	over := total*p.load - p.Stock.Capacity
	if over < 0 {
		over = 0
	}
	return p.Stock.Gain + 0.35*over
}

// gained returns the coverage that a dot of that nominal coverage really has:
// largest gain at half coverage, none at either end.
func gained(c, gain float64) float64 {
	if c <= 0 {
		return 0
	}
	if c >= 1 {
		return 1
	}
	gain = math.Min(gain, 0.24) // beyond 1/4 the curve would no longer rise everywhere
	return c + 4*gain*c*(1-c)
}

// Forward returns the absolute CIELAB colour under D50 of RGB numbers, 0 to 1
// each, sent to the driver as they are.
func (p *Press) Forward(rgb []float64) cie.Lab {
	return p.Reflectance(p.Driver.Separate(rgb[0], rgb[1], rgb[2])).Lab()
}

// White returns the colour of the bare sheet.
func (p *primaries) White() cie.Lab { return p.Reflectance([Inks]float64{}).Lab() }
