package session

import (
	"context"
	"errors"
	"image"
	"image/color"
	"sync"
	"sync/atomic"
	"time"

	"firstsheet/app/overlay"
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
	lanes   chan struct{} // bounds how many looks are made at once

	frame    uint64
	drawn    frameKey // what the last started frame shows
	drawing  bool
	stopDraw context.CancelFunc
	numbers  sampled // the picture's numbers at view size, of the last frame

	load, watch, differing context.CancelFunc
}

// wanted is what work is done for: a set-up, for a picture, by profiles as they were
// last read.
type wanted struct {
	setup.Setup
	picture, edition int
}

func want(s State, sh Sheet) wanted { return wanted{s.Setup(sh), s.Picture.Key, s.Edition} }

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
	over    overlay.Set
	limit   float64
}

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
	}
	if now.Picture.Key == 0 {
		return
	}
	r.followLooks(now)
	r.followSheets(now)
	if now.Held != HeldNone && now.Held != old.Held {
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

// peek finds the route of what a held key shows.
func (r *runner) peek(now State) {
	set, pic, screen := now.Setup(now.Shown(now.Active)), r.s.store.Picture(now.Picture.Key), now.Screen
	r.work(func() {
		route, err := r.s.engine.Route(pic, set, screen)
		if err == nil {
			r.post(func() { r.s.Do(PeekFound{now.Held, route}) })
		}
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
		if n != now.Active {
			others, names = append(others, now.Setup(now.Sheets[n])), append(names, name(n))
		}
	}
	r.work(func() {
		defer cancel()
		places, err := r.s.engine.Differing(ctx, pic, one, others, name(now.Active), names)
		r.post(func() {
			found := DifferencesFound{Serial: serial}
			if ctx.Err() == nil && err != nil {
				r.s.Do(Tell{Explain(err, now.Picture.Path)})
			}
			found.N = copy(found.Places[:], places)
			if err == nil {
				r.s.Do(found)
			}
		})
	})
}

// propose finds telling colours of the picture.
func (r *runner) propose(now State) {
	pic := r.s.store.Picture(now.Picture.Key)
	have := append([]pin.Pin(nil), now.Pins[:now.NumPins]...)
	r.work(func() {
		pins, err := r.s.engine.Propose(r.ctx, pic, have)
		r.post(func() {
			switch {
			case err != nil:
				r.s.Do(Tell{Explain(err, now.Picture.Path)})
			case len(pins) == 0:
				r.s.Do(Tell{Notice{Headline: "This picture has no more colours that tell about a print than those with pins."}})
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
			opened := PictureOpened{Serial: l.Serial, Info: pic.Info}
			opened.NumPin = copy(opened.Pins[:], pic.Pins)
			r.s.Do(opened)
		})
	})
}

func (r *runner) addPaper(a AddingPaper) {
	r.work(func() {
		p, err := r.s.engine.AddPaper(a.Path)
		r.post(func() {
			if err != nil {
				r.s.Do(PaperFailed{a.Serial, Explain(err, a.Path)})
				return
			}
			r.s.store.SetPapers(r.s.engine.Papers())
			r.study()
			r.s.Do(LibraryChanged{Serial: a.Serial, Use: p.ID,
				Notice: Notice{Headline: "‘" + p.Name + "’ is now among your papers, and the proof lies on it."}})
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

// watchFiles looks after the files in use: what is saved anew elsewhere is read
// anew here.
func (r *runner) watchFiles(now State) {
	if r.watch != nil {
		r.watch()
		r.watch = nil
	}
	var paths []string
	picture := now.Picture.Path
	if picture != "" {
		paths = append(paths, picture)
	}
	for _, p := range r.s.store.Papers() {
		if p.Path != "" {
			paths = append(paths, p.Path)
		}
	}
	if len(paths) == 0 {
		return
	}
	ctx, cancel := context.WithCancel(r.ctx)
	r.watch = cancel
	r.work(func() {
		// Where a folder can't be watched the picture stays as it was opened.
		_ = r.s.engine.Watch(ctx, paths, func(path string) {
			if path != picture {
				r.s.engine.Refresh()
			}
			r.post(func() {
				switch {
				case ctx.Err() != nil:
				case path == picture:
					r.s.Do(ReloadPicture{})
				default:
					r.s.store.SetPapers(r.s.engine.Papers())
					r.s.Do(PapersSavedAnew{})
					r.study()
				}
			})
		})
	})
}

// study finds out what each paper is, in the background.
func (r *runner) study() {
	r.work(func() {
		if r.s.engine.Study(r.ctx) != nil {
			return
		}
		r.post(func() {
			// Asked for now: an older list would take back what was added meanwhile.
			r.s.store.SetPapers(r.s.engine.Papers())
			r.s.Do(LibraryChanged{Serial: -1})
		})
	})
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
	pic, screen := r.s.store.Picture(now.Picture.Key), now.Screen
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
			})
		}
	})
}

// value finds the pins' colours and the sentence of a sheet.
func (r *runner) value(ctx context.Context, n int, w sheetWork, now State) {
	pic := r.s.store.Picture(now.Picture.Key)
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
		found.Words, found.Spoken = r.s.engine.Sentence(pic, w.set.Setup, pins, vals, chosen, fig)
		copy(found.Values[:], vals)
		r.post(func() {
			if ctx.Err() == nil {
				r.s.Do(found)
			}
		})
	})
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
	select {
	case r.lanes <- struct{}{}:
	case <-w.ctx.Done():
		return
	}
	look, err := r.s.engine.Look(w.ctx, w.pic, set.Setup, q)
	<-r.lanes
	if w.ctx.Err() != nil {
		return
	}
	r.post(func() {
		if r.looks[set] != w {
			return
		}
		if err != nil {
			w.failed = true
		} else {
			w.look, w.quality = look, q
		}
		r.followLooks(r.s.state)
		r.draw()
	})
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
	key := frameKey{picture: now.Picture.Key, cell: now.Cell, view: now.View, count: now.Count,
		over: now.Overlays(), limit: now.Looking.Threshold}
	if key.view.Fit {
		key.view = Viewport{Fit: true}
	}
	var stale [MaxSheets]bool
	var looks [MaxSheets]Look
	var fields [MaxSheets]Difference
	for n := 0; n < now.Count; n++ {
		sh := now.Shown(n)
		set := want(now, sh)
		w := r.looks[set]
		if w == nil || w.look == nil {
			stale[n] = w == nil || !w.failed
			// What lay there stays; a new sheet first shows what the active one does.
			w = nil
			if r.drawn.picture == now.Picture.Key {
				for _, k := range []int{n, now.Active, 0} {
					if last := r.sheets[k].last; last != nil && w == nil {
						w = last
					}
				}
			}
		} else {
			r.sheets[n].last = w
		}
		key.set[n], key.look[n], key.show[n], key.against[n] = set, w, sh.Show, sh.Against >= 0
		if w != nil {
			key.quality[n], looks[n] = w.quality, w.look
		}
		if sh.Show == ShowDifference && sh.Against >= 0 && sh.Against < now.Count {
			a := r.apart[[2]wanted{want(now, now.Sheets[sh.Against]), set}]
			if a != nil && a.run != nil {
				key.apart[n], fields[n] = a, a.run
			} else {
				stale[n] = true
			}
		}
	}
	if key == r.drawn {
		if stale != now.Stale {
			r.s.Do(FrameDone{Frame: r.bump(), Stale: stale, Ground: grounds(now)})
		}
		return
	}
	r.drawn, r.drawing = key, true
	ctx, cancel := context.WithCancel(r.ctx)
	r.stopDraw = cancel
	var buffers [MaxSheets]*image.RGBA
	for n := 0; n < now.Count; n++ {
		buffers[n] = r.s.store.room(now.Cell.W, now.Cell.H)
	}
	before := r.numbers
	r.work(func() {
		defer cancel()
		job := frameJob{pic: pic, numbers: before}
		ok := job.draw(ctx, key, looks, fields, buffers)
		r.post(func() {
			r.drawing = false
			if ok {
				r.numbers = job.numbers
				for n := range stale {
					// What is wanted may have changed while this was drawn.
					stale[n] = n < r.s.state.Count && (stale[n] || want(r.s.state, r.s.state.Shown(n)) != key.set[n])
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
