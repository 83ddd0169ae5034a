package session

import (
	"context"
	"time"

	"firstsheet/proof"
)

// lookWork is a look that is there or being made.
type lookWork struct {
	pic     *Picture
	look    Look
	quality proof.Quality
	ctx     context.Context
	cancel  context.CancelFunc
	failed  bool
	finer   bool          // a fine one is being made
	ready   chan struct{} // closed when the first look is there, or can't be
	hurry   chan struct{} // closed when somebody looks at it after all; nil once it is
}

type apartWork struct {
	run    Difference
	cancel context.CancelFunc
}

// followLooks makes the looks that are shown or that a held key would show.
func (r *runner) followLooks(now State) {
	shown, needed := map[wanted]bool{}, map[wanted]bool{}
	var order []wanted
	need := func(s wanted) {
		if !needed[s] {
			needed[s] = true
			order = append(order, s)
		}
	}
	for n := 0; n < now.Count; n++ {
		set := want(now, now.Shown(n))
		shown[set] = true
		need(set)
	}
	for n := 0; n < now.Count; n++ {
		need(want(now, now.Sheets[n]))
	}
	if _, n := now.Proof(); n >= 0 {
		for _, k := range []Held{HeldOriginal, HeldProof, HeldSlip} {
			peek := now
			peek.Active, peek.Held = n, k
			need(want(now, peek.Shown(n)))
		}
	}
	for set, w := range r.looks {
		if !needed[set] {
			// The engine keeps the sampled grids; here only what is shown matters.
			w.cancel()
			delete(r.looks, set)
		}
	}
	for _, set := range order {
		if r.looks[set] == nil {
			r.make(set, shown[set])
		}
		if w := r.looks[set]; shown[set] {
			if w.hurry != nil {
				close(w.hurry)
				w.hurry = nil
			}
			r.refine(set)
		}
	}
	pairs := map[[2]wanted]bool{}
	for n := 0; n < now.Count; n++ {
		sh := now.Shown(n)
		if sh.Show == ShowDifference && sh.Against >= 0 && sh.Against < now.Count {
			p := [2]wanted{want(now, now.Sheets[sh.Against]), want(now, sh)}
			pairs[p] = true
			if r.apart[p] == nil {
				r.makeApart(p)
			}
		}
	}
	for p, w := range r.apart {
		if !pairs[p] {
			w.cancel()
			delete(r.apart, p)
		}
	}
}

// How long what nobody looks at yet waits for what somebody does: the looks of
// held keys for the sheets on the desk, finer ones for the setting to settle.
const (
	heldDelay   = 250 * time.Millisecond
	settleDelay = 150 * time.Millisecond
)

// make makes a first look of a set-up. One that is not shown is made at leisure.
func (r *runner) make(set wanted, shown bool) {
	ctx, cancel := context.WithCancel(r.ctx)
	hurry := make(chan struct{})
	w := &lookWork{pic: r.s.store.Picture(set.picture), ctx: ctx, cancel: cancel, ready: make(chan struct{}), hurry: hurry}
	r.looks[set] = w
	r.work(func() {
		defer close(w.ready)
		if !shown {
			t := time.NewTimer(heldDelay)
			defer t.Stop()
			select {
			case <-t.C:
				r.lookFor(set, w, proof.Good)
				return
			case <-hurry:
			case <-ctx.Done():
				return
			}
		}
		// A coarse look is there before the hand has left the key; the better ones
		// differ from it by less than an eye sees.
		r.lookFor(set, w, proof.Draft)
	})
}

// refine has the better looks of a set-up made, once.
func (r *runner) refine(set wanted) {
	w := r.looks[set]
	if w.finer || w.look == nil || w.failed || w.quality == proof.Fine {
		return
	}
	w.finer = true
	first := w.quality
	r.work(func() {
		if first == proof.Draft {
			r.lookFor(set, w, proof.Good)
		}
		if sleep(w.ctx, settleDelay) {
			r.lookFor(set, w, proof.Fine)
		}
	})
}

// lookFor has the engine make a look and lays it on the desk.
func (r *runner) lookFor(set wanted, w *lookWork, q proof.Quality) {
	// A draft is what somebody looks at and waits for: it never stands behind finer looks
	// or those that only a held key would show.
	if q != proof.Draft {
		select {
		case r.lanes <- struct{}{}:
			defer func() { <-r.lanes }()
		case <-w.ctx.Done():
			return
		}
	}
	look, err := r.s.engine.Look(w.ctx, w.pic, set.Setup, q)
	if w.ctx.Err() != nil {
		return
	}
	r.post(func() {
		if r.looks[set] != w {
			return
		}
		if err != nil {
			w.failed = true
			r.refuse(set, err)
		} else {
			w.look, w.quality = look, q
		}
		r.followLooks(r.s.state)
		r.draw()
	})
}

// refuse tells all sheets of a set-up why it can't be shown.
func (r *runner) refuse(set wanted, err error) {
	for n := range r.sheets {
		if w := r.sheets[n]; w.on && w.set == set {
			r.s.Do(SetupRefused{n, w.gen, Explain(err, "").Headline})
		}
	}
}

// refused tells whether a sheet's set-up is known to be impossible.
func (r *runner) refused(now State, n int) bool {
	w := r.sheets[n]
	held := now.Held != HeldNone && n == now.Active
	return now.Refusal(n) != "" && (held || w.set == want(now, now.Sheets[n]) && w.gen == now.Results[n].Gen)
}

// sleep waits and reports whether ctx still goes on.
func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}

func (r *runner) makeApart(p [2]wanted) {
	ctx, cancel := context.WithCancel(r.ctx)
	w := &apartWork{cancel: cancel}
	r.apart[p] = w
	pic := r.s.store.Picture(p[0].picture)
	r.work(func() {
		run, err := r.s.engine.Difference(ctx, pic, p[0].Setup, p[1].Setup)
		if err != nil {
			return
		}
		r.post(func() {
			if r.apart[p] == w {
				w.run = run
				r.draw()
			}
		})
	})
}
