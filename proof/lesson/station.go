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
func rightWay(e Engine, m Material, spaces []*proof.Profile, right []Colour) ([]Step, error) {
	route := m.Right.Route()
	lead := right[m.Lead]
	what := named(m.Pins[m.Lead].Name)
	src, paper := m.Right.Source, m.Right.Paper
	var steps []Step
	for i, st := range route.Stations {
		s := Step{Kind: Station, Title: capital(st.Title), Route: route, At: i, Plan: m.Right, Dim: 1,
			Place: fmt.Sprintf("the right way, station %d of %d", i+1, len(route.Stations))}
		row := func(figures func(Colour) string) {
			for k, c := range right {
				s.Rows = append(s.Rows, Row{Pin: m.Pins[k].Name, Right: c, Figures: figures(c)})
			}
		}
		switch st.Kind {
		case proof.FileStation:
			s.Original = true
			s.Lead = append(s.Lead, fmt.Sprintf("In the file %s is %s.", what, Numbers(lead.File, src)),
				fmt.Sprintf("As %s that is the colour %s: %s.", src.Name(), Lab(lead.Original), words.Name(lead.Original)))
			if t, err := mistaken(e, src, m.Spaces, lead.File); err != nil {
				return nil, err
			} else if t != "" {
				s.Lead = append(s.Lead, t)
			}
			row(func(c Colour) string {
				return fmt.Sprintf("%s  is  %s", Numbers(c.File, src), Lab(c.Original))
			})
		case proof.ConvertStation:
			s.Original = true
			s.Lead = append(s.Lead, fmt.Sprintf("%s reads %s as %s and writes %s for %s.", capital(st.By),
				Numbers(lead.File, src), src.Name(), Numbers(lead.Device, paper), paper.Name()))
			s.Lead = append(s.Lead, reach(what, lead, paper.Name()))
			if st.BPC || paper.ForcesBPC(st.Intent) && st.Intent != proof.AbsoluteColorimetric {
				black, err := paperBlack(e, m.Right)
				if err != nil {
					return nil, err
				}
				s.Lead = append(s.Lead, fmt.Sprintf("Black point compensation is on: the picture’s black is fitted to the black of %s, L* %.0f.", paper.Name(), black))
			}
			s.Notes = m.Right.Notes()
			row(func(c Colour) string {
				return fmt.Sprintf("%s  becomes  %s", Numbers(c.File, src), Numbers(c.Device, paper))
			})
		case proof.NumbersStation:
			s.Lead = append(s.Lead, fmt.Sprintf("The printer gets %s for %s: numbers of %s, and of nothing else.", Numbers(lead.Device, paper), what, paper.Name()))
			if t, err := mistaken(e, paper, spaces, lead.Device); err != nil {
				return nil, err
			} else if t != "" {
				s.Lead = append(s.Lead, t)
			}
			row(func(c Colour) string { return Numbers(c.Device, paper) })
		case proof.InkStation:
			ch := words.Compare(lead.Original, lead.Relative)
			s.Lead = append(s.Lead, full(ch.OnSheet(paper.Name(), m.Pins[m.Lead].Name)),
				fmt.Sprintf("It should be %s and prints as %s: %.1f ΔE00 apart, the paper’s white taken as white.", Lab(lead.Original), Lab(lead.Relative), lead.DeltaE00))
			row(func(c Colour) string {
				return fmt.Sprintf("%s  prints  %s,  ΔE00 %.1f", Lab(c.Original), Lab(c.Relative), c.DeltaE00)
			})
		case proof.ScreenStation:
			s.Lead = append(s.Lead, fmt.Sprintf("To show that, the screen is told %s for %s.", Numbers(lead.Screen[:], m.Right.Screen), what))
			if low, high := ends(lead.Screen); low || high {
				s.Lead = append(s.Lead, "That is at the end of what this screen can show: the print may differ from what is seen here.")
			}
			if m.Right.White == proof.PaperWhite {
				s.Lead = append(s.Lead, "Paper and ink are shown as printed, with the paper’s own white.")
			} else {
				s.Lead = append(s.Lead, "The paper’s white is shown as the screen’s white, as an eye that is used to the paper sees it.")
			}
			if m.ScreenAssumed {
				s.Notes = append(s.Notes, "No profile of this screen is known: "+m.Right.Screen.Name()+" is assumed.")
			}
			row(func(c Colour) string {
				return fmt.Sprintf("%s  shown by  %s", Lab(c.Look), Numbers(c.Screen[:], m.Right.Screen))
			})
		}
		steps = append(steps, s)
	}
	return steps, nil
}

func reach(what string, c Colour, paper string) string {
	switch {
	case c.Darker:
		return fmt.Sprintf("%s is darker than the black of %s.", capital(what), paper)
	case c.Reach >= 1:
		return fmt.Sprintf("%s lies out of reach: as near as the profile of %s comes, it is %.1f ΔE00 away.", capital(what), paper, c.Reach)
	}
	return fmt.Sprintf("%s lies within the reach of %s.", capital(what), paper)
}

func ends(v [3]float64) (low, high bool) {
	for _, x := range v {
		low, high = low || x <= 0.001, high || x >= 0.999
	}
	return low, high
}

// mistaken tells what the same numbers would be if they were taken for another
// space: the first of the list that has as many numbers and is not the truth. It
// is "" when there is none.
func mistaken(e Engine, truly *proof.Profile, spaces []*proof.Profile, numbers []float64) (string, error) {
	colour := func(p *proof.Profile) (cie.Lab, error) {
		c, err := e.Chain(proof.Plan{Source: p, Screen: proof.SpaceProfile(space.SRGB())})
		if err != nil {
			return cie.Lab{}, err
		}
		defer c.Close()
		return c.Value(numbers).Original, nil
	}
	for _, s := range spaces {
		if s.ID() == truly.ID() || s.Channels() != truly.Channels() {
			continue
		}
		is, err := colour(truly)
		if err != nil {
			return "", err
		}
		got, err := colour(s)
		if err != nil {
			return "", err
		}
		change := words.Compare(is, got)
		if change.Same() {
			return fmt.Sprintf("Taken for %s, the same numbers would look the same: this colour would not betray the mistake.", s.Name()), nil
		}
		return fmt.Sprintf("Taken for %s, the same numbers would be %s: %s.", s.Name(), Lab(got), told(change)), nil
	}
	return "", nil
}

// told is a change in words, to stand alone.
func told(c words.Change) string {
	return strings.TrimPrefix(strings.Replace(c.Sentence(), "turns ", "turned ", 1), " ")
}

// paperBlack is the L* of the black that the plan's paper reaches.
func paperBlack(e Engine, p proof.Plan) (float64, error) {
	c, err := e.Chain(p)
	if err != nil {
		return 0, err
	}
	defer c.Close()
	return c.PaperBlack(), nil
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

// Lab writes a colour in whole units of CIELAB.
func Lab(c cie.Lab) string {
	return fmt.Sprintf("L* %s a* %s b* %s", whole(c.L), whole(c.A), whole(c.B))
}

func whole(v float64) string {
	n := int(math.Round(v))
	if n < 0 {
		return fmt.Sprintf("−%d", -n)
	}
	return fmt.Sprintf("%d", n)
}
