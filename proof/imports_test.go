package proof_test

import (
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// list runs go list over the engine's packages, tests left out.
func list(t *testing.T, args ...string) []string {
	t.Helper()
	out, err := exec.Command("go", append(append([]string{"list"}, args...), "firstsheet/proof/...")...).Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}

// The engine knows nothing of windows, and three packages alone hold C: those with the
// system's libraries, and the one with our own.
func TestEngineStandsAlone(t *testing.T) {
	deps := list(t, "-deps")
	if len(deps) < 50 {
		t.Fatalf("go list names only %d packages", len(deps))
	}
	for _, path := range deps {
		if strings.HasPrefix(path, "fyne.io/") || strings.HasPrefix(path, "firstsheet/app") || strings.HasPrefix(path, "github.com/go-gl/") {
			t.Errorf("the engine imports %s", path)
		}
	}
	for _, line := range list(t, "-f", "{{.ImportPath}} {{len .CgoFiles}}") {
		path, n, _ := strings.Cut(line, " ")
		if cgo := n != "0"; cgo != slices.Contains([]string{"firstsheet/proof/lcms", "firstsheet/proof/jpeg", "firstsheet/proof/kernel"}, path) {
			t.Errorf("%s has %s files with cgo", path, n)
		}
	}
}
