package printfile

import (
	"syscall"
	"unsafe"
)

var getDiskFreeSpaceEx = syscall.NewLazyDLL("kernel32.dll").NewProc("GetDiskFreeSpaceExW")

// freeSpace returns how many bytes a folder's disk has free for us, and whether that
// is known.
func freeSpace(dir string) (int64, bool) {
	name, err := syscall.UTF16PtrFromString(dir)
	if err != nil {
		return 0, false
	}
	var free int64
	ok, _, _ := getDiskFreeSpaceEx.Call(uintptr(unsafe.Pointer(name)), uintptr(unsafe.Pointer(&free)), 0, 0)
	return free, ok != 0
}
