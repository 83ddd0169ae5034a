package session

import "testing"

func TestWhateverLayOnAPaperThatIsGoneLiesOnAnother(t *testing.T) {
	s := Start("old")
	s.Sheets[2].Paper = "kept"
	s.Sheets[3].Slip.OtherPaper = "old"
	before := s.Edition
	s = Reduce(s, PaperGone{ID: "old", Use: "new"})
	for i, want := range []string{"new", "new", "kept", "new"} {
		if got := s.Sheets[i].Paper; got != want {
			t.Errorf("sheet %d lies on %q, want %q", i, got, want)
		}
	}
	if s.Sheets[3].Slip.OtherPaper != "new" || s.Default.Paper != "new" {
		t.Errorf("slip %q and next new proof %q still name the old one", s.Sheets[3].Slip.OtherPaper, s.Default.Paper)
	}
	// What was computed for the old one may not be taken for another of its name.
	if s.Edition == before {
		t.Error("the edition stayed")
	}
}
