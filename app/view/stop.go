package view

import (
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
)

// breaks are the shapes of broken links, by what is wrong at the station they lead to.
var breaks = map[proof.Fault]widget.Break{
	proof.Extra: widget.Doubled, proof.Missing: widget.Gap, proof.LeftOut: widget.Gap,
	proof.Mislabeled: widget.Crooked, proof.WrongPaper: widget.Crooked, proof.TooBright: widget.Crooked,
	proof.NoInk: widget.Gap, proof.WrongLight: widget.Crooked,
}

// stopOf is a station of a route as a route line shows it: its words, and the shape of
// the link into it.
func stopOf(s proof.Station) widget.Stop {
	stop := widget.Stop{Plain: session.Typeset(s.Title), Trade: session.Typeset(s.Detail), Brief: session.Typeset(s.Brief), Link: breaks[s.Fault]}
	if s.Fault != proof.NoFault {
		stop.Note = session.Typeset(s.Trouble())
	}
	return stop
}

// stopsOf are the stops of a whole route.
func stopsOf(r proof.Route) []widget.Stop {
	out := make([]widget.Stop, len(r.Stations))
	for i, s := range r.Stations {
		out[i] = stopOf(s)
	}
	return out
}
