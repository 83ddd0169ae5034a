//go:build linux || darwin || freebsd

package printfile

import "syscall"

// freeSpace returns how many bytes a folder's disk has free for us, and whether that
// is known.
func freeSpace(dir string) (int64, bool) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil || s.Blocks == 0 {
		return 0, false
	}
	return int64(s.Bavail) * int64(s.Bsize), true
}
