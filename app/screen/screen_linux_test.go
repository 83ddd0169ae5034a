package screen

import (
	"bufio"
	"bytes"
	"errors"
	"image"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/randr"
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

// set lays a profile down as a property of the root window.
func set(t *testing.T, c *xgb.Conn, name string, data []byte) {
	t.Helper()
	atom, err := xproto.InternAtom(c, false, uint16(len(name)), name).Reply()
	if err != nil {
		t.Fatal(err)
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	if err := xproto.ChangePropertyChecked(c, xproto.PropModeReplace, root, atom.Atom, xproto.AtomCardinal, 8, uint32(len(data)), data).Check(); err != nil {
		t.Fatal(err)
	}
}

// The property is laid down as 'ICC Profiles in X Specification' 0.4 says: type
// CARDINAL, format 8, on the root window.
func TestProfileOfAnXScreen(t *testing.T) {
	c := server(t)
	if _, err := Profile(Main); !errors.Is(err, ErrNone) {
		t.Errorf("a bare screen gives %v, want ErrNone", err)
	}
	p3, _ := space.ByID("displayp3")
	want := p3.ICC()
	set(t, c, "_ICC_PROFILE", want)
	got, err := Profile(Main)
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
	if _, err := Profile(Main); !errors.Is(err, ErrNone) {
		t.Errorf("no display gives %v, want ErrNone", err)
	}
}

// Each Xinerama screen has its own property, and a window belongs to the one that its
// middle lies on.
func TestEachScreenHasItsOwnProfile(t *testing.T) {
	c := server(t)
	if err := randr.Init(c); err != nil {
		t.Fatal(err)
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	if _, err := randr.QueryVersion(c, 1, 5).Reply(); err != nil {
		t.Fatal(err)
	}
	// Two monitors of half the width each, side by side.
	for i, name := range []string{"left", "right"} {
		atom, err := xproto.InternAtom(c, false, uint16(len(name)), name).Reply()
		if err != nil {
			t.Fatal(err)
		}
		m := randr.MonitorInfo{Name: atom.Atom, Primary: i == 0, X: int16(160 * i), Width: 160, Height: 200, WidthInMillimeters: 100, HeightInMillimeters: 100}
		if i == 0 {
			m.Outputs, m.NOutput = outputs(t, c, root), 1
		}
		if err := randr.SetMonitorChecked(c, root, m).Check(); err != nil {
			t.Fatal(err)
		}
	}
	p3, _ := space.ByID("displayp3")
	set(t, c, "_ICC_PROFILE_1", p3.ICC())
	for _, k := range []struct {
		x      int16
		screen string
		none   bool
	}{{10, Main, true}, {60, Main, true}, {110, "1", false}, {200, "1", false}} {
		w, err := xproto.NewWindowId(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := xproto.CreateWindowChecked(c, xproto.WindowClassCopyFromParent, w, root, k.x, 20, 120, 80, 0, xproto.WindowClassInputOutput, 0, 0, nil).Check(); err != nil {
			t.Fatal(err)
		}
		screen := Of(Window(w))
		if screen != k.screen {
			t.Errorf("a window at %d lies on screen %q, want %q", k.x, screen, k.screen)
		}
		if room := Room(Window(w)); room != image.Pt(160, 200) {
			t.Errorf("a window at %d has %v of room, want 160 by 200", k.x, room)
		}
		if got, err := Profile(screen); errors.Is(err, ErrNone) != k.none || !k.none && !bytes.Equal(got, p3.ICC()) {
			t.Errorf("at %d: %d bytes and %v", k.x, len(got), err)
		}
	}
	if s := Of(0); s != Main {
		t.Errorf("no window lies on %q", s)
	}
	if s := Of(12345); s != Main {
		t.Errorf("a window that is not lies on %q", s)
	}
}

// outputs returns the server's only output.
func outputs(t *testing.T, c *xgb.Conn, root xproto.Window) []randr.Output {
	t.Helper()
	r, err := randr.GetScreenResources(c, root).Reply()
	if err != nil || len(r.Outputs) == 0 {
		t.Fatalf("outputs: %v, %v", r, err)
	}
	return r.Outputs[:1]
}
