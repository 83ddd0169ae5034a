package main

import (
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/jezek/xgb"

	"firstsheet/app/engine"
	"firstsheet/proof/photo"
)

// Run with this variable set the test binary is the program itself.
const programEnv = "FIRSTSHEET_TEST_PROGRAM"

// BenchmarkStart tells how long it takes from the start of the process until the proof is
// to be seen on the screen, of the demo picture and of a JPEG of 24 megapixels.
func BenchmarkStart(b *testing.B) {
	name := display(b)
	conn, err := xgb.NewConnDisplay(name)
	if err != nil {
		b.Fatal(err)
	}
	defer conn.Close()
	large := filepath.Join(b.TempDir(), "large.jpg")
	writeLarge(b, large)
	for what, args := range map[string][]string{"demo": nil, "24MP": {large}} {
		b.Run(what, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				dir := b.TempDir()
				cmd := exec.Command(os.Args[0], append([]string{"-papers", filepath.Join(dir, "papers"), "-desk", filepath.Join(dir, "desk")}, args...)...)
				cmd.Env = append(os.Environ(), programEnv+"=1", "DISPLAY="+name, "LIBGL_ALWAYS_SOFTWARE=1", "LANG=en_US.UTF-8", "XDG_CONFIG_HOME="+dir)
				b.StartTimer()
				if err := cmd.Start(); err != nil {
					b.Fatal(err)
				}
				// The proof lies to the right, in the window's middle.
				for end := time.Now().Add(time.Minute); colours(look(conn, image.Rect(930, 300, 990, 400))) < 200; time.Sleep(5 * time.Millisecond) {
					if time.Now().After(end) {
						b.Fatal("no proof after a minute")
					}
				}
				b.StopTimer()
				cmd.Process.Kill()
				cmd.Wait()
				for look(conn, image.Rect(0, 0, 1, 1)) != nil { // until the window is gone
					time.Sleep(20 * time.Millisecond)
				}
				b.StartTimer()
			}
		})
	}
}

func colours(rgb []uint8) int {
	seen := map[[3]uint8]bool{}
	for i := 0; i+2 < len(rgb); i += 3 {
		seen[[3]uint8(rgb[i:])] = true
	}
	return len(seen)
}

// writeLarge writes the demo picture four times below itself.
func writeLarge(b *testing.B, path string) {
	b.Helper()
	p, _, err := engine.Regatta(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	p.H, p.Pix8 = 4*p.H, slices.Repeat(p.Pix8, 4)
	if err := photo.Write(b.Context(), path, p, photo.WriteOptions{Quality: 92}); err != nil {
		b.Fatal(err)
	}
}
