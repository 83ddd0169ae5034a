package chart

import (
	"cmp"
	"fmt"
	"slices"

	"firstsheet/proof/icc"
)

// ChannelsError says that a chart was measured from numbers that a profile does not
// take.
type ChannelsError struct {
	Measured Device
	Takes    int // channels of the profile
}

func (e *ChannelsError) Error() string {
	return fmt.Sprintf("chart: measured from %s numbers, and the profile takes %d channels", e.Measured, e.Takes)
}

// VerifyProfile is [Verify] against an output profile, by what [NewPrediction] says of
// it. It fails with a *ChannelsError where the chart was measured from numbers of
// another kind than the profile's, with a *FormatError where the measurements do not
// serve, and otherwise where the profile does not.
func VerifyProfile(data []byte, ms *Measurements) (*Verification, error) {
	if p, err := icc.Parse(data); err == nil && p.Channels() != ms.Device.Channels() {
		return nil, &ChannelsError{ms.Device, p.Channels()}
	}
	p, err := NewPrediction(data)
	if err != nil {
		return nil, err
	}
	defer p.Close()
	return Verify(ms, p.Lab)
}

// Farthest returns the patches by falling ΔE00, most of them at the most. Of equal
// ones the one that was measured first comes first.
func (v *Verification) Farthest(most int) []PatchDrift {
	out := slices.Clone(v.Patches)
	slices.SortStableFunc(out, func(a, b PatchDrift) int { return cmp.Compare(b.DeltaE00, a.DeltaE00) })
	return out[:min(len(out), most)]
}
