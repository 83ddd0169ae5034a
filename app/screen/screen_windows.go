package screen

import (
	"fmt"
	"image"
	"os"
	"syscall"
	"unsafe"
)

var (
	user32            = syscall.NewLazyDLL("user32.dll")
	gdi32             = syscall.NewLazyDLL("gdi32.dll")
	monitorFromWindow = user32.NewProc("MonitorFromWindow")
	getMonitorInfoW   = user32.NewProc("GetMonitorInfoW")
	getDC             = user32.NewProc("GetDC")
	releaseDC         = user32.NewProc("ReleaseDC")
	createDCW         = gdi32.NewProc("CreateDCW")
	deleteDC          = gdi32.NewProc("DeleteDC")
	getICMProfileW    = gdi32.NewProc("GetICMProfileW")
)

// monitorInfo is MONITORINFOEXW.
type monitorInfo struct {
	size          uint32
	monitor, work [4]int32
	flags         uint32
	device        [32]uint16
}

const (
	nearest = 2 // MONITOR_DEFAULTTONEAREST
	primary = 1 // MONITORINFOF_PRIMARY
)

// monitorOf tells of the monitor that most of a window lies on.
func monitorOf(w Window) (info monitorInfo, ok bool) {
	m, _, _ := monitorFromWindow.Call(uintptr(w), nearest)
	info.size = uint32(unsafe.Sizeof(info))
	r, _, _ := getMonitorInfoW.Call(m, uintptr(unsafe.Pointer(&info)))
	return info, r != 0
}

// of returns the monitor's device, such as \\.\DISPLAY2; "" for the main one.
func of(w Window) string {
	info, ok := monitorOf(w)
	if !ok || info.flags&primary != 0 {
		return Main
	}
	return syscall.UTF16ToString(info.device[:])
}

func room(w Window) image.Point {
	info, ok := monitorOf(w)
	if !ok {
		return image.Point{}
	}
	return image.Pt(int(info.work[2]-info.work[0]), int(info.work[3]-info.work[1]))
}

// device opens a monitor's device context.
func device(screen string) (dc uintptr, done func()) {
	if screen == Main {
		dc, _, _ = getDC.Call(0)
		return dc, func() { releaseDC.Call(0, dc) }
	}
	driver, err := syscall.UTF16PtrFromString("DISPLAY")
	name, err2 := syscall.UTF16PtrFromString(screen)
	if err != nil || err2 != nil {
		return 0, nil
	}
	dc, _, _ = createDCW.Call(uintptr(unsafe.Pointer(driver)), uintptr(unsafe.Pointer(name)), 0, 0)
	return dc, func() { deleteDC.Call(dc) }
}

func profile(screen string) ([]byte, error) {
	dc, done := device(screen)
	if dc == 0 {
		return nil, ErrNone
	}
	defer done()
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
