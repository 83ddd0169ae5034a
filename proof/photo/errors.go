package photo

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"syscall"
)

// Kind is why a picture could not be opened or written.
type Kind uint8

const (
	NotFound    Kind = iota + 1 // no such file
	NotReadable                 // no permission, a folder, the disk failed, or it was changed meanwhile
	NotAPicture                 // the bytes are no picture file at all
	Damaged                     // a picture file that breaks its own format, or ends early
	Unsupported                 // a picture, but of a sort that is not read or written here
	TooLarge                    // beyond the limits of this package
	NotWritable                 // the file could not be created or replaced
	DiskFull                    // no space was left; nothing was written
)

func (k Kind) String() string {
	switch k {
	case NotFound:
		return "not found"
	case NotReadable:
		return "not readable"
	case NotAPicture:
		return "not a picture"
	case Damaged:
		return "damaged"
	case Unsupported:
		return "unsupported"
	case TooLarge:
		return "too large"
	case NotWritable:
		return "not writable"
	case DiskFull:
		return "disk full"
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// Error says which file failed, in which way, and what exactly was met. Every
// error of this package but a context's own is one.
type Error struct {
	Path string
	Kind Kind
	Err  error
}

func (e *Error) Error() string {
	if e.Path == "" {
		return fmt.Sprintf("photo: %v: %v", e.Kind, e.Err)
	}
	return fmt.Sprintf("photo: %s: %v: %v", e.Path, e.Kind, e.Err)
}

func (e *Error) Unwrap() error { return e.Err }

func damaged(format string, args ...any) error {
	return &Error{Kind: Damaged, Err: fmt.Errorf(format, args...)}
}

func unsupported(format string, args ...any) error {
	return &Error{Kind: Unsupported, Err: fmt.Errorf(format, args...)}
}

func tooLarge(format string, args ...any) error {
	return &Error{Kind: TooLarge, Err: fmt.Errorf(format, args...)}
}

func notAPicture(format string, args ...any) error {
	return &Error{Kind: NotAPicture, Err: fmt.Errorf(format, args...)}
}

// at puts the path into err, which becomes an *Error of kind otherwise when it
// is none yet. A context's end stays as it is.
func at(path string, otherwise Kind, err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	if e, ok := errors.AsType[*Error](err); ok {
		if e.Path != "" {
			return e
		}
		return &Error{Path: path, Kind: e.Kind, Err: e.Err}
	}
	// The path is said once, by Error.
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		err = p.Err
	}
	return &Error{Path: path, Kind: otherwise, Err: err}
}

// readKind tells a missing file from one that cannot be read.
func readKind(err error) Kind {
	if errors.Is(err, fs.ErrNotExist) {
		return NotFound
	}
	return NotReadable
}

// writeKind tells a full disk from a folder that cannot be written to.
func writeKind(err error) Kind {
	if errors.Is(err, syscall.ENOSPC) {
		return DiskFull
	}
	return NotWritable
}
