package paper_test

import (
	"context"
	"errors"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/lcms"
	"firstsheet/proof/paper"
	"firstsheet/proof/paper/papertest"
)

func TestAPaperThatIsNotFiniteIsRefused(t *testing.T) {
	before := lcms.Live()
	p, err := proof.NewProfile("", papertest.Infinite(t, cie.D50))
	if err != nil {
		t.Fatal(err)
	}
	facts, err := paper.Inspect(context.Background(), p)
	if e, ok := errors.AsType[*proof.ProfileError](err); !ok || e.Profile != "Infinite" || e.Kind != proof.Refused || !errors.Is(err, proof.ErrNotFinite) {
		t.Errorf("%+v, %v, want a *ProfileError of that profile", facts, err)
	}
	if _, err := paper.Open(t.TempDir()).AddBytes("infinite.icc", p.Data()); !errors.Is(err, proof.ErrNotFinite) {
		t.Errorf("added to the library: %v", err)
	}
	if n := lcms.Live() - before; n != 0 {
		t.Errorf("%d handles left open", n)
	}
}

// A white that no paper has is refused where papers are checked, with its figure.
func TestAWhiteThatIsNoneIsRefused(t *testing.T) {
	p, err := proof.NewProfile("", papertest.Infinite(t, cie.Lab{L: 2182}.ToXYZ(cie.D50)))
	if err != nil {
		t.Fatal(err)
	}
	for what, err := range map[string]error{"paper": p.CheckPaper(), "source": p.CheckSource()} {
		if e, ok := errors.AsType[*proof.ProfileError](err); !ok || e.Kind != proof.Damaged {
			t.Errorf("as a %s: %v", what, err)
		}
	}
}
