package lesson

import (
	"fmt"
	"math"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// rightWay makes a step of each station of the route as it should be.
func (k *maker) rightWay() ([]Step, error) {
	stations := k.plan.Route().Stations
	var steps []Step
	for i, st := range stations {
		s := k.step(Step{Kind: Station, Title: words.Capital(st.Title),
			Place: fmt.Sprintf("the right way, station %d of %d", i+1, len(stations))})
		s.At = i
		tell := map[proof.StationKind]func(*Step, proof.Station) error{
			proof.FileStation: k.file, proof.ConvertStation: k.convert, proof.NumbersStation: k.numbers,
			proof.InkStation: k.ink, proof.ScreenStation: k.screen,
		}[st.Kind]
		if err := tell(&s, st); err != nil {
			return nil, err
		}
		steps = append(steps, s)
	}
	return steps, nil
}

// row tells figures of every pin.
func (k *maker) row(s *Step, figures func(Colour) string) {
	for i, c := range k.right {
		s.Rows = append(s.Rows, Row{Pin: k.Pins[i].Name, Right: c, Figures: figures(c)})
	}
}

func (k *maker) file(s *Step, _ proof.Station) error {
	src, lead := k.plan.Source, k.right[0]
	s.Original = true
	s.Lead = append(s.Lead, fmt.Sprintf("In the file %s is %s.", k.what(), Numbers(lead.File, src)),
		fmt.Sprintf("As %s that is the colour %s: %s.", src.Name(), words.RoundLab(lead.Original), words.Name(lead.Original)))
	k.row(s, func(c Colour) string { return Numbers(c.File, src) + "  is  " + words.RoundLab(c.Original) })
	return k.mistaken(s, src, k.distinct, lead.File)
}

func (k *maker) convert(s *Step, st proof.Station) error {
	src, paper, lead := k.plan.Source, k.plan.Paper, k.right[0]
	s.Original = true
	s.Lead = append(s.Lead, fmt.Sprintf("%s reads %s as %s and writes %s for %s.", words.Capital(st.By),
		Numbers(lead.File, src), src.Name(), Numbers(lead.Device, paper), paper.Name()))
	s.Lead = append(s.Lead, reach(k.what(), lead, paper.Name()))
	if st.BPC || paper.ForcesBPC(st.Intent) && st.Intent != proof.AbsoluteColorimetric {
		black, err := k.paperBlack()
		if err != nil {
			return err
		}
		s.Lead = append(s.Lead, fmt.Sprintf("Black point compensation is on: the picture’s black is fitted to the black of %s, L* %s.",
			paper.Name(), words.Whole(black)))
	}
	s.Notes = k.plan.Notes()
	k.row(s, func(c Colour) string { return Numbers(c.File, src) + "  becomes  " + Numbers(c.Device, paper) })
	return nil
}

func reach(what string, c Colour, paper string) string {
	switch {
	case c.Darker:
		return fmt.Sprintf("%s is darker than the black of %s.", words.Capital(what), paper)
	case c.Reach >= 1:
		return fmt.Sprintf("%s lies out of reach: as near as the profile of %s comes, it is %s ΔE00 away.", words.Capital(what), paper, words.Figure(c.Reach))
	}
	return fmt.Sprintf("%s lies within the reach of %s.", words.Capital(what), paper)
}

func (k *maker) numbers(s *Step, _ proof.Station) error {
	paper, lead := k.plan.Paper, k.right[0]
	s.Lead = append(s.Lead, fmt.Sprintf("The printer gets %s for %s: numbers of %s, and of nothing else.", Numbers(lead.Device, paper), k.what(), paper.Name()))
	k.row(s, func(c Colour) string { return Numbers(c.Device, paper) })
	return k.mistaken(s, paper, k.Spaces, lead.Device)
}

func (k *maker) ink(s *Step, _ proof.Station) error {
	lead := k.right[0]
	change := words.Compare(lead.Original, lead.Relative)
	s.Lead = append(s.Lead, words.Stop(change.OnSheet(k.plan.Paper.Name(), k.Pins[0].Name)),
		fmt.Sprintf("It should be %s and prints as %s: %s ΔE00 apart, the paper’s white taken as white.",
			words.RoundLab(lead.Original), words.RoundLab(lead.Relative), words.Figure(lead.DeltaE00)))
	k.row(s, func(c Colour) string {
		return fmt.Sprintf("%s  prints  %s,  %s", words.RoundLab(c.Original), words.RoundLab(c.Relative), words.DeltaE00(c.DeltaE00))
	})
	return nil
}

func (k *maker) screen(s *Step, _ proof.Station) error {
	screen, lead := k.plan.Screen, k.right[0]
	s.Lead = append(s.Lead, fmt.Sprintf("To show that, the screen is told %s for %s.", Numbers(lead.Screen[:], screen), k.what()))
	if atAnEnd(lead.Screen) {
		s.Lead = append(s.Lead, "That is at the end of what this screen can show: the print may differ from what is seen here.")
	}
	if k.plan.White == proof.PaperWhite {
		s.Lead = append(s.Lead, "Paper and ink are shown as printed, with the paper’s own white.")
	} else {
		s.Lead = append(s.Lead, "The paper’s white is shown as the screen’s white, as an eye that is used to the paper sees it.")
	}
	if k.ScreenAssumed {
		s.Notes = append(s.Notes, "No profile of this screen is known: "+screen.Name()+" is assumed.")
	}
	k.row(s, func(c Colour) string { return words.RoundLab(c.Look) + "  shown by  " + Numbers(c.Screen[:], screen) })
	return nil
}

func atAnEnd(v [3]float64) bool {
	for _, x := range v {
		if x <= 0.001 || x >= 0.999 {
			return true
		}
	}
	return false
}

// mistaken tells what the same numbers would be if they were taken for another space:
// the first that has as many numbers and is not the truth.
func (k *maker) mistaken(to *Step, truly *proof.Profile, spaces []string, numbers []float64) error {
	for _, ref := range spaces {
		s, err := k.Find.Profile(ref)
		if err != nil || s.ID() == truly.ID() || s.Channels() != truly.Channels() {
			continue
		}
		is, err := k.colour(truly, numbers)
		if err != nil {
			return err
		}
		got, err := k.colour(s, numbers)
		if err != nil {
			return err
		}
		change := words.Compare(is, got)
		told := fmt.Sprintf("%s: %s", words.RoundLab(got), strings.Replace(change.Sentence(), "turns ", "turned ", 1))
		if change.Same() {
			to.Lead = append(to.Lead, fmt.Sprintf("Taken for %s, the same numbers would look the same: this colour would not betray the mistake.", s.Name()))
		} else {
			to.Lead = append(to.Lead, fmt.Sprintf("Taken for %s, the same numbers would be %s.", s.Name(), told))
		}
		return nil
	}
	return nil
}

// colour is what numbers of a profile mean.
func (k *maker) colour(p *proof.Profile, numbers []float64) (cie.Lab, error) {
	c, err := k.e.Chain(proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
	if err != nil {
		return cie.Lab{}, err
	}
	defer c.Close()
	var v [1]proof.Value
	err = c.Values(v[:], numbers)
	return v[0].Original, err
}

// paperBlack is the L* of the black that the right plan's paper reaches.
func (k *maker) paperBlack() (float64, error) {
	c, err := k.e.Chain(k.plan)
	if err != nil {
		return 0, err
	}
	defer c.Close()
	return c.PaperBlack().L, nil
}

// Numbers writes device numbers as people know them: red, green and blue from 0 to
// 255, ink in percent.
func Numbers(v []float64, p *proof.Profile) string {
	parts := make([]string, len(v))
	for i, x := range v {
		switch p.ColorSpace() {
		case icc.SpaceRGB, icc.SpaceGray:
			parts[i] = fmt.Sprintf("%.0f", math.Abs(math.Round(x*255))) // never a minus zero
		default:
			parts[i] = fmt.Sprintf("%.0f %%", math.Abs(math.Round(x*100)))
		}
	}
	return strings.Join(parts, ", ")
}
