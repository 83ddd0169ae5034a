package proof

import (
	"context"
	"fmt"
	"sync"
)

// How many chains and grids an engine keeps. A desk of four sheets with a slip
// each uses nine plans, each with a first grid of 0.6 MB and a fine one of 5 to 30 MB.
const (
	keptChains = 24
	keptGrids  = 20
	keptBases  = 8
)

// Engine runs plans and keeps what it has computed for them. It may be used from
// several goroutines at once.
type Engine struct {
	mu     sync.Mutex
	closed bool // nothing is kept any more
	chains *cache[*core]
	grids  *cache[*Grid]
	bases  *cache[*base]
}

// NewEngine returns an engine that keeps nothing yet.
func NewEngine() *Engine {
	return &Engine{
		chains: newCache(keptChains, (*core).release),
		grids:  newCache[*Grid](keptGrids, nil),
		bases:  newCache[*base](keptBases, nil),
	}
}

// Close lets go of all that the engine keeps. Chains that are still in use live on
// until they are closed, and work that is still going on ends as it would have.
func (e *Engine) Close() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.closed = true
	e.chains.clear()
	e.grids.clear()
	e.bases.clear()
}

// Chain returns the exact chain of a plan. The caller closes it. The error is a
// *PlanError or a *ProfileError.
func (e *Engine) Chain(p Plan) (*Chain, error) {
	key := p.Key()
	e.mu.Lock()
	if c, ok := e.chains.get(key); ok {
		c.hold()
		e.mu.Unlock()
		return &Chain{core: c}, nil
	}
	e.mu.Unlock()
	c, err := newCore(p)
	if err != nil {
		return nil, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if !e.closed {
		c.hold() // the engine's own
		e.chains.put(key, c)
	}
	return &Chain{core: c}, nil
}

// Grid returns the plan sampled with the given quality. It returns the context's
// error when it was stopped, else a *PlanError or a *ProfileError.
func (e *Engine) Grid(ctx context.Context, p Plan, q Quality) (*Grid, error) {
	key := fmt.Sprintf("%d %s", q, p.Key())
	e.mu.Lock()
	g, ok := e.grids.get(key)
	e.mu.Unlock()
	if ok {
		return g, nil
	}
	c, err := e.Chain(p)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	baseKey := fmt.Sprintf("%d %s", q, p.Source.id)
	if r := p.reach(); r != nil {
		baseKey += " " + r.id
	}
	e.mu.Lock()
	shared, _ := e.bases.get(baseKey)
	e.mu.Unlock()
	g, shared, err = newGrid(ctx, c.core, q, shared)
	if err != nil {
		return nil, err
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	e.bases.put(baseKey, shared)
	e.grids.put(key, g)
	return g, nil
}

// cache keeps the values that were asked for last.
type cache[V any] struct {
	limit  int
	drop   func(V)
	values map[string]V
	order  []string // the least lately used first
}

func newCache[V any](limit int, drop func(V)) *cache[V] {
	return &cache[V]{limit: limit, drop: drop, values: map[string]V{}}
}

func (c *cache[V]) get(key string) (V, bool) {
	v, ok := c.values[key]
	if ok {
		c.touch(key)
	}
	return v, ok
}

func (c *cache[V]) put(key string, v V) {
	if old, ok := c.values[key]; ok {
		c.release(old)
	}
	c.values[key] = v
	c.touch(key)
	for len(c.order) > c.limit {
		c.release(c.values[c.order[0]])
		delete(c.values, c.order[0])
		c.order = c.order[1:]
	}
}

func (c *cache[V]) touch(key string) {
	for i, k := range c.order {
		if k == key {
			c.order = append(c.order[:i], c.order[i+1:]...)
			break
		}
	}
	c.order = append(c.order, key)
}

func (c *cache[V]) release(v V) {
	if c.drop != nil {
		c.drop(v)
	}
}

func (c *cache[V]) clear() {
	for _, v := range c.values {
		c.release(v)
	}
	clear(c.values)
	c.order = nil
}
