package screen

import (
	"bufio"
	"bytes"
	"errors"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"firstsheet/proof"
	"firstsheet/proof/space"
)

// server starts an X server of its own and makes it the test's display.
func server(t *testing.T) *xgb.Conn {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "320x200x24", "-noreset")
	cmd.ExtraFiles = []*os.File{w}
	if err := cmd.Start(); err != nil {
		t.Fatalf("Xvfb is needed for this test (Debian package xvfb): %v", err)
	}
	w.Close()
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
		r.Close()
	})
	r.SetReadDeadline(time.Now().Add(30 * time.Second))
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("Xvfb told no display: %v", err)
	}
	t.Setenv("DISPLAY", ":"+strings.TrimSpace(line))
	c, err := xgb.NewConn()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// The property is laid down as 'ICC Profiles in X Specification' 0.4 says: type
// CARDINAL, format 8, on the root window.
func TestProfileOfAnXScreen(t *testing.T) {
	c := server(t)
	if _, err := Profile(); !errors.Is(err, ErrNone) {
		t.Errorf("a bare screen gives %v, want ErrNone", err)
	}
	p3, _ := space.ByID("displayp3")
	want := p3.ICC()
	const name = "_ICC_PROFILE"
	atom, err := xproto.InternAtom(c, false, uint16(len(name)), name).Reply()
	if err != nil {
		t.Fatal(err)
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	if err := xproto.ChangePropertyChecked(c, xproto.PropModeReplace, root, atom.Atom, xproto.AtomCardinal, 8, uint32(len(want)), want).Check(); err != nil {
		t.Fatal(err)
	}
	got, err := Profile()
	if err != nil || !bytes.Equal(got, want) {
		t.Fatalf("%d bytes and %v, want the %d bytes that were set", len(got), err, len(want))
	}
	p, err := proof.NewProfile("", got)
	if err != nil || p.CheckScreen() != nil {
		t.Errorf("what was read is no screen's profile: %v", err)
	}
}

func TestWithoutADisplayThereIsNone(t *testing.T) {
	t.Setenv("DISPLAY", "")
	if _, err := Profile(); !errors.Is(err, ErrNone) {
		t.Errorf("no display gives %v, want ErrNone", err)
	}
}
