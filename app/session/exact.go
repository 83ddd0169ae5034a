package session

import (
	"context"

	"firstsheet/proof"
)

// Exact is what an Engine offers beside its calls to cards that compute something
// of their own: plans and exact chains. Ask for it by
//
//	exact, ok := h.Session.Engine().(session.Exact)
type Exact interface {
	// Plan returns the plan of a set-up.
	Plan(set Setup) (proof.Plan, error)
	// Chain returns the exact chain of a plan. The caller closes it.
	Chain(p proof.Plan) (*proof.Chain, error)
	// Grid returns a plan sampled, for pictures.
	Grid(ctx context.Context, p proof.Plan, q proof.Quality) (*proof.Grid, error)
}

var _ Exact = (*Works)(nil)

// Chain implements Exact.
func (w *Works) Chain(p proof.Plan) (*proof.Chain, error) { return w.Engine.Chain(p) }

// Grid implements Exact.
func (w *Works) Grid(ctx context.Context, p proof.Plan, q proof.Quality) (*proof.Grid, error) {
	return w.Engine.Grid(ctx, p, q)
}
