package lcms

import (
	"sync"
	"testing"

	"firstsheet/proof/space"
)

// toLab opens sRGB to Lab; the profiles are closed at once, which leaves the
// transform good.
func toLab(t *testing.T) (*Context, *Transform) {
	t.Helper()
	c, err := NewContext()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	from, err := c.RGB(space.SRGB())
	if err != nil {
		t.Fatal(err)
	}
	defer from.Close()
	lab, err := c.Lab()
	if err != nil {
		t.Fatal(err)
	}
	defer lab.Close()
	tr, err := c.Float(from, lab, Options{Intent: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(tr.Close)
	return c, tr
}

// panics reports whether f does.
func panics(f func()) (did bool) {
	defer func() { did = recover() != nil }()
	f()
	return false
}

func TestClosedTransformRefusesToRun(t *testing.T) {
	before := Live()
	c, tr := toLab(t)
	tr.Close()
	tr.Close()
	if !panics(func() { tr.Run(make([]float64, 3), make([]float64, 3)) }) {
		t.Error("Run of a closed transform did not panic")
	}
	if !panics(func() { tr.RunBytes(make([]byte, 3), make([]byte, 3)) }) {
		t.Error("RunBytes of a closed transform did not panic")
	}
	c.Close()
	c.Close()
	if n := Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

// Whoever is inside the library when the transform is closed gets through.
func TestCloseWaitsForThoseInside(t *testing.T) {
	_, tr := toLab(t)
	src := make([]float64, 3*20000)
	for i := range src {
		src[i] = 1
	}
	started := make(chan struct{})
	var once sync.Once
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			dst := make([]float64, len(src))
			for range 50 {
				if panics(func() { tr.Run(dst, src) }) {
					return // closed meanwhile
				}
				if l := dst[len(dst)-3]; l < 99.99 || l > 100.01 {
					t.Errorf("white is L* %g, want 100", l)
				}
				once.Do(func() { close(started) })
			}
		})
	}
	<-started
	tr.Close()
	group.Wait()
}

func TestWrongLengthsPanic(t *testing.T) {
	_, tr := toLab(t)
	if !panics(func() { tr.Run(make([]float64, 3), make([]float64, 4)) }) {
		t.Error("four numbers of three channels did not panic")
	}
}
