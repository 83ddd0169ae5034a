package session

import (
	"slices"
	"strings"

	"firstsheet/proof/slip"
	"firstsheet/proof/space"
)

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
	s.store.takeShelf(engine)
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

// AtRest tells whether what lies on the desk is what State says: every sheet is drawn at
// its best and measured, and nothing is under way. The soak test holds the window to it.
func (s *Session) AtRest() bool { return s.run.atRest() }

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
		s.state = s.usual(old, Reduce(old, next))
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

const neverConverted = "never"

// usualSlip is the slip that the switch shows before anybody has chosen one, for a
// picture and a paper of so many channels: never converted, the mistake that is
// plainest to see; where the numbers do not even fit the printer, converted twice; for a
// printer of other inks, where that changes little, compensation left out.
func usualSlip(picture, paper int) string {
	switch {
	case picture == paper:
		return neverConverted
	case paper == 3:
		return "twice"
	}
	return "compensation"
}

// usual brings the slips that nobody chose in line with picture and papers, and what a
// second converter takes the numbers for in line with the paper: for a printer of other
// numbers than RGB the paper's own profile. Where another slip is seen for it, or a paper
// has just come, this is told.
func (s *Session) usual(old, st State) State {
	fit := func(sh *Sheet) {
		p, ok := s.store.Paper(sh.Paper)
		if !ok || sh.Original || st.Picture.Channels == 0 {
			return
		}
		if !sh.Chosen {
			sh.Slips = usualSlip(st.Picture.Channels, p.Profile.Channels())
		}
		if slices.Contains(sh.SlipIDs(), "twice") {
			sh.Reads = s.fitting(sh.Reads, p)
		}
	}
	for i := range st.Sheets {
		fit(&st.Sheets[i])
	}
	fit(&st.Default)
	was, _ := old.Proof()
	is, n := st.Proof()
	laid := old.Loading.Serial != st.Loading.Serial // a desk that comes back
	if n < 0 || laid || was.Slips == is.Slips || is.Chosen || was.Paper == is.Paper || old.Picture.Key != st.Picture.Key {
		return st
	}
	if told := st.Notice != old.Notice; is.Wrong || told {
		return otherSlip(st, was.Slips, is.Slips, told)
	}
	return st
}

// fitting returns what a second converter takes the numbers of a paper for: reads, unless
// those are known to be of other channels.
func (s *Session) fitting(reads string, p Paper) string {
	channels := 3 // of every built-in space
	if _, ok := space.ByID(reads); !ok && reads != "" {
		at := slices.IndexFunc(s.store.Papers(), func(q Paper) bool { return q.Path == reads })
		if at < 0 {
			return reads // a file that somebody chose: its use tells what is wrong with it
		}
		channels = s.store.Papers()[at].Profile.Channels()
	}
	switch own := p.Profile.Channels(); {
	case own == channels:
		return reads
	case own == 3:
		return ""
	}
	return p.Path
}

// otherSlip tells that the switch makes another slip than before, after what is told
// already where there is that.
func otherSlip(st State, was, is string, told bool) State {
	name := func(id string) string {
		k, _ := slip.ByID(id)
		return "‘" + Typeset(k.Name) + "’"
	}
	text := name(was) + " is no mistake that could happen on this paper: ‘Gone wrong’ makes the slip " + name(is) + " there."
	if was != neverConverted {
		text = "On this paper ‘Gone wrong’ makes the slip " + name(is) + " in place of " + name(was) + "."
	}
	if told {
		st.Notice.Hint = strings.TrimSpace(st.Notice.Hint + " " + text)
		return st
	}
	return tell(st, Notice{Headline: text, sheets: st.differOf()})
}

// Observe keeps what was observed of a print of the open picture, for sheets that show it,
// and returns its key. Its place is the whole picture, whatever its own size, and its
// colours are relative to the paper's white. It is forgotten with the picture.
func (s *Session) Observe(p *Picture) int {
	p.Info.Key = s.store.NewKey()
	s.store.Observe(p)
	return p.Info.Key
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
