package proof

import (
	"context"
	"fmt"

	"firstsheet/proof/kernel"
)

// How many chains and grids an engine keeps. A desk of four sheets with a slip
// each uses nine plans, each with a first grid of 0.6 MB and a fine one of 2 to 10 MB.
const (
	keptChains = 24
	keptGrids  = 20
	keptBases  = 8
)

// Engine runs plans and keeps what it has computed for them. It may be used from
// several goroutines at once; those who ask for the same at the same time share the
// work.
type Engine struct {
	chains *shelf[*core]
	grids  *shelf[*Grid]
	bases  *shelf[*base]
}

// NewEngine returns an engine that keeps nothing yet.
func NewEngine() *Engine {
	return &Engine{
		chains: newShelf(keptChains, func(c *core) { c.hold() }, (*core).release),
		grids:  newShelf[*Grid](keptGrids, nil, nil),
		bases:  newShelf[*base](keptBases, nil, nil),
	}
}

// Close lets go of all that the engine keeps. Chains that are still in use live on
// until they are closed, and work that is still going on ends as it would have; of
// that nothing is kept any more.
func (e *Engine) Close() {
	e.grids.close()
	e.bases.close()
	e.chains.close()
}

// Chain returns the exact chain of a plan. The caller closes it. The error is a
// *PlanError or a *ProfileError.
func (e *Engine) Chain(p Plan) (*Chain, error) {
	c, err := e.chains.get(context.Background(), p.Key(), func(context.Context) (*core, error) { return newCore(p) })
	if err != nil {
		return nil, err
	}
	return &Chain{core: c}, nil
}

// Grid returns the plan sampled with the given quality. It returns the context's
// error when it was stopped, else a *PlanError or a *ProfileError.
func (e *Engine) Grid(ctx context.Context, p Plan, q Quality) (*Grid, error) {
	return e.grids.get(ctx, gridKey(p, q), func(ctx context.Context) (*Grid, error) {
		g, err := e.newGrid(ctx, p, q)
		switch {
		case err != nil:
			return nil, err
		case q != Fine:
			return g, g.fill(ctx)
		}
		if good, ok := e.grids.has(gridKey(p, Good)); ok {
			g.begin(good)
		}
		return g, nil
	})
}

func gridKey(p Plan, q Quality) string { return fmt.Sprintf("%d %s", q, p.Key()) }

// base returns what the plan's grids share with others that have the same lattice.
func (e *Engine) base(ctx context.Context, p Plan, l *kernel.Lattice) (*base, error) {
	key := fmt.Sprintf("%d %s", l.N, p.Source.ID())
	if r := p.reach(); r != nil {
		key += " " + r.ID()
	}
	return e.bases.get(ctx, key, func(context.Context) (*base, error) { return newBase(l), nil })
}
