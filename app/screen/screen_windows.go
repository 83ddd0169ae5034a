package screen

import (
	"fmt"
	"os"
	"syscall"
	"unsafe"
)

var (
	user32         = syscall.NewLazyDLL("user32.dll")
	gdi32          = syscall.NewLazyDLL("gdi32.dll")
	getDC          = user32.NewProc("GetDC")
	releaseDC      = user32.NewProc("ReleaseDC")
	getICMProfileW = gdi32.NewProc("GetICMProfileW")
)

func profile() ([]byte, error) {
	dc, _, _ := getDC.Call(0)
	if dc == 0 {
		return nil, ErrNone
	}
	defer releaseDC.Call(0, dc)
	var size uint32 = syscall.MAX_LONG_PATH
	name := make([]uint16, size)
	ok, _, _ := getICMProfileW.Call(dc, uintptr(unsafe.Pointer(&size)), uintptr(unsafe.Pointer(&name[0])))
	if ok == 0 {
		return nil, ErrNone
	}
	path := syscall.UTF16ToString(name)
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("screen: %w", err)
	}
	if info.Size() > maxProfile {
		return nil, fmt.Errorf("screen: %s has %d bytes", path, info.Size())
	}
	return os.ReadFile(path)
}
