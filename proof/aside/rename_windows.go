package aside

import (
	"errors"
	"os"
	"syscall"
	"time"
)

const (
	patience = 2 * time.Second
	pause    = 20 * time.Millisecond
)

// rename moves a file to a name, in place of what is there. Programs that look at every
// new file, such as virus scanners and indexers, hold it for moments, and Windows refuses
// meanwhile: it is tried again until its patience ends.
func rename(from, to string) error {
	for end := time.Now().Add(patience); ; time.Sleep(pause) {
		err := os.Rename(from, to)
		if err == nil || !busy(err) || time.Now().After(end) {
			return err
		}
	}
}

// busy tells whether a file cannot be replaced because somebody has it open, which Windows
// also calls a lack of permission (ERROR_ACCESS_DENIED).
func busy(err error) bool { return held(err) || errors.Is(err, syscall.ERROR_ACCESS_DENIED) }
