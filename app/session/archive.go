package session

import (
	"errors"
	"os"
	"path/filepath"
	"sync"
	"time"

	"firstsheet/proof/desk"
	"firstsheet/proof/printfile"
	"firstsheet/proof/ticket"
)

// Archive keeps the desk from one start to the next, and the prints that were made. It
// may be used from many goroutines.
type Archive struct {
	mu    sync.Mutex
	store *desk.Store
}

// ErrNoSettings is returned where the person has no folder for settings.
var ErrNoSettings = errors.New("there is no folder for settings, so the desk is not saved")

// OpenArchive returns the archive in a folder; "" is the usual one, firstsheet/desk among
// the person's settings.
func OpenArchive(dir string) (*Archive, error) {
	if dir == "" {
		config, err := os.UserConfigDir()
		if err != nil {
			return nil, ErrNoSettings
		}
		dir = filepath.Join(config, "firstsheet", "desk")
	}
	return &Archive{store: desk.Open(dir)}, nil
}

// Load returns the desk that was saved last.
func (a *Archive) Load() (desk.Desk, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.store.Load()
}

// Save keeps the desk in place of the one before.
func (a *Archive) Save(d desk.Desk) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.store.Save(d)
}

// Keep keeps a print's ticket.
func (a *Archive) Keep(t ticket.Ticket) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	_, err := a.store.Keep(t)
	return err
}

// Note notes what came of a print.
func (a *Archive) Note(id string, o ticket.Outcome) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.store.Note(id, o)
}

// Prints lists the prints on a paper, by its profile's ID, the latest first.
func (a *Archive) Prints(profileID string) ([]desk.Print, []error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.store.Prints(profileID)
}

// Archive returns where desk and prints are kept, nil where they are not.
func (s *Session) Archive() *Archive {
	if s.keep == nil {
		return nil
	}
	return s.keep.archive
}

// Resume lays the desk that was saved last, or the demo at a first start, and saves the
// desk from now on after each change. A picture at path, "" for none, is opened in place
// of the saved one. It is called once.
func (s *Session) Resume(a *Archive, path string) {
	d, err := a.Load()
	switch {
	case err == nil:
		s.lay(d, path)
	default:
		if !errors.Is(err, desk.ErrNone) {
			s.Do(Tell{unread(err)})
		}
		s.Do(OpenPicture{Path: path, Demo: path == "", First: true})
	}
	s.keep = &keeper{s: s, archive: a, idle: errors.Is(err, desk.ErrNewer)}
	s.Watch(s.keep.follow)
}

// unread says why there is no desk to come back to.
func unread(err error) Notice {
	n := Notice{Failure: true, Headline: "The desk of last time can’t be laid again: " + Typeset(plainFile(err)) + "."}
	n.Hint = "A fresh desk is laid; the old file was put aside."
	if errors.Is(err, desk.ErrNewer) {
		n.Hint = "A fresh desk is laid. It is not saved, so that the newer one stays as it is."
	}
	return n
}

// plainFile is an error without the path that it came from.
func plainFile(err error) string {
	if e, ok := errors.AsType[*desk.FileError](err); ok {
		return e.Err.Error()
	}
	return err.Error()
}

// keeper saves the desk as it is changed, in the background. Its fields belong to the
// drawing goroutine.
type keeper struct {
	s       *Session
	archive *Archive
	idle    bool // nothing is saved: a newer program's desk lies there

	saved   savedKey // what was saved last, or is being saved
	pending bool     // a save is waiting for the desk to settle
	writing sync.WaitGroup
	hash    struct {
		picture int
		sum     string
		known   bool
	}
	failed bool // the person knows that it does not work
}

// savedKey is everything that a saved desk depends on.
type savedKey struct {
	choices Choices
	view    Viewport
	picture PictureInfo
	print   printfile.Job
	ppi     float64
	light   bool
}

func (s State) savedKey() savedKey {
	return savedKey{s.Choices(), s.View, s.Picture, s.Print, s.ScreenPPI, s.Light}
}

// settled is how long a change has to last before it is saved: dragging a pin is one.
const settled = 700 * time.Millisecond

// follow looks whether there is something to save.
func (k *keeper) follow(old, now State) {
	if now.Picture.Key == 0 || k.idle {
		return
	}
	if now.Picture.Key != old.Picture.Key {
		k.know(now)
		if now.Laid.Missing {
			// The demo lies there in place of a picture that may only be on another disk: what
			// was saved stays until the person changes something.
			k.saved = now.savedKey()
			return
		}
	}
	if k.pending || now.savedKey() == k.saved {
		return
	}
	k.pending = true
	time.AfterFunc(settled, func() {
		k.s.post(func() {
			if k.pending {
				k.pending = false
				k.save()
			}
		})
	})
}

// know finds the hash of a picture that was opened, and tells where it is not the one
// that was saved.
func (k *keeper) know(now State) {
	k.hash.picture, k.hash.sum, k.hash.known = now.Picture.Key, "", now.Picture.Path == ""
	if k.hash.known {
		return
	}
	path, key, was := now.Picture.Path, now.Picture.Key, now.Laid.SHA256
	k.s.run.work(func() {
		sum, err := ticket.Hash(k.s.run.ctx, path)
		k.s.run.post(func() {
			if k.hash.picture != key {
				return
			}
			k.hash.sum, k.hash.known = sum, true
			if err == nil && was != "" && was != sum {
				k.s.Do(Tell{Notice{Headline: "‘" + now.Picture.Name + "’ has changed since it last lay on the desk.",
					Hint: "Pins may lie elsewhere, and a print of it will not be the one of before."}})
			}
			k.follow(k.s.state, k.s.state)
		})
	})
}

// save saves the desk of this moment in the background.
func (k *keeper) save() {
	now := k.s.state
	if now.Picture.Key == 0 || !k.hash.known {
		return // the hash's coming asks again
	}
	key := now.savedKey()
	if key == k.saved {
		return
	}
	k.saved = key
	d := now.Saved(k.hash.sum)
	k.writing.Wait() // one after the other; it takes some milliseconds
	k.writing.Go(func() {
		err := k.archive.Save(d)
		k.s.run.post(func() { k.told(err) })
	})
}

// told tells a person once that the desk can't be saved.
func (k *keeper) told(err error) {
	if err == nil || k.failed {
		return
	}
	k.failed = true
	k.s.Do(Tell{Notice{Failure: true, Headline: "The desk can’t be saved: " + plainFile(err) + ".",
		Hint: "All goes on, but the next start will not bring this desk back."}})
}

// close saves what has not been saved yet.
func (k *keeper) close() {
	if k.pending {
		k.pending = false
		k.save()
	}
	k.writing.Wait()
}
