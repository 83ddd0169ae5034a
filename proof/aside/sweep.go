package aside

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// Names of what is written aside carry who writes: .firstsheet-HOST-PROCESS-RANDOM for
// folders, .NAME.HOST-PROCESS-RANDOM.part for files, in hexadecimal.
const (
	folderStart = ".firstsheet"
	partEnding  = ".part"
)

var (
	leftFolder = regexp.MustCompile(`^\.firstsheet-([0-9a-f]{8})-([0-9a-f]+)-[0-9]+$`)
	leftFile   = regexp.MustCompile(`^\..+-([0-9a-f]{8})-([0-9a-f]+)-[0-9a-f]{8}\.part$`)
)

// tag is the middle of such a name.
func tag() string { return fmt.Sprintf("-%08x-%x-", host(), os.Getpid()) }

// host tells this computer from others that share the folder, by a check sum of its name.
func host() uint32 {
	name, err := os.Hostname()
	if err != nil {
		return 0
	}
	return crc32.ChecksumIEEE([]byte(name))
}

// longestJob is the age from which on another computer's leavings are taken for such:
// nothing takes so long to write.
const longestJob = 24 * time.Hour

// Sweep deletes from a folder what crashes of [Write], [New] and [Files] have left there:
// what a process of this computer wrote that is no more, or anyone a day ago.
func Sweep(dir string) {
	if dir == "" {
		dir = "."
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") {
			continue
		}
		left := leftFile
		if e.IsDir() {
			left = leftFolder
		}
		m := left.FindStringSubmatch(e.Name())
		if m == nil || !(e.IsDir() || e.Type().IsRegular()) {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue
		}
		ours := m[1] == fmt.Sprintf("%08x", host())
		process, err := strconv.ParseInt(m[2], 16, 64)
		dead := err == nil && ours && !running(int(process))
		if dead || time.Since(info.ModTime()) > longestJob {
			os.RemoveAll(filepath.Join(dir, e.Name()))
		}
	}
}

// running tells whether this computer has a process of that number.
func running(process int) bool {
	p, err := os.FindProcess(process)
	if err != nil {
		return false
	}
	defer p.Release()
	if runtime.GOOS == "windows" { // where it would not have been found
		return true
	}
	err = p.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, fs.ErrPermission)
}
