package slip

import (
	"errors"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// The reason of every slip, alone and beside another, follows "because".
func TestReason(t *testing.T) {
	romm, device := builtin(t, "romm"), realProfile(t, "a98.icc").Named("Pearl")
	right := rightPlan(romm, device)
	if got := Reason(right); got != "" {
		t.Errorf("the right way goes wrong: %q", got)
	}
	o := Options{Reads: builtin(t, "srgb"), Other: realProfile(t, "WideGamutRGB.icc").Named("Washi"),
		Setting: realProfile(t, "AdobeRGB1998.icc"), SettingName: "Coated gloss", Dim: 0.5}
	for ids, want := range map[string]string{
		"wrongsource":  "Firstsheet took ROMM RGB numbers for sRGB numbers",
		"compensation": "black point compensation is left out",
		"twice":        "Firstsheet converted to the numbers of Pearl, then the driver took those for sRGB numbers and converted again",
		"otherpaper":   "the numbers were made for Washi and printed on Pearl",
		"never":        "nobody converted: ROMM RGB numbers were sent as if they were the numbers of Pearl",
		"wrongsetting": "the driver lays ink down for Coated gloss",
		"brightscreen": "beside this screen the print has 50 % of the luminance it should have",
		"wrongsource,otherpaper": "Firstsheet took ROMM RGB numbers for sRGB numbers and " +
			"the numbers were made for Washi and printed on Pearl",
		"compensation,wrongsetting": "black point compensation is left out and the driver lays ink down for Coated gloss",
	} {
		plan, err := Apply(right, strings.Split(ids, ","), o)
		if err != nil {
			t.Fatal(err)
		}
		if got := Reason(plan); got != want {
			t.Errorf("%s: %q, want %q", ids, got, want)
		}
	}
	grey := cie.Lab{L: 50}
	plan, _ := Apply(right, []string{"never"}, o)
	if got, want := words.Compare(grey, cie.Lab{L: 45}).Because("hull", Reason(plan)),
		"This hull is clearly darker, because nobody converted: ROMM RGB numbers were sent as if they were the numbers of Pearl"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A slip that leaves the route as it should be says why, and that is true of the plan.
func TestASlipThatDoesNotShowSaysWhy(t *testing.T) {
	romm, device := builtin(t, "romm"), realProfile(t, "a98.icc")
	absolute, without := rightPlan(romm, device), rightPlan(romm, device)
	absolute.Conversions[0].Intent = proof.AbsoluteColorimetric
	without.Conversions[0].BPC = false
	for _, c := range []struct {
		id, says string
		plan     proof.Plan
	}{
		{"compensation", "absolute colorimetric", absolute},
		{"compensation", "no compensation that could be left out", without},
		{"wrongsource", romm.Name(), rightPlan(romm, device)},
		{"otherpaper", device.Name(), rightPlan(romm, device)},
		{"brightscreen", "no brighter", rightPlan(romm, device)},
	} {
		s, _ := ByID(c.id)
		plan, err := Apply(c.plan, []string{c.id}, Options{Reads: romm, Other: device, Dim: 1})
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Shows(plan); !errors.Is(err, proof.ErrPlan) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want it to say %q", c.id, err, c.says)
		}
	}
	right := rightPlan(romm, device)
	if err := (Slip{}).Shows(right); !errors.Is(err, proof.ErrPlan) {
		t.Errorf("a slip that has no more to say: %v", err)
	}
	s, _ := ByID("compensation")
	if plan, _ := Apply(right, []string{s.ID}, Options{}); s.Shows(plan) != nil {
		t.Errorf("compensation left out does not show: %v", s.Shows(plan))
	}
}
