package proof

import (
	"fmt"
	"strings"

	"firstsheet/proof/words"
)

// StationKind says what a station of the route is.
type StationKind uint8

// The kinds of station, in the order they can come.
const (
	FileStation    StationKind = iota // the picture's numbers
	ConvertStation                    // somebody converts
	NumbersStation                    // the numbers that the printer gets
	InkStation                        // ink on paper
	ScreenStation                     // this screen
)

// Fault says what is wrong at a station.
type Fault uint8

// The faults a station can have.
const (
	NoFault    Fault = iota
	Mislabeled       // numbers of one space are taken for another's
	Extra            // a conversion too many
	Missing          // a conversion that should be there is not
	WrongPaper       // numbers made for another paper, or ink laid down for another
	LeftOut          // a part of the conversion is left out
	TooBright        // the screen outshines the light on the print
	NoInk            // an ink that should be there is not, or not all of it
	WrongLight       // the print is looked at in a light that it is not made for
)

func (f Fault) String() string {
	switch f {
	case NoFault:
		return "as it should be"
	case Mislabeled:
		return "wrong label"
	case Extra:
		return "one too many"
	case Missing:
		return "missing"
	case WrongPaper:
		return "wrong paper"
	case LeftOut:
		return "left out"
	case TooBright:
		return "too bright"
	case NoInk:
		return "ink missing"
	case WrongLight:
		return "wrong light"
	}
	return "unknown fault"
}

// Station is one stop of the colours on their way.
type Station struct {
	Kind StationKind
	// Title is in plain words, Detail in the trade's terms. Brief is Detail in fewer
	// words, "" where it has few.
	Title, Detail, Brief string
	// Space names the space the numbers are in when they leave the station, as it
	// truly is; "" at the ink and the screen.
	Space string
	// By says who converts, and Intent and BPC how; only at a ConvertStation.
	By     string
	Intent Intent
	BPC    bool
	Fault  Fault
	// Why says in plain words what is wrong, "" without a fault.
	Why string
}

// Route is the chain that the colours travel, first to last.
type Route struct{ Stations []Station }

// Faulty reports whether any station has a fault.
func (r Route) Faulty() bool {
	for _, s := range r.Stations {
		if s.Fault != NoFault {
			return true
		}
	}
	return false
}

// Route returns the chain that the plan really runs. A fault is found from the
// plan itself, by comparing what the numbers are with what each link takes them
// for.
func (p Plan) Route() Route {
	var stations []Station
	stations = append(stations, p.fileStation())
	truth := p.Source
	if p.Paper != nil {
		if len(p.Conversions) == 0 {
			stations = append(stations, Station{
				Kind: ConvertStation, Title: "nobody converts", Detail: "both converters off", Space: truth.Name(),
				Fault: Missing, Why: fmt.Sprintf("%s's numbers go to the printer as they are", truth.Name()),
			})
		}
		for i, c := range p.Conversions {
			stations = append(stations, p.convertStation(i, truth))
			truth = c.To
		}
		stations = append(stations, p.numbersStation(truth), p.inkStation())
	}
	screen := Station{Kind: ScreenStation, Title: "this screen", Detail: p.Screen.Name()}
	if p.dim() != 1 {
		screen.Fault = TooBright
		screen.Why = fmt.Sprintf("beside this screen the print has %.0f %% of the luminance it should have", p.dim()*100)
	}
	if p.Mishap != nil && p.Mishap.InLight {
		screen.Fault, screen.Why = WrongLight, p.Mishap.Why
	}
	return Route{append(stations, screen)}
}

func (p Plan) fileStation() Station {
	if p.Printed != nil {
		return Station{Kind: FileStation, Title: "the print on " + p.Printed.Name(), Detail: "as it was observed"}
	}
	return Station{Kind: FileStation, Title: "photo", Detail: p.Source.Name(), Space: p.Source.Name()}
}

// Trouble is the fault with its reason, the reason alone where that names the fault: "one
// too many: Pearl's numbers taken for sRGB". It is "" where all is as it should be.
func (s Station) Trouble() string {
	switch {
	case s.Fault == NoFault:
		return ""
	case s.Why == "":
		return s.Fault.String()
	case strings.Contains(s.Why, s.Fault.String()):
		return s.Why
	}
	return s.Fault.String() + ": " + s.Why
}

func (p Plan) convertStation(i int, truth *Profile) Station {
	c := p.Conversions[i]
	whole, brief := compensation(c)
	s := Station{
		Kind: ConvertStation, Title: c.By + " converts",
		Detail: fmt.Sprintf("%s, %s", c.Intent, whole), Brief: c.Intent.Short() + ", " + brief,
		Space: c.To.Name(), By: c.By, Intent: c.Intent, BPC: c.BPC && c.Intent != AbsoluteColorimetric,
	}
	if i > 0 {
		s.Title = c.By + " converts again"
		s.Fault = Extra
		s.Why = fmt.Sprintf("%s's numbers taken for %s", truth.Name(), c.From.Name())
		return s
	}
	switch {
	case truth.ID() != c.From.ID():
		s.Fault = Mislabeled
		s.Why = fmt.Sprintf("%s's numbers taken for %s", truth.Name(), c.From.Name())
	case c.LeftOut && !c.To.ForcesBPC(c.Intent) && c.Intent != AbsoluteColorimetric:
		s.Fault = LeftOut
		s.Why = "black point compensation is left out"
	}
	return s
}

// compensation says what a conversion does about the black point, and in a word.
func compensation(c Conversion) (whole, brief string) {
	switch {
	case c.Intent == AbsoluteColorimetric:
		return "no compensation", "not compensated"
	case c.BPC || c.To.ForcesBPC(c.Intent):
		return "compensation on", "compensated"
	}
	return "compensation off", "not compensated"
}

func (p Plan) numbersStation(truth *Profile) Station {
	s := Station{
		Kind: NumbersStation, Title: truth.Name() + "'s numbers",
		Detail: "sent to the printer", Space: truth.Name(),
	}
	switch {
	case len(p.Conversions) == 0:
		s.Detail = "sent as they are"
	case truth.ID() != p.reach().ID():
		s.Fault = WrongPaper
		s.Why = fmt.Sprintf("numbers made for %s are printed on %s", truth.Name(), p.Paper.Name())
	}
	return s
}

func (p Plan) inkStation() Station {
	s := Station{Kind: InkStation, Title: "ink on " + p.Paper.Name(), Detail: "look by its colorimetric table"}
	if w, ok := p.Paper.MediaWhite(); ok {
		s.Detail = fmt.Sprintf("white %s, %s, %s", words.Whole(w.L), words.Whole(w.A), words.Whole(w.B))
	}
	if p.Setting != "" {
		s.Fault = WrongPaper
		s.Why = "the driver lays ink down for " + p.Setting
	}
	if p.Mishap != nil && !p.Mishap.InLight {
		s.Fault, s.Why = NoInk, p.Mishap.Why
	}
	return s
}
