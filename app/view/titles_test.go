package view

import (
	"testing"

	"firstsheet/app/session"
	"firstsheet/proof"
)

// While a picture is being counted its legend says so, and that the figures are those of a part.
func TestLegendWhileCounting(t *testing.T) {
	some := proof.Figures{Pixels: 4096, Mean: 2.34, Reach: [proof.Bands]float64{0.7, 0.08, 0.12, 0.06, 0.04}}
	s := session.State{Looking: session.Looking{Threshold: 2}}
	picture, difference := session.Sheet{}, session.Sheet{Show: session.ShowDifference, Against: -1}
	for _, k := range []struct {
		sheet  session.Sheet
		result session.Result
		want   string
	}{
		{picture, session.Result{Computing: true}, "still counting …"},
		{picture, session.Result{Computing: true, Progress: 0.4}, "still counting, 40 % …"},
		{picture, session.Result{Computing: true, Glance: some}, "about 22 % out of reach · about ΔE00 2.3 on average · still counting …"},
		{picture, session.Result{Computing: true, Glance: proof.Figures{Pixels: 4096, Mean: 0.2}}, "under 2 % out of reach · about ΔE00 0.2 on average · still counting …"},
		{difference, session.Result{Computing: true, Glance: some}, "difference from the original: about ΔE00 2.3 on average · still counting …"},
		{picture, session.Result{Measured: true, Figures: some}, "22 % out of reach · ΔE00 2.3 on average, 95 % within 0.0 · 0 % too dark"},
	} {
		s.Results[0] = k.result
		if got := legendFigures(nil, s, 0, k.sheet); got != k.want {
			t.Errorf("legend %q, want %q", got, k.want)
		}
	}
}
