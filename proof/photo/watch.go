package photo

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"
)

const (
	// settle is how long a file must stay as it is before it counts as saved.
	// Programs that write in place pause for tens of milliseconds.
	settle = 300 * time.Millisecond

	// pollEvery is how often the files are looked at besides: shares on other
	// machines send no events.
	pollEvery = 2 * time.Second
)

// Watch calls changed(path) each time one of the files has been saved anew:
// after its bytes have stopped changing for about a third of a second, so that a
// file that is still being written is not reported, and also when it was written
// aside and renamed. path is as given. A file that vanishes is reported once it
// is back, if it differs.
//
// The files need not exist, but their folders must. Watch returns when it is set
// up; from then on no save is missed. changed is called from one goroutine until
// ctx ends; done is closed when the last call has returned.
func Watch(ctx context.Context, paths []string, changed func(path string)) (done <-chan struct{}, err error) {
	w := &watcher{changed: changed, settle: settle, poll: pollEvery}
	return w.start(ctx, paths)
}

type watcher struct {
	changed      func(path string)
	settle, poll time.Duration
	files        []*watched
}

// watched is one file and what is known of it.
type watched struct {
	path string
	// reported is the file as it was last known to be; latest as it was last
	// seen, at the time since.
	reported, latest identity
	since            time.Time
	waiting          bool
}

// identity is what distinguishes two states of a file without reading it.
type identity struct {
	exists bool
	size   int64
	mod    int64
	info   os.FileInfo // for os.SameFile only
}

func identify(path string) identity {
	info, err := os.Stat(path) // follows links, as opening does
	if err != nil {
		return identity{}
	}
	return identity{exists: true, size: info.Size(), mod: info.ModTime().UnixNano(), info: info}
}

func (a identity) same(b identity) bool {
	if a.exists != b.exists || a.size != b.size || a.mod != b.mod {
		return false
	}
	// A file that was renamed over another may have its size and time.
	return !a.exists || os.SameFile(a.info, b.info)
}

func (w *watcher) start(ctx context.Context, paths []string) (<-chan struct{}, error) {
	// Folders are watched, not files: a file that is replaced takes its own
	// watch with it.
	var events chan fsnotify.Event
	notify, notifyErr := fsnotify.NewWatcher()
	if notifyErr == nil {
		events = notify.Events
	}
	for _, p := range paths {
		for _, dir := range foldersOf(p) {
			info, err := os.Stat(dir)
			if err == nil && !info.IsDir() {
				err = errors.New("not a folder")
			}
			if err != nil {
				if notify != nil {
					notify.Close()
				}
				return nil, at(dir, readKind(err), err)
			}
			if notify != nil {
				// The system's number of watches may be used up: then polling
				// has to do.
				_ = notify.Add(dir)
			}
		}
		now := identify(p)
		w.files = append(w.files, &watched{path: p, reported: now, latest: now})
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		if notify != nil {
			defer notify.Close()
			go drain(notify)
		}
		w.loop(ctx, events)
	}()
	return done, nil
}

// drain reads errors, such as an overflow of the queue, that polling makes up
// for; unread they would block the watcher.
func drain(n *fsnotify.Watcher) {
	for range n.Errors {
	}
}

// foldersOf returns the folder of path and, when it is a link, the folder of
// what it points to.
func foldersOf(path string) []string {
	dirs := []string{filepath.Dir(path)}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		if d := filepath.Dir(real); d != dirs[0] {
			dirs = append(dirs, d)
		}
	}
	return dirs
}

func (w *watcher) loop(ctx context.Context, events <-chan fsnotify.Event) {
	poll := time.NewTicker(w.poll)
	defer poll.Stop()
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case _, ok := <-events:
			if !ok {
				events = nil
			}
		case <-poll.C:
		case <-timer.C:
		}
		// Events of other files in the folder end up here too; a look at a few
		// files costs less than to find out.
		if wait := w.look(ctx); wait > 0 {
			timer.Reset(wait)
		}
	}
}

// look compares each file with what is known, reports those that have settled,
// and returns after what time to look again, 0 when nothing is pending.
func (w *watcher) look(ctx context.Context) (again time.Duration) {
	for _, f := range w.files {
		now := identify(f.path)
		if !now.same(f.latest) {
			f.latest, f.since, f.waiting = now, time.Now(), true
		}
		if !f.waiting {
			continue
		}
		if left := w.settle - time.Since(f.since); left > 0 {
			if again == 0 || left < again {
				again = left
			}
			continue
		}
		f.waiting = false
		// Empty: a program has cut the file and not yet written; gone: it may
		// come back.
		if !now.exists || now.size == 0 || now.same(f.reported) {
			continue
		}
		f.reported = now
		if ctx.Err() == nil {
			w.changed(f.path)
		}
	}
	return again
}
