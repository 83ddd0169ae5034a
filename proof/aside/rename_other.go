//go:build !windows

package aside

import "os"

// rename moves a file to a name, in place of what is there.
func rename(from, to string) error { return os.Rename(from, to) }
