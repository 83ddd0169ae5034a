// Package jpeg is a thin binding to the system's libjpeg-turbo, by the interface that it
// shares with the first libjpeg. It has no policy but one: where the library warns that it
// has made up pixels, which a file that is damaged or ends early has it do, that is an error.
//
// The library leaves calls that fail by longjmp; this stays within C. All memory of the
// library is C's and is not counted by Go.
//
// Left out on purpose: segments beside the picture, which are read and written by package
// photo; 12 bits; arithmetic coding and progressive files in writing.
//
// Specification: ITU-T T.81; colour as in T.871 and in Adobe's segment APP14.
package jpeg

/*
#cgo pkg-config: libjpeg
#include "jpeg.h"
*/
import "C"

import "fmt"

// Kind is how the library failed.
type Kind uint8

// The kinds of failure.
const (
	Damaged     Kind = iota + 1 // the file breaks its format
	Short                       // it ends early
	Unsupported                 // it is of a sort that the library does not do
	TooLarge                    // it wants more memory than it may
)

func (k Kind) String() string {
	switch k {
	case Damaged:
		return "damaged"
	case Short:
		return "ends early"
	case Unsupported:
		return "unsupported"
	case TooLarge:
		return "too large"
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// Error is a refusal of the library, with its own message.
type Error struct {
	Kind    Kind
	Message string
}

func (e *Error) Error() string { return "jpeg: " + e.Message }

// failure makes an error of what a call returned.
func failure(kind C.fs_kind, text *C.char) error {
	if kind == C.FS_OK {
		return nil
	}
	return &Error{map[C.fs_kind]Kind{C.FS_DAMAGED: Damaged, C.FS_SHORT: Short, C.FS_UNSUPPORTED: Unsupported, C.FS_MEMORY: TooLarge}[kind], C.GoString(text)}
}
