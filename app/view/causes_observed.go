package view

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/cause"
	"firstsheet/proof/cie"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
)

// observation is what was told of the print, as a picture that can lie on the desk.
type observation struct {
	name, notes string
	// places are painted on the original; a photograph has none and is laid there.
	places []cause.Place
	// under is the cause that the light of a photograph is evened by, "" where bare paper
	// told it.
	under string
}

// key tells one observation from another.
func (o observation) key() string { return fmt.Sprint(o.name, o.notes, o.under, o.places) }

// observedSide is the longer side of an observed print on the desk.
const observedSide = 1200

// notKept ends the legend of an observed print: it is told to this card and goes with it.
const notKept = " · not saved"

// observed is what there is to be laid on the desk, and whether there is anything.
func (v *causesView) observed() (o observation, ok bool) {
	told := v.told
	use := func(w way) bool { return !told.without[w] && told.counts(w, v.pins()) > 0 }
	switch {
	case told.asksOfSheet():
		return o, false // that lies on another sheet than the picture
	case use(byPhoto):
		return v.photographed(), true
	case use(byMeasure):
		o.name = "the print as measured"
		o.places = v.measuredPlaces()
		o.notes = fmt.Sprintf("%d of %s painted on the original", len(o.places), count(len(told.file.spots), "place"))
	case use(byEye):
		o.name = "the print as matched by eye"
		for _, p := range v.pins() {
			if c, turned := told.turned(p); turned {
				o.places = append(o.places, cause.Place{X: p.X, Y: p.Y, Lab: c.Lab()})
			}
		}
		o.notes = count(len(o.places), "pin") + " painted on the original"
	}
	o.notes += notKept
	return o, len(o.places) > 0
}

// photographed is the photograph as it lies on the picture.
func (v *causesView) photographed() observation {
	o := observation{name: "the print as photographed", notes: "light evened by its bare paper"}
	if !v.told.photo.read.Margin && len(v.answer.answer.Causes) > 0 {
		c := v.answer.cause()
		o.under = c.ID
		o.notes = "no bare paper in sight: light evened to suit ‘" + session.Typeset(c.Name) + "’"
	}
	o.notes = fmt.Sprintf("‘%s’ · %s%s", v.told.photo.shot.Info.Name, o.notes, notKept)
	return o
}

// measuredPlaces finds where on the picture the measured colours belong: on the pin of
// that name, else where the picture has just these numbers.
func (v *causesView) measuredPlaces() []cause.Place {
	pic := v.h.Session.Store().Picture(v.of.picture)
	var out []cause.Place
	for _, s := range v.told.file.spots {
		pins := v.pins()
		if n := slices.IndexFunc(pins, func(p pin.Pin) bool { return strings.EqualFold(p.Name, s.Name) }); n >= 0 && s.Name != "" {
			out = append(out, cause.Place{X: pins[n].X, Y: pins[n].Y, Lab: s.Lab})
		} else if p, ok := placeOfNumbers(pic, s); ok {
			out = append(out, p)
		}
	}
	return out
}

// sameNumbers is how far each number may be off, of 1, for a place to be taken for the one
// that was measured.
const sameNumbers = 4.0 / 255

// placeOfNumbers finds the place of a picture whose numbers come nearest to those of a
// spot.
func placeOfNumbers(pic *session.Picture, s cause.Spot) (cause.Place, bool) {
	small := pic.Levels[len(pic.Levels)-1]
	mean := make([]float64, small.Channels)
	n := len(s.Numbers) / small.Channels
	for i, v := range s.Numbers {
		mean[i%small.Channels] += v / float64(n)
	}
	best, off := cause.Place{Lab: s.Lab}, math.Inf(1)
	var at []float64
	for y := range small.H {
		for x := range small.W {
			at = small.At(at[:0], x, y)
			most := 0.0
			for k, v := range at {
				most = max(most, math.Abs(v-mean[k]))
			}
			if most < off {
				off, best.X, best.Y = most, (float64(x)+0.5)/float64(small.W), (float64(y)+0.5)/float64(small.H)
			}
		}
	}
	return best, off <= sameNumbers
}

// make makes the picture of an observation.
func (o observation) make(ctx context.Context, engine session.Engine, pic *session.Picture, source *proof.Profile, t toldPhoto, predicted []cie.Lab) (*session.Picture, error) {
	if o.places == nil {
		read := t.read
		if o.under != "" {
			read = read.Evened(predicted)
		}
		return laidOn(ctx, engine, t.shot, read, pic, o.name, o.notes)
	}
	p, err := cause.Painted(ctx, engine, source, pic.Levels, o.places, observedSide, observedSide)
	if err != nil {
		return nil, err
	}
	return seenPicture(p, o.name, o.notes)
}

// laidOn returns a photograph as it lies on the picture, its light evened.
func laidOn(ctx context.Context, engine session.Engine, shot *session.Picture, read cause.Photo, pic *session.Picture, name, notes string) (*session.Picture, error) {
	k := math.Min(1, observedSide/float64(max(pic.Info.W, pic.Info.H)))
	w, h := math.Round(k*float64(pic.Info.W)), math.Round(k*float64(pic.Info.H))
	p, err := read.Laid(ctx, engine, shot.Source.Picture, pic.Info.W, pic.Info.H, max(int(w), 1), max(int(h), 1))
	if err != nil {
		return nil, err
	}
	return seenPicture(p, name, notes)
}

// seenPicture makes an observed print one that can lie on the desk.
func seenPicture(p *photo.Picture, name, notes string) (*session.Picture, error) {
	pic, err := shown(p, name)
	if err == nil {
		pic.Info.Notes = notes
	}
	return pic, err
}

// photoPredicted are the colours that a cause predicts at the regions of the photograph,
// which is the last piece of evidence that has places.
func photoPredicted(t *causeTold, c cause.Cause) []cie.Lab {
	p := c.Variants[0].Predicted
	return p[max(len(p)-len(t.photo.read.Regions), 0):]
}

// onDesk lays the right proof, the print as it was observed and the chosen cause side by
// side.
func (a *causeAnswer) onDesk() {
	v := a.v
	if !a.onRoute() || v.laying.busy() {
		return
	}
	right, wrong := v.of.set, a.predicted()
	lay := func(key int) { v.h.Do(session.LayCause{Right: right, Cause: wrong, Observed: key}) }
	o, ok := v.observed()
	pic := v.h.Session.Store().Picture(v.of.picture)
	if !ok || pic == nil {
		lay(0)
		return
	}
	if key, ok := v.told.laid[o.key()]; ok {
		lay(key)
		return
	}
	engine, told := v.h.Session.Engine(), v.told
	source, shot, predicted := v.of.set, told.photo, photoPredicted(told, a.cause())
	v.laying.start(func(j job) func() {
		seen, err := func() (*session.Picture, error) {
			plan, err := engine.Plan(pic, setup.Setup{Source: source.Source, Screen: source.Screen})
			if err != nil {
				return nil, err
			}
			return o.make(j, engine, pic, plan.Source, shot, predicted)
		}()
		return func() {
			a.desk.SetText(deskWord)
			if err != nil {
				if j.Err() == nil {
					v.tell(session.Explain(err, shot.path).Headline)
				}
				return
			}
			told.laid[o.key()] = v.h.Session.Observe(seen)
			lay(told.laid[o.key()])
		}
	})
	a.desk.SetText("Being laid …")
}

// deskWord is on the button that lays a cause on the desk.
const deskWord = "Show it on the desk  (S)"
