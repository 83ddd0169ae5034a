package aside

import (
	"errors"
	"syscall"
)

// held tells whether a file could not be opened because another program has it open and
// lets nobody write to it (ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION).
func held(err error) bool {
	return errors.Is(err, syscall.Errno(32)) || errors.Is(err, syscall.Errno(33))
}
