package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"firstsheet/assets"
	"firstsheet/proof/photo"
)

// What a command holds at most, measured on the process itself: constant bytes, and so many
// for each pixel. Of two pictures the larger may take so many more, which the collector's
// habits change little.
func TestMemoryByThePixel(t *testing.T) {
	const (
		small, large = 1, 5 // times the demo picture, six megapixels each
		constant     = 256 << 20
		slack        = 16 << 20 // between two runs of one command
	)
	batch, dir := program(t), t.TempDir()
	demo, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		t.Fatal(err)
	}
	times := func(n int, ending string, deep bool) (path string, pixels int) {
		p := *demo
		p.H *= n
		if deep {
			p.Depth, p.Pix16, p.Pix8 = 16, make([]uint16, n*len(demo.Pix8)), nil
			for i := range p.Pix16 {
				p.Pix16[i] = 257 * uint16(demo.Pix8[i%len(demo.Pix8)])
			}
		} else {
			p.Pix8 = bytes.Repeat(demo.Pix8, n)
		}
		path = filepath.Join(dir, "picture"+ending)
		if err := photo.Write(t.Context(), path, &p, photo.WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		return path, p.W * p.H
	}
	proof := []string{"proof", "-paper", "pearl", "-out", filepath.Join(dir, "out.jpg")}
	rank := []string{"rank", "-papers", "pearl", "-intents", "relative", "-bpc", "on"}
	for _, k := range []struct {
		name, ending string
		deep         bool
		args         []string
		each         float64 // bytes a pixel
	}{
		{"proof of a JPEG, by rows", ".jpg", false, proof, 0.5},
		{"proof of a PNG, by rows", ".png", false, proof, 0.5},
		{"proof of a PNG of 16 bits, by rows", ".png", true, proof, 0.5},
		{"proof of a TIFF, by rows", ".tif", false, proof, 0.5},
		{"proof of a TIFF of 16 bits, by rows", ".tif", true, proof, 0.5},
		{"ranking on a JPEG", ".jpg", false, rank, 8},
		{"ranking on a TIFF of 16 bits", ".tif", true, rank, 12},
	} {
		peak := func(n int) (bytes, pixels int) {
			path, pixels := times(n, k.ending, k.deep)
			return held(t, batch, append([]string{k.args[0], path}, k.args[1:]...)...), pixels
		}
		a, few := peak(small)
		b, many := peak(large)
		t.Logf("%s: %d MB for %.0f megapixels, %d MB for %.0f: %.1f bytes a pixel", k.name, a>>20, float64(few)/1e6, b>>20, float64(many)/1e6, float64(b-a)/float64(many-few))
		if b-a > int(k.each*float64(many-few))+slack {
			t.Errorf("%s: %d MB more for %.0f megapixels more, want %g bytes a pixel at most", k.name, (b-a)>>20, float64(many-few)/1e6, k.each)
		}
		if b > int(k.each*float64(many))+constant {
			t.Errorf("%s: %d MB, want %g bytes a pixel and %d MB at most", k.name, b>>20, k.each, constant>>20)
		}
	}
}

// held runs a command and returns the most memory that it held, in bytes. The kernel's own
// account for its parent, ru_maxrss, begins with what the parent held.
func held(t *testing.T, program string, args ...string) (most int) {
	t.Helper()
	var out bytes.Buffer
	cmd := exec.Command(program, args...)
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	status := fmt.Sprintf("/proc/%d/status", cmd.Process.Pid)
	for {
		if text, err := os.ReadFile(status); err == nil {
			kilobytes := 0
			if at := bytes.Index(text, []byte("VmHWM:")); at >= 0 {
				fmt.Sscanf(string(text[at:]), "VmHWM: %d kB", &kilobytes)
			}
			most = max(most, kilobytes<<10)
		}
		select {
		case err := <-ended:
			if err != nil {
				t.Fatalf("%v: %v\n%s", args, err, &out)
			}
			return most
		case <-time.After(5 * time.Millisecond):
		}
	}
}
