package session

// Session is the window's mind: it holds State, takes Actions and lets the
// runner do what they ask for. All its methods are called on the goroutine that
// post runs functions on.
type Session struct {
	state  State
	store  *Store
	engine Engine
	post   func(func())
	run    *runner
	watch  []func(old, now State)
	queue  []Action
	busy   bool
	past   history
	keep   *keeper // nil where the desk is not saved
}

// New returns a session. post hands a function to the goroutine that draws;
// it may be called from any goroutine.
func New(engine Engine, post func(func()), start State) *Session {
	s := &Session{state: start, store: NewStore(), engine: engine, post: post}
	s.store.papers = engine.Papers()
	s.run = newRunner(s)
	s.run.study()
	return s
}

// State returns what the window shows.
func (s *Session) State() State { return s.state }

// Store returns the bulky things.
func (s *Session) Store() *Store { return s.store }

// Engine returns the engine, for cards that compute something of their own. They
// do so away from the drawing goroutine and come back by Post.
func (s *Session) Engine() Engine { return s.engine }

// Post runs f on the drawing goroutine.
func (s *Session) Post(f func()) { s.post(f) }

// Watch has f called after each change of State.
func (s *Session) Watch(f func(old, now State)) { s.watch = append(s.watch, f) }

// Do reduces State by an action, starts what it asks for and tells the watchers.
// An action sent from a watcher is taken after the present one.
func (s *Session) Do(a Action) {
	if a == nil {
		return
	}
	s.queue = append(s.queue, a)
	if s.busy {
		return
	}
	s.busy = true
	defer func() { s.busy = false }()
	for len(s.queue) > 0 {
		next := s.queue[0]
		s.queue = s.queue[1:]
		old := s.state
		next = s.past.turn(old, next)
		s.state = s.usual(Reduce(old, next))
		s.past.note(old, s.state, next)
		s.state.CanUndo, s.state.CanRedo = len(s.past.past) > 0, len(s.past.future) > 0
		if s.state == old {
			continue
		}
		s.run.follow(old, s.state)
		for _, w := range s.watch {
			w(old, s.state)
		}
	}
}

// usualSlip is the slip that the switch shows before anybody has chosen one, for a
// picture and a paper of so many channels: never converted, the mistake that is
// plainest to see; where the numbers do not even fit the printer, converted twice;
// where that needs to be told a space first, compensation left out.
func usualSlip(picture, paper int) string {
	switch {
	case picture == paper:
		return "never"
	case paper == 3:
		return "twice"
	}
	return "compensation"
}

// usual brings the slips that nobody chose in line with picture and papers.
func (s *Session) usual(st State) State {
	fit := func(sh *Sheet) {
		if sh.Chosen || sh.Original {
			return
		}
		if p, ok := s.store.Paper(sh.Paper); ok && st.Picture.Channels > 0 {
			sh.Slips = usualSlip(st.Picture.Channels, p.Profile.Channels())
		}
	}
	for i := range st.Sheets {
		fit(&st.Sheets[i])
	}
	fit(&st.Default)
	return st
}

// StopLoading stops opening a picture.
func (s *Session) StopLoading() { s.run.stopLoading() }

// PapersChanged takes the list of papers anew after a card has changed it. The
// active proof is put on the paper use; "" leaves it where it is.
func (s *Session) PapersChanged(use string, n Notice) {
	s.run.papersChanged(LibraryChanged{Serial: -1, Use: use, Notice: n})
}

// Shelve has the shelf of papers changed away from the drawing goroutine, one change
// after another in the order of the calls, and then calls told on the drawing one. What
// was asked for is done even when the session closes meanwhile; nothing is told then.
func (s *Session) Shelve(change func(Shelf) error, told func(error)) { s.run.shelve(change, told) }

// Close cancels everything that is under way, waits until it has ended, and closes
// the engine.
func (s *Session) Close() {
	if s.keep != nil {
		s.keep.close()
	}
	s.run.close()
	s.engine.Close()
}
