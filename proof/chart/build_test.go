package chart

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper/papertest"
)

// The whole way on small grids: print, read with noise, build, look through the
// finished profile at what the ink model prints, verify.
func TestBuildFromMeasurements(t *testing.T) {
	before := lcms.Live()
	pearl := stock(t, "pearl")
	ms := measured(t, 500, pearl.Forward, 0.3)
	ms.Condition = "M1"
	ms.Patches[77].Lab.L += 20 // a smudge
	last, words := -1.0, map[string]bool{}
	built, err := Build(context.Background(), ms, "Pearl, measured", BuildOptions{
		ForwardGrid: 17, InverseGrid: 9, Keep: true, Created: time.Date(2025, 5, 1, 0, 0, 0, 0, time.UTC),
	}, func(done float64, what string) {
		if done < last {
			t.Errorf("progress went back from %.3f to %.3f", last, done)
		}
		last = done
		words[what] = true
	})
	if err != nil {
		t.Fatal(err)
	}
	if last != 1 || len(words) < 3 {
		t.Errorf("progress ended at %.3f after %d words", last, len(words))
	}
	r := built.Report
	t.Logf("fit %+v, held out %+v, table %+v, table against model %+v, round trip %+v", r.Fit.Fit, r.Fit.HeldOut, r.Table, r.TableModel, r.RoundTrip)
	// The readings scatter by 0.3 ΔE76, and 17 nodes add a little.
	if r.Table.Mean > 0.5 || r.Table.Count != 499 {
		t.Errorf("table against measurements: mean %.3f over %d, want at most 0.5 over 499", r.Table.Mean, r.Table.Count)
	}
	if len(r.Fit.Suspects) != 1 || r.Fit.Suspects[0].Place != ms.Patches[77].Loc {
		t.Errorf("suspects %+v, want %s alone", r.Fit.Suspects, ms.Patches[77].Loc)
	}
	if d := cie.DeltaE00(r.Facts.White, pearl.White()); d > 0.4 || r.Condition != "M1" {
		t.Errorf("white %v, condition %q, want %v and M1", r.Facts.White, r.Condition, pearl.White())
	}
	if text, err := json.Marshal(r); err != nil || !strings.Contains(string(text), `"round_trip":{`) {
		t.Errorf("as JSON: %v", err)
	}
	for name, data := range map[string][]byte{"v2": built.V2, "v4": built.V4} {
		p, err := icc.Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got := p.Description(); got != "Pearl, measured" {
			t.Errorf("%s: description %q", name, got)
		}
		prediction, err := NewPrediction(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// What the profile says of colours that were never measured.
		var d []float64
		for i := range 200 {
			x := []float64{float64(halton(i+1, 2)) / 255, float64(halton(i+1, 3)) / 255, float64(halton(i+1, 5)) / 255}
			l, err := prediction.Lab(x)
			if err != nil {
				t.Fatal(err)
			}
			d = append(d, cie.DeltaE00(l, pearl.Forward(x)))
		}
		if s := NewSpread(d); s.Mean > 0.7 {
			t.Errorf("%s: mean %.3f ΔE00 from the ink model, want at most 0.7", name, s.Mean)
		}
		if name == "v2" {
			tg, err := NewVerifyTarget(TargetOptions{})
			if err != nil {
				t.Fatal(err)
			}
			again := tg.List()
			for i, p := range again.Patches {
				again.Patches[i].Lab = pearl.Forward(p.Device)
			}
			v, err := Verify(again, prediction.Lab)
			if err != nil || v.All.Mean > 0.6 || !strings.Contains(v.Sentences[1], "No hue and no tone") {
				t.Errorf("verifying the same printer: %v, %+v, %v", err, v.All, v.Sentences)
			}
		}
		if _, err := prediction.Lab([]float64{1}); err == nil {
			t.Errorf("%s: one number was predicted", name)
		}
		prediction.Close()
		prediction.Close()
		if _, err := prediction.Lab([]float64{1, 1, 1}); err == nil {
			t.Errorf("%s: a closed prediction predicts", name)
		}
	}
	if live := lcms.Live(); live != before {
		t.Errorf("%d handles of the library are open, %d before", live, before)
	}
}

func TestBuildRefusesDoubtfulReadings(t *testing.T) {
	ms := measured(t, 200, pearlInk.rgb, 0.3)
	for i := range 100 {
		swap(ms, i, 199-i)
	}
	_, err := Build(context.Background(), ms, "Backwards", BuildOptions{}, nil)
	var d *DoubtError
	if !errors.As(err, &d) || len(d.Orders) != 1 || !strings.Contains(err.Error(), "reverse order") {
		t.Errorf("%v, want a *DoubtError about the reverse order", err)
	}
	many := measured(t, 200, pearlInk.rgb, 0.3)
	for i := 0; i < 200; i += 7 {
		many.Patches[i].Lab.L += 25 * float64(1-i%2*2)
	}
	_, err = Build(context.Background(), many, "Smudged", BuildOptions{}, nil)
	if !errors.As(err, &d) || len(d.Suspects) < 20 {
		t.Errorf("%v, want a *DoubtError about many patches", err)
	}
}

func TestBuildRefusesNamesAndStops(t *testing.T) {
	ms := measured(t, 120, pearlInk.rgb, 0.3)
	for _, name := range []string{"", "  ", "two\nlines"} {
		if _, err := Build(context.Background(), ms, name, BuildOptions{}, nil); err == nil {
			t.Errorf("the name %q was taken", name)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	_, err := Build(ctx, ms, "Stopped", BuildOptions{}, func(done float64, _ string) {
		if done > fitShare {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("%v, want context.Canceled", err)
	}
	if _, err := NewPrediction([]byte("no profile")); err == nil {
		t.Error("eleven bytes were opened as a profile")
	}
}

// A profile whose numbers are not finite predicts nothing, instead of a black print.
func TestPredictionsAreFinite(t *testing.T) {
	p, err := NewPrediction(papertest.Infinite(t, cie.D50))
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if c, err := p.Lab([]float64{1, 0.5, 0.5}); err == nil || !strings.Contains(err.Error(), "not finite") {
		t.Errorf("%v, %v", c, err)
	}
}
