package session_test

import (
	"errors"
	"fmt"
	"testing"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
)

// Changes of the shelf are made one after another in the order in which they were asked
// for, and each is told. Closing makes what was asked for, and tells nothing any more.
func TestShelve(t *testing.T) {
	q := sessiontest.NewQueue()
	s := session.New(&sessiontest.Engine{Picture: sessiontest.Ramp(8, 8)}, q.Post, session.Start("pearl"))
	full := errors.New("full")
	begin := make(chan struct{})
	var made, told []string // made by one worker at a time, told on this goroutine
	ask := func(name string, err error) {
		s.Shelve(func(session.Shelf) error {
			<-begin
			made = append(made, name)
			return err
		}, func(err error) { told = append(told, fmt.Sprint(name, " ", err)) })
	}
	ask("a", nil)
	ask("b", full)
	ask("c", nil)
	close(begin)
	if !q.Until(func() bool { return len(told) == 3 }) {
		t.Fatalf("told: %q", told)
	}
	if got := fmt.Sprint(made, told); got != "[a b c] [a <nil> b full c <nil>]" {
		t.Errorf("made and told: %s", got)
	}
	ask("d", nil)
	ask("e", nil)
	s.Close()
	for q.Step() {
	}
	if got := fmt.Sprint(made[3:], len(told)); got != "[d e] 3" {
		t.Errorf("after closing: %s", got)
	}
}
