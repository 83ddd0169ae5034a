package session

import "context"

// shelve changes the shelf of papers away from the drawing goroutine, one change after
// another in the order of the calls, and then has it told on that goroutine. A change
// that was asked for is made even when all else ends meanwhile: a person's words are
// not lost by closing the window.
func (r *runner) shelve(change func(Shelf) error, told func(error)) {
	before, done := r.shelved, make(chan struct{})
	r.shelved = done
	r.work(func() {
		if before != nil {
			<-before
		}
		err := change(r.s.engine)
		close(done)
		r.post(func() { told(err) })
	})
}

func (r *runner) addPaper(a AddingPaper) {
	var p Paper
	var had bool
	r.shelve(func(s Shelf) (err error) {
		p, had, err = s.AddPaper(a.Path)
		return err
	}, func(err error) {
		if err != nil {
			r.s.Do(PaperFailed{a.Serial, Explain(err, a.Path)})
			return
		}
		told := Notice{Headline: "‘" + p.Name + "’ is now among your papers, and the proof lies on it."}
		if had {
			told = Notice{Headline: "You already have this profile: it is ‘" + p.Name + "’, and the proof lies on it.", Hint: "Nothing was added."}
		}
		r.papersChanged(LibraryChanged{Serial: a.Serial, Use: p.ID, Notice: told})
	})
}

// papersChanged takes the list of papers anew and has the new ones studied.
func (r *runner) papersChanged(a Action) {
	r.s.store.takeShelf(r.s.engine)
	r.study()
	r.s.Do(a)
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
					r.papersChanged(PapersSavedAnew{})
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
			r.s.store.takeShelf(r.s.engine)
			r.s.Do(LibraryChanged{Serial: -1})
		})
	})
}
