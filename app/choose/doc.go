// Package choose does the long computations that stand behind the cards for
// choosing: where papers end and how a picture lies in them, the ranking of ways
// to print it, and what is to be said of the screen and of the light a print is
// seen in. It knows neither window nor State; the engine is handed in.
//
//	picture ──▶ Cloud (all pixels, full size)      paper ──▶ Outline (slices, volume)
//	picture ──▶ Gather ──▶ Rank (ways to print) ──▶ rows and verdict
//
// Everything may be called from any goroutine and stops with its context.
package choose

import (
	"firstsheet/proof"
)

// Engine is what the package asks of the engine; *proof.Engine is one.
type Engine interface {
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
}
