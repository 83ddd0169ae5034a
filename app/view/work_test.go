package view

import (
	"slices"
	"testing"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
)

// A lane shows the last job's outcome alone; a stopped job still tells how far it came,
// a dropped one and those of a closed card nothing; the host knows when all have ended.
func TestWork(t *testing.T) {
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(30, 20)}
	q := sessiontest.NewQueue()
	s := session.New(e, q.Post, session.Start("pearl"))
	defer s.Close()
	h := &Host{Session: s}
	w := h.newWork()
	l, other := w.lane(), w.lane()
	var told []string
	waiting := func(name string) func(j job) func() {
		return func(j job) func() {
			j.post(func() { told = append(told, name+" goes on") })
			<-j.Done()
			return func() { told = append(told, name+" ended") }
		}
	}
	drain := func() {
		h.jobs.Wait()
		for q.Step() {
		}
	}
	wants := func(want ...string) {
		t.Helper()
		if !slices.Equal(told, want) {
			t.Errorf("told %q, want %q", told, want)
		}
		told = nil
	}

	l.start(waiting("first"))
	l.start(waiting("second"))
	other.start(func(job) func() { return func() { told = append(told, "other") } })
	if !l.busy() {
		t.Error("a lane with a job is not busy")
	}
	if !q.Until(func() bool { return len(told) == 2 }) {
		t.Fatalf("told %q", told)
	}
	slices.Sort(told)
	wants("other", "second goes on")
	l.stop()
	drain()
	wants("second ended")
	if l.busy() || other.busy() {
		t.Error("a lane without a job is busy")
	}

	l.start(waiting("dropped"))
	l.drop()
	drain()
	wants()

	l.start(waiting("closed"))
	w.close()
	drain()
	wants()
}
