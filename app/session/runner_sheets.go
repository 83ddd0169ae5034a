package session

import (
	"context"
	"sync/atomic"

	"firstsheet/proof"
	"firstsheet/proof/pin"
)

// sheetWork is the work for one sheet's figures and words.
type sheetWork struct {
	set    wanted
	on     bool
	gen    uint64
	cancel context.CancelFunc
	pins   pinKey
	values context.CancelFunc
	// told is closed when the first sentence is there: figures of a whole picture
	// would keep it waiting.
	told chan struct{}
	// ready is closed when the sheet can be seen: nothing may keep that waiting.
	ready chan struct{}
	// last is the look that the sheet was last drawn by: it stays while a new
	// one is being made.
	last *lookWork
}

type pinKey struct {
	gen     uint64
	figures bool
	pins    [MaxPins]pin.Pin
	n       int
	chosen  int
}

// followSheets starts figures and words for sheets whose set-up changed.
func (r *runner) followSheets(now State) {
	for n := range r.sheets {
		w := &r.sheets[n]
		if n >= now.Count {
			if w.on {
				w.cancel()
				*w = sheetWork{}
			}
			continue
		}
		if set := want(now, now.Sheets[n]); !w.on || w.set != set {
			if w.on {
				w.cancel()
			}
			r.gen++
			ctx, cancel := context.WithCancel(r.ctx)
			w.set, w.on, w.gen, w.cancel, w.pins, w.told = set, true, r.gen, cancel, pinKey{}, make(chan struct{})
			w.ready = nil
			if l := r.looks[set]; l != nil {
				w.ready = l.ready
			}
			r.s.Do(RequestStarted{n, w.gen})
			r.figure(ctx, n, *w, now)
		}
		key := pinKey{gen: w.gen, figures: now.Results[n].Gen == w.gen && now.Results[n].Measured,
			pins: now.Pins, n: now.NumPins, chosen: now.Pin}
		if key != w.pins {
			if w.values != nil {
				w.values()
			}
			w.pins = key
			ctx, cancel := context.WithCancel(r.ctx)
			w.values = cancel
			r.value(ctx, n, *w, now)
		}
	}
}

// figure finds route and figures of a sheet.
func (r *runner) figure(ctx context.Context, n int, w sheetWork, now State) {
	pic, screen := r.s.store.Picture(w.set.picture), now.Screen
	known, have := r.figures[w.set]
	r.work(func() {
		post := func(a Action) { r.post(func() { r.s.Do(a) }) }
		route, err := r.s.engine.Route(pic, w.set.Setup, screen)
		if err != nil {
			post(SetupRefused{n, w.gen, Explain(err, "").Headline})
			return
		}
		post(RouteFound{n, w.gen, route})
		if have || w.set.Paper == "" {
			post(FiguresFound{n, w.gen, known})
			return
		}
		select {
		case <-w.told:
		case <-ctx.Done():
			return
		}
		if some, err := r.s.engine.Glance(ctx, pic, w.set.Setup); err == nil {
			post(FiguresGlanced{n, w.gen, some})
		}
		var told atomic.Int32 // twentieths; the engine tells from any goroutine
		fig, err := r.s.engine.Figures(ctx, pic, w.set.Setup, func(done float64) {
			now := int32(done * 20)
			if was := told.Load(); now > was && told.CompareAndSwap(was, now) {
				post(FiguresCounting{n, w.gen, done})
			}
		})
		switch {
		case ctx.Err() != nil:
		case err != nil:
			post(SetupRefused{n, w.gen, Explain(err, "").Headline})
		default:
			r.post(func() {
				r.figures[w.set] = fig
				r.s.Do(FiguresFound{n, w.gen, fig})
				r.index(w.set.picture)
			})
		}
	})
}

// index has the open picture indexed, once its first figures are there: those of all
// further set-ups then take a moment.
func (r *runner) index(key int) {
	pic := r.s.store.Picture(key)
	if pic == nil || r.indexed == key || key != r.s.state.Picture.Key {
		return
	}
	ctx, cancel := context.WithCancel(r.ctx)
	r.indexed, r.indexing = key, cancel
	r.work(func() {
		defer cancel()
		_ = pic.Whole().Index(ctx) // figures come without it, too
	})
}

// value finds the pins' colours and the sentence of a sheet.
func (r *runner) value(ctx context.Context, n int, w sheetWork, now State) {
	pic := r.s.store.Picture(w.set.picture)
	pins := append([]pin.Pin(nil), now.Pins[:now.NumPins]...)
	var fig *proof.Figures
	if res := now.Results[n]; res.Gen == w.gen && res.Measured {
		fig = &res.Figures
	}
	chosen, first := now.Pin, w.told
	r.sheets[n].told = nil
	r.work(func() {
		if w.ready != nil {
			select {
			case <-w.ready:
			case <-ctx.Done():
			}
		}
		if first != nil {
			defer close(first)
		}
		vals, err := r.s.engine.Values(ctx, pic, w.set.Setup, pins)
		if err != nil || ctx.Err() != nil {
			return // the set-up's own request tells why
		}
		found := ValuesFound{N: n, Gen: w.gen}
		found.Told, err = r.s.engine.Sentence(ctx, pic, w.set.Setup, pins, vals, chosen, fig)
		if err != nil {
			return
		}
		copy(found.Values[:], vals)
		r.post(func() {
			if ctx.Err() == nil {
				r.s.Do(found)
			}
		})
	})
}
