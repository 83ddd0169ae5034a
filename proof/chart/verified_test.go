package chart

import (
	"errors"
	"os"
	"strings"
	"testing"

	"firstsheet/proof/cie"
)

// A page measured from RGB numbers can't be held against a CMYK profile, and the error
// says what each has.
func TestVerifyProfileChannels(t *testing.T) {
	ms := &Measurements{Device: CMYK, Patches: make([]Patch, fewestVerified)}
	data, err := os.ReadFile("../../assets/papers/pearl.icc")
	if err != nil {
		t.Fatal(err)
	}
	_, err = VerifyProfile(data, ms)
	other, ok := errors.AsType[*ChannelsError](err)
	if !ok || other.Measured != CMYK || other.Takes != 3 {
		t.Errorf("CMYK against RGB: %v", err)
	}
	// Of the profile's own kind they are compared: these have no device values.
	ms.Device = RGB
	if _, err = VerifyProfile(data, ms); errors.As(err, &other) || !errors.As(err, new(*FormatError)) {
		t.Errorf("RGB against RGB: %v", err)
	}
	if _, err = VerifyProfile([]byte("no profile"), ms); err == nil || errors.As(err, new(*FormatError)) {
		t.Errorf("no profile: %v", err)
	}
}

func TestFarthest(t *testing.T) {
	v := &Verification{}
	for i, d := range []float64{1, 3, 2, 3, 0} {
		v.Patches = append(v.Patches, PatchDrift{Place: string(rune('a' + i)), DeltaE00: d, Expected: cie.Lab{L: 50}})
	}
	got := ""
	for _, p := range v.Farthest(4) {
		got += p.Place
	}
	if got != "bdca" {
		t.Errorf("the farthest four are %s, want bdca", got)
	}
	if v.Patches[0].Place != "a" || len(v.Farthest(9)) != 5 {
		t.Error("the patches themselves were changed, or some are missing")
	}
}

func TestCleanName(t *testing.T) {
	for in, want := range map[string]string{"Büttenpapier 2": "Büttenpapier 2", " é Own\tpearl\x00 ": "é Own pearl", "": "", "和紙 ~ok ": "和紙 ~ok", "a\x07b": "ab"} {
		if got := CleanName(in); got != want {
			t.Errorf("CleanName(%q) = %q, want %q", in, got, want)
		}
		if got := CleanName(in); got != "" && checkName(got) != nil {
			t.Errorf("%q is refused", got)
		}
	}
	for _, bad := range []string{"", " ", "a\nb", strings.Repeat("x", maxName+1)} {
		if checkName(bad) == nil {
			t.Errorf("%q is taken for a name", bad)
		}
	}
}
