//go:build cgo

package screen

// #cgo LDFLAGS: -framework CoreGraphics -framework CoreFoundation
// #include <CoreGraphics/CoreGraphics.h>
import "C"

import (
	"fmt"
	"image"
	"unsafe"
)

func of(Window) string { return Main }

func room(Window) image.Point { return image.Point{} }

func profile(string) ([]byte, error) {
	space := C.CGDisplayCopyColorSpace(C.CGMainDisplayID())
	if space == 0 {
		return nil, ErrNone
	}
	defer C.CGColorSpaceRelease(space)
	data := C.CGColorSpaceCopyICCData(space)
	if data == 0 {
		return nil, ErrNone
	}
	defer C.CFRelease(C.CFTypeRef(data))
	n := int(C.CFDataGetLength(data))
	if n > maxProfile {
		return nil, fmt.Errorf("screen: the screen's profile has %d bytes", n)
	}
	return C.GoBytes(unsafe.Pointer(C.CFDataGetBytePtr(data)), C.int(n)), nil
}
