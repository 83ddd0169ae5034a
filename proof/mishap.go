package proof

import "firstsheet/proof/cie"

// Mishap is something that goes wrong with a print and lies in no profile and in no
// conversion: an ink that is missing, the light that the print is looked at by. Package
// mishap lists them.
type Mishap struct {
	// ID names it: two of one ID change one paper's colours alike.
	ID string
	// Why says in words what went wrong, to follow "because".
	Why string
	// InLight says that it lies in how the print is looked at; else it lies in the inks.
	InLight bool
	// Change returns what becomes of a printed colour: device are the numbers that the
	// printer got, look is D50 Lab relative to the paper's white, before and after. It may
	// be called from several goroutines.
	Change func(device []float64, look cie.Lab) cie.Lab
}

// spoil changes printed colours by the plan's mishap, in place; absolute may be nil.
func (p Plan) spoil(device, relative, absolute []float64) {
	m := p.Mishap
	if m == nil {
		return
	}
	channels := p.Paper.Channels()
	white, ok := p.Paper.MediaWhite()
	if !ok {
		white = cie.Lab{L: 100}
	}
	put := func(v []float64, i int, l cie.Lab) { v[3*i], v[3*i+1], v[3*i+2] = l.L, l.A, l.B }
	for i := range len(relative) / 3 {
		was := labAt(relative, i)
		is := m.Change(device[i*channels:(i+1)*channels], was)
		if is == was {
			continue
		}
		put(relative, i, is)
		if absolute != nil {
			put(absolute, i, is.OnWhite(white))
		}
	}
}
