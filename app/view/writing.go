package view

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/handout"
	"firstsheet/proof/words"
)

// writing is the writing of files from a card, with its progress in the card's foot line
// and a button that stops it.
type writing struct {
	lane *lane
	halt *widget.Press // shown while something is being written
	say  func(string)  // writes the foot line
	turn func()        // told that writing has begun or ended
}

func newWriting(w *work, say func(string), turn func()) *writing {
	f := &writing{lane: w.lane(), say: say, turn: turn}
	f.halt = widget.NewPress("Stop", f.lane.stop)
	f.halt.Hide()
	return f
}

// busy tells whether something is being written: then the foot line is taken.
func (f *writing) busy() bool { return f.lane.busy() }

// start has files written; do returns what to say at the end. path names the file that
// an error is about.
func (f *writing) start(what, path string, do func(ctx context.Context, progress func(float64)) (string, error)) {
	f.lane.start(func(j job) func() {
		said, err := do(j, func(done float64) {
			j.post(func() {
				if j.Err() == nil {
					f.say(fmt.Sprintf("%s: %s done …", what, words.Share(done)))
				}
			})
		})
		if w := f.lane.work; w.ctx.Err() != nil {
			w.h.Session.Post(func() { w.h.Do(session.Tell{Notice: closedOn(what, said, err, path)}) })
		}
		return func() {
			f.halt.Hide()
			f.turn()
			f.say(outcome(said, err, path))
		}
	})
	f.halt.Show()
	f.turn()
	f.say(what + " is being made …")
}

// partly is a job that failed when some of its files were complete.
type partly struct {
	done string
	err  error
}

func (p *partly) Error() string { return p.err.Error() }
func (p *partly) Unwrap() error { return p.err }

// closedOn is told by the window of a job whose card was closed before its end.
func closedOn(what, said string, err error, path string) session.Notice {
	n := session.Notice{Headline: outcome(said, err, path), Failure: err != nil && !errors.Is(err, context.Canceled)}
	if errors.Is(err, context.Canceled) {
		n.Headline = what + ": the card was closed before the end. " + n.Headline
	}
	return n
}

// outcome is the sentence at the end of a job.
func outcome(said string, err error, path string) string {
	if err == nil {
		return said
	}
	before := ""
	if some, ok := errors.AsType[*partly](err); ok {
		before = " " + some.done
	}
	if errors.Is(err, context.Canceled) {
		return "Stopped; no file is left half written." + before
	}
	if hand, ok := errors.AsType[*handout.Error](err); ok {
		return "The handout can’t be made: " + hand.Err.Error() + "." + before
	}
	return session.Explain(err, path).Headline + before
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// keepOriginal names the file that nothing may be written over.
func keepOriginal(h *Host) []string {
	if p := h.State().Picture.Path; p != "" {
		return []string{p}
	}
	return nil
}

// homeFor is the folder that files are offered to be written into: beside the
// picture, or the person's own.
func homeFor(picture string) string {
	if dir := printFolder.folder(); dir != "" && isFolder(dir) {
		return dir
	}
	if picture != "" {
		return filepath.Dir(picture)
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "."
	}
	for _, d := range []string{"Documents", "Pictures"} {
		if info, err := os.Stat(filepath.Join(home, d)); err == nil && info.IsDir() {
			return filepath.Join(home, d)
		}
	}
	return home
}

// fileSafe makes a name that every file system takes.
func fileSafe(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '-'
		}
		return r
	}, s)
}

// bareName is a picture's name without its ending.
func bareName(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }
