package paper

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
)

// freeName returns a file name without ending that nothing in the folder and no
// paper has.
func freeName(description string, papers []Paper, dir string) string {
	base := FileName(description)
	for n := 1; ; n++ {
		name := base
		if n > 1 {
			name = fmt.Sprintf("%s-%d", base, n)
		}
		used := slices.ContainsFunc(papers, func(p Paper) bool { return strings.EqualFold(p.ID, name) })
		for _, ending := range []string{".icc", ".icm"} {
			_, err := os.Lstat(filepath.Join(dir, name+ending))
			used = used || err == nil
		}
		if !used {
			return name
		}
	}
}

// maxFileName keeps names, with ending and number, below the 255 bytes that file
// systems take.
const maxFileName = 100

// FileName makes a file name without ending of a description: lower-case letters
// and digits, everything else one hyphen. It is never empty.
func FileName(description string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(description) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		if b.Len()+len(string(r)) > maxFileName {
			break
		}
		b.WriteRune(r)
	}
	name := strings.TrimRight(b.String(), "-")
	switch {
	case name == "":
		return "paper"
	case isDeviceName(name):
		return "paper-" + name
	}
	return name
}

// isDeviceName tells the names that Windows keeps for devices.
func isDeviceName(name string) bool {
	if slices.Contains([]string{"con", "prn", "aux", "nul"}, name) {
		return true
	}
	port := strings.HasPrefix(name, "com") || strings.HasPrefix(name, "lpt")
	return port && len(name) == 4 && name[3] >= '1' && name[3] <= '9'
}
