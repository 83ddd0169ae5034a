package view

import (
	"runtime"
	"strings"
	"testing"
	"time"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof/lcms"
)

// ours are the stacks of goroutines that run this program's code, the test's own aside.
func ours() (out []string) {
	buf := make([]byte, 1<<20)
	buf = buf[:runtime.Stack(buf, true)]
	for i, s := range strings.Split(string(buf), "\n\n") {
		if i > 0 && strings.Contains(s, "firstsheet/") && !strings.Contains(s, "testing.tRunner") {
			out = append(out, s)
		}
	}
	return out
}

// ended waits until nothing of ours runs any more and as many Little CMS handles are
// open as there were before; goroutines need a moment to wind down.
func ended(t *testing.T, live int) {
	t.Helper()
	end := time.Now().Add(5 * time.Minute)
	for len(ours()) > 0 || lcms.Live() != live {
		if time.Now().After(end) {
			t.Fatalf("%d handles are open, %d were; still running:\n%s", lcms.Live(), live, strings.Join(ours(), "\n\n"))
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// pump runs what is posted for a while.
func pump(q *sessiontest.Queue, d time.Duration) {
	over := false
	time.AfterFunc(d, func() { q.Post(func() { over = true }) })
	q.Until(func() bool { return over })
}

// After each card was opened and closed, at work or at rest, and set-ups were changed
// meanwhile, a closed window leaves no goroutine and no handle behind.
func TestTheWindowClosesClean(t *testing.T) {
	for len(ours()) > 0 { // of tests before
		time.Sleep(20 * time.Millisecond)
	}
	live := lcms.Live()
	w, q := real(t)
	for i, c := range Cards() {
		w.h.Do(session.OpenCard{ID: c.ID})
		if i%2 == 0 { // the others are closed as soon as they have begun
			pump(q, 300*time.Millisecond)
		}
		w.h.Do(session.SetPaper{ID: w.h.Session.Store().Next(w.h.State().Sheets[1].Paper)})
		w.h.Do(session.SetWrong{On: i%3 == 0})
		pump(q, 50*time.Millisecond)
		w.h.Close()
	}
	w.h.Do(session.OpenCard{ID: "verges"})
	pump(q, 100*time.Millisecond)
	if lcms.Live() == live {
		t.Error("nothing was open: the test sees nothing")
	}
	w.Close()
	pump(q, 50*time.Millisecond) // what was posted before comes to nothing
	ended(t, live)
}
