package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"os/exec"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/canvas"
	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/app/view"
)

// Run with this variable set the test binary is the program on a known ramp: it
// prints where the ramp lies as JSON and stays open. Every line that it reads is the ID
// of a card to open, "" to close it; it answers when that has been drawn for a while.
const childEnv = "FIRSTSHEET_TEST_RAMP"

// drawnFor is how long a card is drawn before the child answers: the toolkit looks for
// what it can forget every ten seconds at the most.
const drawnFor = 12 * time.Second

const rampW, rampH = 256, 120

// lies tells where the ramp is on the window, in device pixels.
type lies struct {
	Scale float64
	X, Y  [2]float64 // the picture's top left corner on sheets 1 and 2
}

func TestMain(m *testing.M) {
	if os.Getenv(childEnv) != "" {
		showRamp()
		return
	}
	if os.Getenv(programEnv) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

func showRamp() {
	a := app.New()
	win := a.NewWindow("ramp")
	e := &sessiontest.Engine{Picture: sessiontest.Ramp(rampW, rampH)}
	s := session.New(e, fyne.Do, session.Start("pearl"))
	w := view.New(a, win, s)
	win.Resize(fyne.NewSize(1000, 700))
	told := false
	s.Watch(func(old, now session.State) {
		if now.Picture.Key != 0 && now.View.Fit && now.Cell.W > 0 {
			look := now.Looking
			look.NoPins = true // the one that is proposed would lie over the ramp
			s.Do(session.SetLooking{Looking: look})
			s.Do(session.OneToOne{X: -1, Y: -1})
		}
		if now.Frame != old.Frame && !now.View.Fit && !told {
			told = true
			// Layout may still move the desk by a pixel: tell it a moment later.
			time.AfterFunc(800*time.Millisecond, func() {
				fyne.Do(func() {
					now := s.State()
					p := session.Place(now.Cell, now.View, rampW, rampH)
					l := lies{Scale: now.Cell.Scale}
					for n := range l.X {
						x, y := w.SheetOrigin(n)
						l.X[n], l.Y[n] = x+float64(p.X0), y+float64(p.Y0)
					}
					out, _ := json.Marshal(l)
					fmt.Println("RAMP " + string(out))
				})
			})
		}
	})
	a.Lifecycle().SetOnStarted(func() {
		s.Do(session.OpenPicture{Demo: true})
		go obey(s, win)
	})
	quitOnHangUp(a)
	win.ShowAndRun()
	w.Close()
	fmt.Println("CLOSED")
}

// obey opens the cards whose IDs it reads and draws each for a while.
func obey(s *session.Session, win fyne.Window) {
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		fyne.Do(func() { s.Do(session.OpenCard{ID: in.Text()}) })
		for end := time.Now().Add(drawnFor); time.Now().Before(end); time.Sleep(250 * time.Millisecond) {
			fyne.Do(func() {
				for _, part := range win.Content().(*fyne.Container).Objects {
					if part.Visible() { // to refresh a hidden one would keep it in memory
						canvas.Refresh(part)
					}
				}
			})
		}
		fmt.Println("DRAWN " + in.Text())
	}
}

// display starts an X server of its own and returns its name.
func display(t testing.TB) string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "2400x1600x24", "-noreset", "+extension", "GLX")
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
	return ":" + strings.TrimSpace(line)
}

// The pixels on the screen are the bytes that were computed, at scale 1, 1.5 and 2.
func TestScreenShowsTheBytesComputed(t *testing.T) {
	name := display(t)
	for _, scale := range []string{"1", "1.5", "2"} {
		t.Run("scale "+scale, func(t *testing.T) { rampAt(t, name, scale) })
	}
}

// child is the program on a ramp.
type child struct {
	lies lies
	in   io.Writer
	out  *bufio.Scanner
	cmd  *exec.Cmd
}

// start runs the program on a display; more are further settings of its environment.
func start(t *testing.T, display, scale string, more ...string) *child {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), childEnv+"=1", "DISPLAY="+display, "FYNE_SCALE="+scale, "LIBGL_ALWAYS_SOFTWARE=1", "LANG=en_US.UTF-8"), more...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(90*time.Second, func() { cmd.Process.Kill() })
	t.Cleanup(func() {
		timer.Stop()
		cmd.Process.Kill()
		cmd.Wait()
	})
	c := &child{in: in, out: bufio.NewScanner(out), cmd: cmd}
	told := c.answer("RAMP ")
	if told == "" {
		t.Fatal("the window showed no ramp within 90 seconds")
	}
	if err := json.Unmarshal([]byte(told), &c.lies); err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(c.lies.Scale) != scale {
		t.Fatalf("the window has scale %g, want %s", c.lies.Scale, scale)
	}
	return c
}

// answer waits for a line that begins so and returns the rest, "" when none came.
func (c *child) answer(begins string) string {
	for c.out.Scan() {
		if rest, ok := strings.CutPrefix(c.out.Text(), begins); ok {
			return rest
		}
	}
	return ""
}

// Whatever a card has hidden for longer than the toolkit remembers it is drawn again
// when the card is closed.
func TestNothingStaysUndrawnAfterACard(t *testing.T) {
	name := display(t)
	c := start(t, name, "1", "FYNE_CACHE=1s")
	conn, err := xgb.NewConnDisplay(name)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	window := image.Rect(0, 0, 1000, 700)
	before := grab(t, conn, window)
	for _, id := range []string{"yardstick", ""} { // a card that covers the whole window
		fmt.Fprintln(c.in, id)
		c.answer("DRAWN")
		if id == "yardstick" && slices.Equal(grab(t, conn, window), before) {
			t.Fatal("the card does not show")
		}
	}
	after := grab(t, conn, window)
	for i := range before {
		if after[i] != before[i] {
			t.Fatalf("pixel %d, %d is not as it was before the card: %d, want %d", i/3%1000, i/3/1000, after[i], before[i])
		}
	}
}

// A signal closes the window as a person would: what follows ShowAndRun, which ends all
// writing and saves the desk, is reached.
func TestSignalsCloseInOrder(t *testing.T) {
	name := display(t)
	for _, sig := range []syscall.Signal{syscall.SIGHUP, syscall.SIGTERM, syscall.SIGINT} {
		c := start(t, name, "1")
		if err := c.cmd.Process.Signal(sig); err != nil {
			t.Fatal(err)
		}
		closed := false
		for c.out.Scan() {
			closed = closed || c.out.Text() == "CLOSED"
		}
		if err := c.cmd.Wait(); err != nil || !closed {
			t.Errorf("%v: closed in order is %v, %v", sig, closed, err)
		}
	}
}

func rampAt(t *testing.T, name, scale string) {
	l := start(t, name, scale).lies
	conn, err := xgb.NewConnDisplay(name)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	ramp := sessiontest.Ramp(rampW, rampH)
	for n, invert := range []uint8{0, 255} {
		if fx, fy := frac(l.X[n]), frac(l.Y[n]); fx > 1e-3 || fy > 1e-3 {
			t.Errorf("sheet %d lies between device pixels: %g, %g", n+1, l.X[n], l.Y[n])
		}
		at := image.Pt(int(math.Round(l.X[n])), int(math.Round(l.Y[n])))
		// What was handed to the driver reaches the screen a little later.
		var worst string
		for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(200 * time.Millisecond) {
			shot := grab(t, conn, image.Rectangle{at, at.Add(image.Pt(rampW, rampH))})
			worst = ""
			for i, want := range ramp.P8 {
				if got := shot[i]; got != want^invert && worst == "" {
					worst = fmt.Sprintf("pixel %d, %d channel %d = %d, want %d", i/3%rampW, i/3/rampW, i%3, got, want^invert)
				}
			}
			if worst == "" {
				break
			}
		}
		if worst != "" {
			t.Errorf("sheet %d: %s", n+1, worst)
		}
	}
}

func frac(v float64) float64 { return math.Abs(v - math.Round(v)) }

// grab returns red, green and blue of a part of the only window.
func grab(t *testing.T, conn *xgb.Conn, r image.Rectangle) []uint8 {
	t.Helper()
	shot := look(conn, r)
	if shot == nil {
		t.Fatal("there is no window")
	}
	return shot
}

// look returns red, green and blue of a part of the only window, nil where there is none.
func look(conn *xgb.Conn, r image.Rectangle) []uint8 {
	root := xproto.Setup(conn).DefaultScreen(conn).Root
	tree, err := xproto.QueryTree(conn, root).Reply()
	if err != nil {
		return nil
	}
	for _, w := range tree.Children {
		attr, err := xproto.GetWindowAttributes(conn, w).Reply()
		if err != nil || attr.MapState != xproto.MapStateViewable {
			continue
		}
		img, err := xproto.GetImage(conn, xproto.ImageFormatZPixmap, xproto.Drawable(w),
			int16(r.Min.X), int16(r.Min.Y), uint16(r.Dx()), uint16(r.Dy()), 0xffffffff).Reply()
		if err != nil {
			continue
		}
		out := make([]uint8, 0, 3*r.Dx()*r.Dy())
		for i := 0; i+3 < len(img.Data); i += 4 { // blue, green, red, unused
			out = append(out, img.Data[i+2], img.Data[i+1], img.Data[i])
		}
		return out
	}
	return nil
}
