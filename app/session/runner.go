package session

import (
	"context"
	"errors"
	"image"
	"runtime/debug"
	"sync"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
)

// runner starts and cancels work. All its fields belong to the drawing
// goroutine; workers get copies and come back through post.
type runner struct {
	s    *Session
	ctx  context.Context
	end  context.CancelFunc
	busy sync.WaitGroup // the workers

	gen     uint64
	sheets  [MaxSheets]sheetWork
	looks   map[wanted]*lookWork
	apart   map[[2]wanted]*apartWork
	figures map[wanted]proof.Figures
	lanes   chan struct{} // bounds how many looks but drafts are made at once

	frame   uint64
	drawn   frameKey // what the last started frame shows
	drawing bool
	numbers sampled            // the picture's numbers at view size, of the last frame
	read    [MaxSheets]reading // its sheets; lent to the frame that is being drawn

	load, watch, differing, indexing context.CancelFunc
	indexed                          int           // the key of the picture that is indexed
	shelved                          chan struct{} // closed when the last change of the shelf has been made
}

// wanted is what work is done for: a set-up, for a picture or an observation, by profiles as they were
// last read.
type wanted struct {
	setup.Setup
	picture, edition int
}

func want(s State, sh Sheet) wanted { return wanted{s.Setup(sh), s.PictureOf(sh), s.Edition} }

func newRunner(s *Session) *runner {
	ctx, end := context.WithCancel(context.Background())
	return &runner{s: s, ctx: ctx, end: end, looks: map[wanted]*lookWork{},
		apart: map[[2]wanted]*apartWork{}, figures: map[wanted]proof.Figures{}, lanes: make(chan struct{}, 2)}
}

// close cancels all work and waits for it to end. What it posts from now on is dropped.
func (r *runner) close() {
	r.end()
	r.busy.Wait()
}

// tidyAfter is how long a new picture has been on the desk when memory is given back: its
// first looks are made by then.
const tidyAfter = 3 * time.Second

// tidy returns to the system what the picture before has left.
func (r *runner) tidy() {
	r.work(func() {
		select {
		case <-time.After(tidyAfter):
			debug.FreeOSMemory()
		case <-r.ctx.Done():
		}
	})
}

// garbage returns how much may lie beside a picture of so many bytes before it is collected,
// in percent of what is in use. The runtime's own 100 would double a large picture.
func garbage(picture int) int {
	const usual, most = 100, 128 << 20
	if picture <= most {
		return usual
	}
	return max(10, usual*most/picture)
}

// work runs f on a goroutine of its own that close waits for.
func (r *runner) work(f func()) { r.busy.Go(f) }

// post has f run on the drawing goroutine, unless all has ended by then.
func (r *runner) post(f func()) {
	r.s.post(func() {
		if r.ctx.Err() == nil {
			f()
		}
	})
}

func (r *runner) stopLoading() {
	if r.load != nil {
		r.load()
	}
}

// follow starts what now asks for and old did not.
func (r *runner) follow(old, now State) {
	if now.Loading != old.Loading {
		r.followLoading(now)
	}
	if now.Adding != old.Adding && now.Adding.Path != "" {
		r.addPaper(now.Adding)
	}
	if now.Wish != old.Wish {
		r.takeProfile(now)
	}
	if now.Picture.Key != old.Picture.Key || now.Library != old.Library {
		r.watchFiles(now)
	}
	if now.Picture.Key != old.Picture.Key && !old.Loading.Keep {
		r.converted(now)
	}
	if now.Picture.Key != old.Picture.Key {
		r.figures = map[wanted]proof.Figures{}
		if r.indexing != nil {
			r.indexing()
		}
	}
	if now.Picture.Key == 0 {
		return
	}
	r.followLooks(now)
	r.followSheets(now)
	if now.Held != HeldNone && (now.Held != old.Held || now.held() != old.held() || now.Screen != old.Screen) {
		r.peek(now)
	}
	if now.Differ.Serial != old.Differ.Serial {
		r.differ(now)
	}
	if now.Proposing != old.Proposing {
		r.propose(now)
	}
	r.draw()
}

// held is what a held key shows in the active sheet's place.
func (s State) held() wanted { return want(s, s.Shown(s.Active)) }

// peek finds the route of what a held key shows.
func (r *runner) peek(now State) {
	set, screen := now.held(), now.Screen
	pic := r.s.store.Picture(set.picture)
	r.work(func() {
		route, err := r.s.engine.Route(pic, set.Setup, screen)
		if err != nil {
			route = refusedRoute(Explain(err, "").Headline)
		}
		r.post(func() { r.s.Do(PeekFound{set, route}) })
	})
}

// differ finds where the active sheet differs from the others.
func (r *runner) differ(now State) {
	if r.differing != nil {
		r.differing()
	}
	ctx, cancel := context.WithCancel(r.ctx)
	r.differing = cancel
	pic, serial := r.s.store.Picture(now.Picture.Key), now.Differ.Serial
	name := func(n int) string {
		if now.Sheets[n].Original {
			return "the original"
		}
		return "sheet " + itoa(n+1)
	}
	one := now.Setup(now.Sheets[now.Active])
	var others []setup.Setup
	var names []string
	for n := range now.Count {
		if n != now.Active && now.Sheets[n].Observed == 0 {
			others, names = append(others, now.Setup(now.Sheets[n])), append(names, name(n))
		}
	}
	r.work(func() {
		defer cancel()
		places, err := r.s.engine.Differing(ctx, pic, one, others, name(now.Active), names)
		r.post(func() {
			found := DifferencesFound{Serial: serial}
			found.N = copy(found.Places[:], places)
			if err != nil {
				found.Failure = Explain(err, now.Picture.Path)
			}
			r.s.Do(found)
		})
	})
}

// propose finds telling colours of the picture.
func (r *runner) propose(now State) {
	pic := r.s.store.Picture(now.Picture.Key)
	have, unasked := append([]pin.Pin(nil), now.Pins[:now.NumPins]...), now.Unasked
	r.work(func() {
		pins, err := r.s.engine.Propose(r.ctx, pic, have)
		r.post(func() {
			switch {
			case err != nil:
				r.s.Do(Tell{Explain(err, now.Picture.Path)})
			case len(pins) == 0 && unasked:
			case len(pins) == 0:
				r.s.Do(Tell{Notice{Headline: "This picture has no more colours that tell about a print than those with pins.", picture: now.Picture.Key}})
			default:
				found := PinsProposed{Picture: now.Picture.Key}
				found.N = copy(found.Pins[:], pins)
				r.s.Do(found)
			}
		})
	})
}

func (r *runner) followLoading(now State) {
	if r.load != nil {
		r.load()
		r.load = nil
	}
	if now.Loading.Path != "" || now.Loading.Demo {
		r.open(now.Loading)
	}
}

// open reads a picture.
func (r *runner) open(l Loading) {
	ctx, cancel := context.WithCancel(r.ctx)
	r.load = cancel
	r.work(func() {
		defer cancel()
		var pic *Picture
		var err error
		if l.Demo {
			pic, err = r.s.engine.Demo(ctx)
		} else {
			pic, err = r.s.engine.Open(ctx, l.Path)
		}
		r.post(func() {
			switch {
			case errors.Is(err, context.Canceled):
				if r.s.state.Loading.Serial == l.Serial && r.s.state.Loading != (Loading{Serial: l.Serial}) {
					r.s.Do(PictureFailed{l.Serial, Notice{Headline: "Opening was stopped.", Hint: "What was on the desk is still there."}})
				}
				return
			case err != nil:
				r.s.Do(PictureFailed{l.Serial, Explain(err, l.Path)})
				return
			case r.s.state.Loading.Serial != l.Serial:
				return
			}
			pic.Info.Key = r.s.store.NewKey()
			if l.Source != "" && pic.Info.Assumed != "" {
				pic.Info.Assumed = l.Source
			}
			r.s.store.Put(pic)
			debug.SetGCPercent(garbage(pic.bytes()))
			opened := PictureOpened{Serial: l.Serial, Info: pic.Info}
			opened.NumPin = copy(opened.Pins[:], pic.Pins)
			r.s.Do(opened)
			r.tidy()
			if !l.Keep {
				// The picture before must not lie there under the new one's name.
				r.s.store.swap([MaxSheets]*image.RGBA{})
				r.s.Do(FrameDone{Frame: r.bump(), Stale: [MaxSheets]bool{true, true, true, true}, Ground: grounds(r.s.state)})
			}
		})
	})
}

// takeProfile checks a profile file and then sets it.
func (r *runner) takeProfile(now State) {
	wish, pic := now.Wish, r.s.store.Picture(now.Picture.Key)
	r.work(func() {
		var screen Screen
		var err error
		if wish.Source {
			err = r.s.engine.CheckSource(pic, wish.Path)
		} else {
			screen, err = r.s.engine.Screen(r.ctx, wish.Path, nil)
		}
		r.post(func() {
			switch {
			case r.s.state.Wish.Serial != wish.Serial:
			case err != nil:
				r.s.Do(Tell{Explain(err, wish.Path)})
			case wish.Source:
				r.s.Do(AssumeSource{wish.Path})
			default:
				r.s.Do(SetScreen{screen})
			}
		})
	})
}
