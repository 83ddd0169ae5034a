package evenness

import (
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
)

// OfProfile returns how an output profile prints: by its table from Lab for an
// intent (0 to 3, as in ICC.1) and back by the colorimetric one, relative to the
// paper, through Little CMS without compensation. The print must be closed.
func OfProfile(data []byte, intent int) (print Print, close func(), err error) {
	ctx, err := lcms.NewContext()
	if err != nil {
		return nil, nil, err
	}
	free := []func(){ctx.Close}
	close = func() {
		for i := range free {
			free[len(free)-1-i]()
		}
	}
	defer func() {
		if err != nil {
			close()
		}
	}()
	paper, err := ctx.Open(data)
	if err != nil {
		return nil, nil, err
	}
	free = append(free, paper.Close)
	lab, err := ctx.Lab()
	if err != nil {
		return nil, nil, err
	}
	free = append(free, lab.Close)
	to, err := ctx.Float(lab, paper, lcms.Options{Intent: intent})
	if err != nil {
		return nil, nil, err
	}
	free = append(free, to.Close)
	const relative = 1
	back, err := ctx.Float(paper, lab, lcms.Options{Intent: relative})
	if err != nil {
		return nil, nil, err
	}
	free = append(free, back.Close)
	return func(asked []cie.Lab) []cie.Lab {
		values := make([]float64, 3*len(asked))
		for i, c := range asked {
			values[3*i], values[3*i+1], values[3*i+2] = c.L, c.A, c.B
		}
		device := make([]float64, paper.Channels()*len(asked))
		to.Run(device, values)
		back.Run(values, device)
		printed := make([]cie.Lab, len(asked))
		for i := range printed {
			printed[i] = cie.Lab{L: values[3*i], A: values[3*i+1], B: values[3*i+2]}
		}
		return printed
	}, close, nil
}
