package session

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Kept is what of a desk outlives the program: enough to lay it again, nothing
// that was computed. It is written as JSON; fields that a later version adds are
// left at their first start's value in an older file.
type Kept struct {
	Version int
	Picture string // path, "" for the demo picture
	Assumed string // the space that was said for it
	Sheets  []Sheet
	Active  int
	View    Viewport
	Looking Looking
	Pins    []Pin
	Screen  string // "file:..." where a file was chosen, else ""
	Folds   Folds
	Light   bool
}

// keptVersion goes up when an old file would be misread.
const keptVersion = 1

// maxKept bounds the file: sixteen pins and four sheets take 3 KB.
const maxKept = 1 << 20

// Keep returns what is to be kept of a state.
func Keep(s State) Kept {
	k := Kept{Version: keptVersion, Picture: s.Picture.Path, Assumed: s.Picture.Assumed, Active: s.Active, View: s.View,
		Looking: s.Looking, Folds: s.Folds, Light: s.Light}
	k.Looking.BandsHeld = false
	k.Sheets = append(k.Sheets, s.Sheets[:s.Count]...)
	k.Pins = append(k.Pins, s.Pins[:s.NumPins]...)
	if len(s.Screen.Key) > 5 && s.Screen.Key[:5] == "file:" {
		k.Screen = s.Screen.Key
	}
	return k
}

// Restore lays a kept desk over a first start's state. What can't be is left as
// it was: an unknown paper falls back to the start's, numbers out of range are
// brought back into it. The picture has still to be opened: see Reopen.
func (k Kept) Restore(s State, known func(paper string) bool) State {
	if k.Version != keptVersion || len(k.Sheets) == 0 {
		return s
	}
	fallback := s.Default.Paper
	s.Count = min(len(k.Sheets), MaxSheets)
	for i := 0; i < s.Count; i++ {
		sh := k.Sheets[i]
		if !known(sh.Paper) {
			sh.Paper = fallback
		}
		if !known(sh.Slip.OtherPaper) {
			sh.Slip.OtherPaper = ""
		}
		sh.Intent, sh.Slip.Second = min(sh.Intent, Absolute), min(sh.Slip.Second, Absolute)
		if sh.Against >= s.Count {
			sh.Against = -1
		}
		s.Sheets[i] = sh
	}
	s.Active = clampInt(k.Active, 0, s.Count-1)
	s.Looking, s.Folds, s.Light = k.Looking, k.Folds, k.Light
	switch s.Looking.Threshold {
	case 1, 2, 4, 8:
	default:
		s.Looking.Threshold = 2
	}
	if s.Looking.Lux <= 0 || s.Looking.Luminance <= 0 {
		s.Looking.Lux, s.Looking.Luminance = 315, 160
	}
	s.Desk = ""
	return s
}

// Reopen returns what opens the kept picture with its pins and its view.
func (k Kept) Reopen() OpenPicture {
	o := OpenPicture{Path: k.Picture, Demo: k.Picture == "", Source: k.Assumed, Again: true, View: k.View}
	o.NumPins = copy(o.Pins[:], k.Pins)
	return o
}

// DeskFile returns where a user's desk is kept, "" where there is no place.
func DeskFile() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "firstsheet", "desk.json")
}

// ErrNoDesk says that none was kept.
var ErrNoDesk = errors.New("session: no desk was kept")

// LoadDesk reads a kept desk.
func LoadDesk(path string) (Kept, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) || path == "" {
		return Kept{}, ErrNoDesk
	}
	if err != nil {
		return Kept{}, err
	}
	if info.Size() > maxKept {
		return Kept{}, fmt.Errorf("session: %s has %d bytes, a desk has at most %d", path, info.Size(), maxKept)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return Kept{}, err
	}
	var k Kept
	if err := json.Unmarshal(data, &k); err != nil {
		return Kept{}, fmt.Errorf("session: %s is no kept desk: %w", path, err)
	}
	return k, nil
}

// SaveDesk writes a desk: complete or not at all.
func SaveDesk(path string, k Kept) error {
	data, err := json.MarshalIndent(k, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), "desk-*.json")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // gone already when all went well
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// keepDelay is how long a desk rests before it is written: a drag is one change.
const keepDelay = time.Second

// KeepAt has the desk written to a file a moment after each change. A file that
// can't be written is told once.
func (s *Session) KeepAt(path string) {
	var timer *time.Timer
	told := false
	write := func() {
		if s.state.Picture.Key == 0 {
			return
		}
		if err := SaveDesk(path, Keep(s.state)); err != nil && !told {
			told = true
			s.Do(Tell{Notice{Failure: true, Headline: "The desk can’t be saved: " + err.Error() + ".",
				Hint: "Everything works, but this desk will not come back when the program is opened again."}})
		}
	}
	s.Watch(func(old, now State) {
		moved := old
		moved.Pointer, moved.Frame = now.Pointer, now.Frame
		if now.Picture.Key == 0 || moved == now || fmt.Sprint(Keep(old)) == fmt.Sprint(Keep(now)) {
			return
		}
		if timer != nil {
			timer.Stop()
		}
		timer = time.AfterFunc(keepDelay, func() { s.post(write) })
	})
}
