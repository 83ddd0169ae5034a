package chart

import (
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
)

// Point is one reading in the series of a paper's: how far it was from the profile.
type Point struct {
	// ID is that of the reading where it is noted; Day when it was measured.
	ID, Day string
	// Found is the verification by the profile as it is now; of a reading of which
	// only the figures were noted it has All alone.
	Found *Verification
	// Measurements are nil likewise.
	Measurements *Measurements
	Merged       int
}

// Series verifies the readings that were noted of a paper, each alone, by its profile.
// What can't be verified by it (another number of channels, too few patches) stands
// with the figures that were noted.
func Series(data []byte, readings []paper.Reading) []Point {
	var out []Point
	predict, err := NewPrediction(data)
	if err == nil {
		defer predict.Close()
	}
	for _, r := range readings {
		p := Point{ID: r.ID, Day: r.Date, Merged: r.Merged, Found: &Verification{All: Spread{r.Patches, r.Mean, r.P95, r.Max}, Sentences: r.Words}}
		if ms := FromNoted(r); ms != nil && err == nil {
			if v, err := Verify(ms, predict.Lab); err == nil {
				p.Found, p.Measurements = v, ms
			}
		}
		out = append(out, p)
	}
	return out
}

// Since says what has moved from one reading of a paper to a later one, over the places
// that both have: the same as [Verify], with the earlier reading in the profile's stead.
// predict is the profile's, for what the earlier reading lacks to tell tones apart. It
// fails with a *FormatError where they share fewer than 10 places.
func Since(before, after *Measurements, day string, predict func(device []float64) (cie.Lab, error)) (*Verification, error) {
	shared := *after
	shared.Patches, shared.Notes = nil, nil
	var was []cie.Lab
	for _, p := range after.Patches {
		if i := slices.IndexFunc(before.Patches, func(q Patch) bool { return q.Place() == p.Place() && sameNumbers(p.Device, q.Device) }); i >= 0 {
			shared.Patches = append(shared.Patches, p)
			was = append(was, before.Patches[i].Lab)
		}
	}
	if len(shared.Patches) < fewestVerified {
		return nil, wrong(0, "the two readings share %d places, at least %d are needed: they are of different charts", len(shared.Patches), fewestVerified)
	}
	if before.Condition != after.Condition {
		shared.note("The measuring conditions differ: %s then, %s now. Papers with brightener read differently under each.",
			orUnknown(before.Condition), orUnknown(after.Condition))
	}
	if n := len(after.Patches) - len(shared.Patches); n > 0 {
		shared.note("%d places are not on the reading of %s and were left out.", n, day)
	}
	return verify(&shared, was, predict, "the reading of "+day)
}

func orUnknown(condition string) string {
	if condition == "" {
		return "not said"
	}
	return condition
}

// SinceProfile is [Since] with a profile's own prediction.
func SinceProfile(data []byte, before, after *Measurements, day string) (*Verification, error) {
	p, err := NewPrediction(data)
	if err != nil {
		return nil, err
	}
	defer p.Close()
	return Since(before, after, day, p.Lab)
}
