package proof

import "firstsheet/proof/space"

// Ground returns what the screen is told, 0 to 1, of the bare sheet that a plan's
// picture lies on: the paper without ink, or for the original the screen's white.
func (e *Engine) Ground(p Plan) ([3]float64, error) {
	bare := Plan{Source: SpaceProfile(space.SRGB()), White: p.White, Screen: p.Screen, Dim: p.Dim}
	bare.Printed = p.Printed
	if p.Paper != nil {
		bare.Source, bare.Paper, bare.Mishap = p.Paper, p.Paper, p.Mishap
	}
	c, err := e.Chain(bare)
	if err != nil {
		return [3]float64{}, err
	}
	defer c.Close()
	return c.Value(bare.Source.Bare()).Screen, nil
}
