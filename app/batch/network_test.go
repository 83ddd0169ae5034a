package main

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Nothing of ours knows how to reach a network, on any system; what .ci/offline counts is
// whether anything that is linked tries to all the same.
func TestNothingImportsTheNetwork(t *testing.T) {
	for _, system := range []string{"linux", "windows", "darwin"} {
		cmd := exec.Command("go", "list", "-f", `{{.ImportPath}}{{range .Imports}} {{.}}{{end}}`, "firstsheet/app/...", "firstsheet/proof/...", "firstsheet/assets/...")
		cmd.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=1")
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("go list for %s: %v", system, err)
		}
		packages := strings.Split(strings.TrimSpace(string(out)), "\n")
		if len(packages) < 40 {
			t.Fatalf("go list names only %d packages for %s", len(packages), system)
		}
		for _, line := range packages {
			imports := strings.Fields(line)
			for _, path := range imports[1:] {
				if path == "net" || strings.HasPrefix(path, "net/") && path != "net/url" {
					t.Errorf("%s imports %s on %s", imports[0], path, system)
				}
			}
		}
	}
}
