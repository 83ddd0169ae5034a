package printfile

import (
	"fmt"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/setup"
)

// Route returns the way of the colours from the picture through the file to ink on
// paper, with the fault where the driver's setting does not fit the way chosen.
func (p *Print) Route() proof.Route {
	all := p.plan.Route().Stations
	ink := all[len(all)-2] // the screen comes last
	paper := p.plan.Paper.Name()
	stations := []proof.Station{all[0]}
	if p.job.Converts == Here {
		stations = append(stations, all[1])
	}
	space := p.Embedded().Name()
	file := proof.Station{Kind: proof.FileStation, Title: "print file", Detail: space + "’s numbers, its profile embedded", Space: space}
	stations = append(stations, file, p.driverStation(paper))
	return proof.Route{Stations: append(stations, ink)}
}

// driverStation is what comes between file and ink.
func (p *Print) driverStation(paper string) proof.Station {
	passes := proof.Station{Kind: proof.NumbersStation, Title: "driver passes on", Detail: "colour handling off", Space: p.Embedded().Name()}
	converts := proof.Station{Kind: proof.ConvertStation, Title: "the next program or the driver converts", By: "the next program or the driver",
		Detail: "once, to " + paper + ", " + p.job.Setup.Intent.String(), Space: paper, Intent: p.job.Setup.Intent, BPC: p.job.Setup.BPC}
	switch {
	case p.job.Converts == Here && p.job.Driver == DriverConverts:
		converts.Title, converts.Fault = "the driver converts again", proof.Extra
		converts.Detail = "by its own profile and intent"
		converts.Why = fmt.Sprintf("%s’s numbers are converted once more", paper)
		return converts
	case p.job.Converts == Here:
		return passes
	case p.job.Driver == DriverOff:
		passes.Title, passes.Fault = "nobody converts", proof.Missing
		passes.Why = fmt.Sprintf("%s’s numbers go to the printer as they are", p.Embedded().Name())
		return passes
	}
	return converts
}

// Warnings returns all that is to be known before ink is spent, the gravest first.
func (p *Print) Warnings() []Warning {
	var grave, rest []Warning
	for _, w := range append(append([]Warning(nil), p.warnings...), p.layout.Warnings...) {
		if w.Grave() {
			grave = append(grave, w)
		} else {
			rest = append(rest, w)
		}
	}
	return append(grave, rest...)
}

// warn gathers what is known from the job and the picture.
func (p *Print) warn(left []string) {
	add := func(k Kind, format string, args ...any) { p.warnings = append(p.warnings, warning(k, format, args...)) }
	paper, source := p.plan.Paper, p.source.Profile
	switch {
	case p.job.Converts == Here && p.job.Driver == DriverConverts:
		add(TwoConversions, "Colour would be converted twice, here and in the driver: set the driver’s colour handling to off, or let only the driver convert.")
	case p.job.Converts == Later && p.job.Driver == DriverOff:
		add(NoConversion, "Nobody would convert: the driver’s colour handling is off and the file keeps %s’s numbers. Convert here, or let the next program convert.", source.Name())
	case p.job.Driver == DriverUnknown:
		add(DriverNotSaid, "%s", Instruction(p.job.Converts, paper.Name()))
	}
	if source.Class() == icc.ClassOutput {
		if source.ID() == paper.ID() {
			add(AlreadyConverted, "The picture holds %s’s own numbers already: it must go to the printer as it is, with every conversion off.", paper.Name())
		} else {
			add(AlreadyConverted, "The picture was converted for printing before: it holds the numbers of %s. Go back to the picture before that conversion if there is one.", source.Name())
		}
	}
	if p.source.Origin == setup.Assumed {
		add(SourceAssumed, "The picture’s file does not say what its numbers mean; %s is assumed.", source.Name())
	}
	if p.light.wide() && p.job.Converts == Later && p.job.Depth == 8 {
		add(WideIn8Bits, "Eight bits are few for %s: smooth skies can show steps when the next program converts. Take 16.", source.Name())
	}
	if p.job.Sharpen.On {
		switch {
		case !p.light.known:
			add(NotSharpened, "The picture holds ink numbers and is not sharpened: lightness alone cannot be changed in them.")
		case p.job.Sharpen.Finish == FinishOfPaper:
			add(FinishAssumed, "Nobody has noted what surface %s has; it is sharpened as for pearl.", paper.Name())
		}
	}
	for _, n := range p.source.Notes {
		if p.source.Origin != setup.Assumed {
			add(PlanNote, "%s", n)
		}
	}
	if p.job.Converts == Here {
		for _, n := range p.plan.Notes() {
			add(PlanNote, "%s", n)
		}
	}
	for _, n := range left {
		add(LeftOut, "%s", n)
	}
}

// Instruction says in generic words what must be chosen behind this program.
func Instruction(c Converter, paper string) string {
	if c == Here {
		return "The file holds " + paper + "’s own numbers. Print it at 100 % with colour handling off all along: no conversion in the next program, none in the driver, and the media setting that the profile was made for."
	}
	return "The file keeps its working space. Let exactly one link convert to " + paper + ": either the next program, with the driver’s colour handling off, or the driver alone. Choose the media setting that the profile was made for."
}
