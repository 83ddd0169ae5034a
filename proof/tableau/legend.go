package tableau

import (
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/words"
)

// Caution is what belongs in the foot line of everything that leaves the desk.
const Caution = "A proof is only as good as the screen's calibration and the light in which the print is judged; it is no contract proof."

// Legend names a sheet by its plan and tells how it was made, with what is out of the
// paper's reach where the figures are known; f is nil where they are not. What is wrong on
// its route is said in full: such a picture may travel far from who made it.
func Legend(plan proof.Plan, f *proof.Figures) (title string, lines []string) {
	if plan.Paper == nil {
		return "Original", []string{plan.Source.Name()}
	}
	for _, s := range plan.Route().Stations {
		switch {
		case s.Fault != proof.NoFault:
			lines = append(lines, "GONE WRONG: "+strings.TrimSpace(s.Detail+", "+s.Trouble()))
		case s.Kind == proof.ConvertStation:
			lines = append(lines, s.Detail)
		}
	}
	if f != nil {
		lines = append(lines, words.Share(f.Outside(2))+" of it out of reach, "+words.Share(f.Darker)+" darker than this paper")
	}
	return plan.Paper.Name(), lines
}
