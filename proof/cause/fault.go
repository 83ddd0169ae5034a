package cause

import (
	"fmt"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/light"
	"firstsheet/proof/paper"
	"firstsheet/proof/press"
)

// fault is something wrong that is no set-up.
type fault struct {
	id, name, detail   string
	recognise, prevent string
	kind               string // faults of one kind share a prior
	// onlySeen says that it changes what an eye sees and nothing that is measured.
	onlySeen bool
	// changes returns how the fault changes the look of printed numbers.
	changes func(device []float64, look cie.Lab) cie.Lab
}

const (
	inkKind   = "ink"
	lightKind = "light"
)

// clogged is the share of an ink that still comes out where half of its nozzles do.
const clogged = 0.5

// lampKelvin and lampLux are a room lit by warm lamps in the evening (common
// practice, no source).
const (
	lampKelvin = 2700
	lampLux    = 100
)

// faults lists what can go wrong with the stock beside set-ups.
func faults(stock paper.Paper) []*fault {
	var all []*fault
	sheet, modelled := press.StockByID(stock.ID)
	modelled = modelled && stock.Builtin
	if modelled {
		all = append(all, inkFaults(sheet)...)
	}
	if m, err := light.Seen(lampKelvin, light.Adaptation(lampLux)); err == nil {
		all = append(all, &fault{
			id: "warmlamp", name: "judged under a warm lamp", kind: lightKind, onlySeen: true,
			detail:    fmt.Sprintf("a lamp of %d K", lampKelvin),
			recognise: "The whole print looks warm, its bare margin too, and right by the window.",
			prevent:   "Judge prints in the light that they are made for, D50 or daylight from a window.",
			changes: func(_ []float64, look cie.Lab) cie.Lab {
				return look.ToXYZ(cie.D50).Transform(m).ToLab(cie.D50)
			},
		})
	}
	if modelled && sheet.Brightener > 0 {
		all = append(all, noUltraviolet(sheet))
	}
	return all
}

// inkFaults lists each ink missing, and with half of its nozzles clogged.
func inkFaults(sheet press.Stock) []*fault {
	p := press.New(sheet, sheet.Right)
	var all []*fault
	for ink, name := range press.InkNames() {
		for _, left := range []float64{0, clogged} {
			f := &fault{
				id: "clogged-" + strings.ReplaceAll(name, " ", "-"), name: "the " + name + " ink is clogged or missing", kind: inkKind,
				detail:    "none of it comes out",
				recognise: "Colours that need this ink are off and all others are right; the nozzle pattern has gaps.",
				prevent:   "Print the nozzle pattern before a large sheet, clean the heads until it has no gaps.",
			}
			if left > 0 {
				f.detail = "half of its nozzles are clogged"
			}
			f.changes = func(device []float64, look cie.Lab) cie.Lab {
				if len(device) != 3 {
					return look
				}
				amounts := p.Driver.Separate(device[0], device[1], device[2])
				if amounts[ink] == 0 {
					return look
				}
				sound := relative(p, p.Reflectance(amounts).Lab())
				amounts[ink] *= left
				// The change is the model's, the colour it is made to the table's.
				return moved(look, sound, relative(p, p.Reflectance(amounts).Lab()))
			}
			all = append(all, f)
		}
	}
	return all
}

// noUltraviolet is a brightened paper under a light without ultraviolet, seen by an
// eye that is used to the paper as it is.
func noUltraviolet(sheet press.Stock) *fault {
	lit := press.New(sheet, sheet.Right)
	sheet.Brightener = 0
	unlit := press.New(sheet, sheet.Right)
	return &fault{
		id: "noultraviolet", name: "judged in light without ultraviolet", kind: lightKind, onlySeen: true,
		detail:    "the paper's brightener does not glow",
		recognise: "Paper and pale colours look yellowish behind glass or by LED light, and right in daylight.",
		prevent:   "Judge brightened paper in the light it will hang in, or choose a paper without brightener.",
		changes: func(device []float64, look cie.Lab) cie.Lab {
			if len(device) != 3 {
				return look
			}
			return moved(look, relative(lit, lit.Forward(device)), relative(lit, unlit.Forward(device)))
		},
	}
}

func moved(look, from, to cie.Lab) cie.Lab {
	return cie.Lab{L: look.L + to.L - from.L, A: look.A + to.A - from.A, B: look.B + to.B - from.B}
}

// relative returns an absolute colour as seen beside the press's bare sheet.
func relative(p *press.Press, c cie.Lab) cie.Lab { return c.BesideWhite(p.White()) }

// look returns the colour of a value under a hypothesis, relative to the paper's
// white: as measured, or as an eye sees it.
func (h *hypothesis) look(v proof.Value, seen bool) cie.Lab {
	look := v.Relative
	if h.fault != nil && (seen || !h.fault.onlySeen) {
		look = h.fault.changes(v.Device, look)
	}
	if seen && h.plan.Dim != 0 {
		look = look.ToXYZ(cie.D50).Scale(h.plan.Dim).ToLab(cie.D50)
	}
	return look
}
