package rank_test

import (
	"bytes"
	"context"
	"testing"
	"time"

	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/rank"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// BenchmarkRank tells how long 24 megapixels in memory, the demo picture four times, take
// to be ranked on four papers by two intents with compensation and without, by an engine
// that knows none of the ways yet: the best run, and how many times that is what decoding
// as many pixels takes in the same run.
func BenchmarkRank(b *testing.B) {
	const copies = 4
	var decoding, ranking time.Duration
	best := func(d *time.Duration, work func()) {
		start := time.Now()
		work()
		if took := time.Since(start); *d == 0 || took < *d {
			*d = took
		}
	}
	var q rank.Question
	for _, a := range assets.Papers()[:4] {
		q.Papers = append(q.Papers, rank.Paper{ID: a.ID, Name: a.Name})
	}
	papers := map[string]*proof.Profile{}
	for _, a := range assets.Papers() {
		p, err := proof.NewProfile(a.Name, a.ICC)
		if err != nil {
			b.Fatal(err)
		}
		papers[a.ID] = p
	}
	q.Intents, q.Compensation = []proof.Intent{proof.Perceptual, proof.RelativeColorimetric}, []bool{true, false}
	for b.Loop() {
		var source setup.Source
		best(&decoding, func() {
			pic, err := photo.OpenReader(context.Background(), "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
			if err != nil {
				b.Fatal(err)
			}
			if source, err = setup.SourceOf(pic, nil); err != nil {
				b.Fatal(err)
			}
		})
		one := source.Pixels()
		q.Picture = proof.NewPicture(raster.Pixels{W: one.W, H: one.H * copies, Channels: one.Channels, P8: bytes.Repeat(one.P8, copies)}, nil)
		q.Plan = func(w rank.Way) (proof.Plan, error) {
			return proof.Plan{Source: source.Profile, Paper: papers[w.Paper], Screen: proof.SpaceProfile(space.SRGB()),
				Conversions: []proof.Conversion{{From: source.Profile, To: papers[w.Paper], Intent: w.Intent, BPC: w.Compensation}}}, nil
		}
		e := proof.NewEngine()
		best(&ranking, func() {
			out, _, err := q.Answer(context.Background(), e, nil)
			if err != nil || len(out.Refused) > 0 {
				b.Fatal(err, out.Refused)
			}
		})
		e.Close()
	}
	b.ReportMetric(ranking.Seconds(), "s")
	b.ReportMetric(ranking.Seconds()/(copies*decoding.Seconds()), "decodings")
	b.ReportMetric(0, "ns/op")
}
