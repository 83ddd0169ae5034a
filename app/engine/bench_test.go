package engine_test

import (
	"context"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/space"
)

// From another set-up to the buffers, on two sheets of 700 by 800 pixels which show the whole
// of 24 megapixels: of slips never seen before, and of two intents by turns.
func BenchmarkChange(b *testing.B) {
	slips := func(s *session.Session, n int) {
		// Each one is a plan of its own: 5 spaces, 4 second intents, 4 intents.
		set := s.State().Sheets[1].Setup
		sp := space.All()
		s.Do(session.SetIntent{Intent: proof.Intent(n / len(sp) / 4 % 4)})
		set.Reads, set.Second = sp[n%len(sp)].ID, proof.Intent(n/len(sp)%4)
		s.Do(session.SetSlip{Slip: set})
	}
	intents := func(s *session.Session, n int) { s.Do(session.SetIntent{Intent: proof.Intent(n % 2)}) }
	for _, c := range []struct {
		name   string
		change func(s *session.Session, n int)
	}{{"new", slips}, {"seen", intents}} {
		b.Run(c.name, func(b *testing.B) {
			s, q, _ := desk(b, largeDemo)
			s.Do(session.Resize{Cell: session.Cell{W: 700, H: 800, Scale: 1, Exact: true}})
			for n := range 2 {
				intents(s, n)
				q.Until(s.AtRest)
			}
			n := 0
			for b.Loop() {
				c.change(s, n)
				n++
				q.Until(func() bool { return !s.State().Stale[1] })
			}
		})
	}
}

// From asking for a JPEG of 24 megapixels, the demo picture four times over, to the buffers of
// both sheets at view size.
func BenchmarkOpen(b *testing.B) {
	s, q, _ := desk(b, engine.Regatta)
	demo, _, err := engine.Regatta(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	four := *demo
	four.H, four.Pix8 = 4*demo.H, slices.Repeat(demo.Pix8, 4)
	paths := []string{filepath.Join(b.TempDir(), "one.jpg"), filepath.Join(b.TempDir(), "two.jpg")}
	for _, path := range paths {
		if err := photo.Write(b.Context(), path, &four, photo.WriteOptions{Quality: 92}); err != nil {
			b.Fatal(err)
		}
	}
	n := 0
	for b.Loop() {
		path := paths[n%2]
		n++
		s.Do(session.OpenPicture{Path: path})
		if !q.Until(func() bool { return s.State().Picture.Path == path && !s.State().Stale[1] }) {
			b.Fatal("it does not come")
		}
	}
}

// largeDemo is the demo picture twice as wide and high, 24 megapixels: beside itself and below.
func largeDemo(ctx context.Context) (*photo.Picture, []pin.Pin, error) {
	p, pins, err := engine.Regatta(ctx)
	if err == nil {
		var twice []uint8
		for row := range slices.Chunk(p.Pix8, p.W*p.Channels) {
			twice = append(append(twice, row...), row...)
		}
		p.W, p.H, p.Pix8 = 2*p.W, 2*p.H, slices.Repeat(twice, 2)
	}
	return p, pins, err
}

// onSheets runs work with 24 megapixels at one to one, on two and on four sheets, bare and
// under the reach bands: 700 device pixels wide and as they lie in a window of 1600 by 1000.
func onSheets(b *testing.B, work func(b *testing.B, s *session.Session, next func())) {
	for _, c := range []struct {
		name, desk string
		w, h       int
	}{{"pair", "pair", 700, 800}, {"four", "four", 700, 400}, {"pair/large", "pair", 780, 732}, {"four/large", "four", 780, 334}} {
		for _, over := range []string{"bare", "bands"} {
			b.Run(c.name+"/"+over, func(b *testing.B) {
				s, q, _ := desk(b, largeDemo)
				s.Do(session.TakeDesk{ID: c.desk, Papers: s.Store().First()})
				s.Do(session.Resize{Cell: session.Cell{W: c.w, H: c.h, Scale: 1, Exact: true}})
				s.Do(session.OneToOne{X: 1500, Y: 1000})
				look := s.State().Looking
				look.Overlays = look.Overlays.With(session.Bands, over == "bands")
				look.Threshold = 1
				s.Do(session.SetLooking{Looking: look})
				q.Until(s.AtRest)
				time.Sleep(time.Second) // what nobody waits for is made meanwhile
				work(b, s, func() {
					f := s.State().Frame
					q.Until(func() bool { return s.State().Frame > f })
				})
			})
		}
	}
}

// Panning by a few pixels, from the action to the buffers.
func BenchmarkPan(b *testing.B) {
	onSheets(b, func(b *testing.B, s *session.Session, next func()) {
		d := 3.0
		for b.Loop() {
			s.Do(session.Pan{DX: d, DY: d})
			d = -d
			next()
		}
	})
}

// Another threshold, from the action to the buffers.
func BenchmarkThreshold(b *testing.B) {
	onSheets(b, func(b *testing.B, s *session.Session, next func()) {
		look := s.State().Looking
		for b.Loop() {
			look.Threshold = 9 - look.Threshold // of 1, 2, 4, 8
			s.Do(session.SetLooking{Looking: look})
			next()
		}
	})
}
