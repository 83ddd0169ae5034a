package slip

import (
	"firstsheet/proof"
	"firstsheet/proof/words"
)

// Reason says in words what goes wrong in a plan, to follow "because": by its route,
// what was taken for what, station by station. It is "" where nothing does.
func Reason(p proof.Plan) string {
	var parts []string
	truth, links := p.Source, p.Conversions
	by := "" // the converter before
	for _, s := range p.Route().Stations {
		var link proof.Conversion
		if s.Kind == proof.ConvertStation && len(links) > 0 {
			link, links = links[0], links[1:]
		}
		if s.Fault != proof.NoFault {
			parts = append(parts, reason(p, s, truth, link, by))
		}
		if link.To != nil {
			truth, by = link.To, link.By
		}
	}
	return words.List(parts)
}

// reason says what is wrong at a station that numbers of truth come to. link is the
// conversion made there, by who made the one before.
func reason(p proof.Plan, s proof.Station, truth *proof.Profile, link proof.Conversion, by string) string {
	switch {
	case s.Fault == proof.Missing:
		return words.Never(truth.Name(), p.Paper.Name())
	case s.Fault == proof.Extra:
		return words.Twice(by, link.By, truth.Name(), link.From.Name())
	case s.Fault == proof.Mislabeled:
		return words.Misread(link.By, truth.Name(), link.From.Name())
	case s.Fault == proof.WrongPaper && s.Kind == proof.NumbersStation:
		return words.OtherPaper(truth.Name(), p.Paper.Name())
	}
	return s.Why
}
