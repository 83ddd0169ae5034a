package session

// Action is one thing that happened: a person did something, or a result came. Each
// carries its own reduction; the actions_*.go files hold them by what they are about.
type Action interface {
	// reduce returns the state after the action. It changes nothing else and starts
	// nothing.
	reduce(State) State
}

// Together are changes that one click makes: they are taken back as one.
type Together []Action

func (t Together) reduce(s State) State {
	for _, a := range t {
		s = a.reduce(s)
	}
	return s
}

// Reduce returns the state after a. It changes nothing else and starts nothing.
func Reduce(s State, a Action) State {
	s = a.reduce(s)
	if s.Notice.past(s) {
		s.Notice = Notice{Serial: s.Notice.Serial}
	}
	return s
}
