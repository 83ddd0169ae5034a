package session

import (
	"image"
	"image/color"

	"firstsheet/app/overlay"
	"firstsheet/proof"
)

// frameKey is everything that a set of buffers depends on.
type frameKey struct {
	picture int
	cell    Cell
	view    Viewport
	count   int
	set     [MaxSheets]wanted
	look    [MaxSheets]*lookWork
	quality [MaxSheets]proof.Quality
	apart   [MaxSheets]*apartWork
	show    [MaxSheets]Show
	against [MaxSheets]bool // another sheet, in a difference
	empty   [MaxSheets]bool // the set-up can't be run
	over    overlay.Set
	limit   float64
}

// draw starts a new set of buffers if anything they depend on has changed. While
// one is under way the next waits, and then shows the state of that moment:
// every started frame is finished, so that panning never starves.
func (r *runner) draw() {
	now := r.s.state
	if r.drawing || now.Picture.Key == 0 || now.Cell.W < 8 || now.Cell.H < 8 {
		return
	}
	pic := r.s.store.Picture(now.Picture.Key)
	if pic == nil {
		return
	}
	f := r.wantedFrame(now)
	if f.key != r.drawn {
		r.start(now, pic, f)
	} else if f.stale != now.Stale {
		r.s.Do(FrameDone{Frame: r.bump(), Stale: f.stale, Ground: grounds(now)})
	}
}

// wantedFrame is a set of buffers as it could be drawn now.
type wantedFrame struct {
	key   frameKey
	looks [MaxSheets]Look
	apart [MaxSheets]Difference
	stale [MaxSheets]bool // what is to be seen is not there yet
}

// wantedFrame says what is to be drawn, by the looks that are there.
func (r *runner) wantedFrame(now State) (f wantedFrame) {
	f.key = frameKey{picture: now.Picture.Key, cell: now.Cell, view: now.View, count: now.Count,
		over: now.Overlays(), limit: now.Looking.Threshold}
	if f.key.view.Fit {
		f.key.view = Viewport{Fit: true}
	}
	for n := 0; n < now.Count; n++ {
		sh := now.Shown(n)
		set := want(now, sh)
		w := r.looks[set]
		switch f.key.empty[n] = w != nil && w.failed || r.refused(now, n); {
		case f.key.empty[n]:
			// A picture of another set-up would be taken for this one's.
			w, r.sheets[n].last = nil, nil
		case w == nil || w.look == nil:
			f.stale[n] = true
			w = r.stopgap(now, n)
		default:
			r.sheets[n].last = w
		}
		f.key.set[n], f.key.look[n], f.key.show[n], f.key.against[n] = set, w, sh.Show, sh.Against >= 0
		if w != nil {
			f.key.quality[n], f.looks[n] = w.quality, w.look
		}
		if sh.Show == ShowDifference && valid(now, sh.Against) && !f.key.empty[n] {
			a := r.apart[[2]wanted{want(now, now.Sheets[sh.Against]), set}]
			if a != nil && a.run != nil {
				f.key.apart[n], f.apart[n] = a, a.run
			} else {
				f.stale[n] = true
			}
		}
	}
	return f
}

func (r *runner) atRest() bool {
	now := r.s.state
	if r.drawing || now.Frame == 0 || now.Picture.Key == 0 || now.Differ.Seeking {
		return false
	}
	for n := range now.Count {
		if now.Stale[n] || now.Results[n].Computing {
			return false
		}
	}
	f := r.wantedFrame(now)
	for n := range now.Count {
		if !f.key.empty[n] && f.key.quality[n] != proof.Fine {
			return false
		}
	}
	return f.key == r.drawn && f.stale == [MaxSheets]bool{}
}

// stopgap is the look of a sheet whose own is not there yet: what lay there stays, and a
// new sheet first shows what the active one does.
func (r *runner) stopgap(now State, n int) *lookWork {
	if r.drawn.picture != now.Picture.Key {
		return nil
	}
	for _, k := range []int{n, now.Active, 0} {
		if last := r.sheets[k].last; last != nil {
			return last
		}
	}
	return nil
}

// start draws a set of buffers and swaps them in.
func (r *runner) start(now State, pic *Picture, f wantedFrame) {
	r.drawn, r.drawing = f.key, true
	job := frameJob{pic: pic, numbers: r.numbers, read: r.read}
	r.numbers, r.read = sampled{}, [MaxSheets]reading{} // lent
	r.work(func() {
		var buffers [MaxSheets]*image.RGBA
		for n := range f.key.count {
			buffers[n] = r.s.store.room(now.Cell.W, now.Cell.H)
			job.pics[n] = r.s.store.Picture(f.key.set[n].picture)
		}
		ok := job.draw(r.ctx, f.key, f.looks, f.apart, buffers)
		r.post(func() {
			r.drawing = false
			if ok && f.key.picture == r.s.state.Picture.Key {
				r.numbers, r.read = job.numbers, job.read
				stale := f.stale
				for n := range stale {
					// What is wanted may have changed while this was drawn.
					stale[n] = n < r.s.state.Count && (stale[n] || want(r.s.state, r.s.state.Shown(n)) != f.key.set[n])
				}
				r.s.store.swap(buffers)
				r.s.Do(FrameDone{Frame: r.bump(), Stale: stale, Ground: job.ground})
			}
			r.draw()
		})
	})
}

func (r *runner) bump() uint64 { r.frame++; return r.frame }

func grounds(s State) (g [MaxSheets]color.RGBA) {
	for i := range g {
		g[i] = s.Results[i].Ground
	}
	return g
}
