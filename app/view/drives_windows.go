package view

import "syscall"

var getLogicalDrives = syscall.NewLazyDLL("kernel32.dll").NewProc("GetLogicalDrives")

// drives lists the drives that there are, such as C:\.
func drives() (list []string) {
	set, _, _ := getLogicalDrives.Call()
	for i := range 26 {
		if set>>i&1 == 1 {
			list = append(list, string(rune('A'+i))+`:\`)
		}
	}
	return list
}
