package lesson

import (
	"context"
	"slices"

	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// maker makes one lesson.
type maker struct {
	Material
	e        Engine
	plan     proof.Plan // of the right way
	distinct []string   // spaces that mean other colours than the truth
	choices  setup.Choices
	right    []Colour // the pins, printed as they should be
	tries    []Step   // every way to go wrong
}

// New works the lesson out. The error is ErrNoPins, the context's, or one of the
// engine's that says why the right route can't be run. progress, which may be nil,
// is told the share that is done.
func New(ctx context.Context, e Engine, m Material, progress func(float64)) (*Lesson, error) {
	tell := func(done float64) {
		if progress != nil {
			progress(done)
		}
	}
	k, err := prepare(e, m)
	if err != nil {
		return nil, err
	}
	if err := k.readRight(ctx); err != nil {
		return nil, err
	}
	tell(0.15)
	stations, err := k.rightWay()
	if err != nil {
		return nil, err
	}
	tell(0.25)
	mistakes, cannot, err := k.mistakes(ctx, func(done float64) { tell(0.25 + 0.75*done) })
	if err != nil {
		return nil, err
	}
	l := &Lesson{Picture: m.Picture, Paper: k.plan.Paper.Name(), Right: k.Right, Plan: k.plan,
		Title: "Why prints go wrong: " + m.Picture + " on " + k.plan.Paper.Name(), Cautions: k.cautions()}
	for _, p := range k.Pins {
		l.Pins = append(l.Pins, p.Name)
	}
	l.Steps = append(stations, mistakes...)
	if len(cannot) > 0 {
		l.Steps = append(l.Steps, k.step(Step{Kind: Cannot, Title: "What can’t go wrong here", Lead: cannot, Place: "with this picture on this paper"}))
	}
	if len(mistakes) > 0 {
		l.Steps = append(l.Steps, k.summary(mistakes))
	}
	l.Five, err = k.five(ctx, l, cannot)
	return l, err
}

// prepare brings material in order and makes the right plan.
func prepare(e Engine, m Material) (*maker, error) {
	if len(m.Pins) == 0 {
		return nil, ErrNoPins
	}
	if m.Right.Paper == "" {
		return nil, &proof.PlanError{Reason: "the lesson needs a paper"}
	}
	m.Pins = leading(m.Pins, m.Lead)
	m.Right = m.Right.Right()
	m.Right.Dimmed, m.Right.CountWhite = false, false
	if m.Right.Dim >= 1 {
		m.Right.Dim = 0 // no mistake in the person's own room: the usual one shows it
	}
	k := &maker{Material: m, e: e}
	var err error
	if k.plan, err = m.Right.Plan(m.Find); err != nil {
		return nil, err
	}
	if k.distinct, err = setup.Distinct(e, m.Find, m.Right.Source, m.Spaces); err != nil {
		return nil, err
	}
	k.choices, err = setup.AtHand(m.Right, m.Find, m.Papers, k.distinct[:min(len(k.distinct), 1)])
	return k, err
}

// leading returns the pins with one of them first.
func leading(pins []pin.Pin, lead int) []pin.Pin {
	if lead <= 0 || lead >= len(pins) {
		return pins
	}
	return slices.Insert(slices.Delete(slices.Clone(pins), lead, lead+1), 0, pins[lead])
}

// step completes a step that shows the right way.
func (k *maker) step(s Step) Step {
	s.Setup, s.Plan, s.Route, s.At, s.Dim = k.Right, k.plan, k.plan.Route(), -1, 1
	return s
}

// what is the pin that the lesson speaks of, in a sentence.
func (k *maker) what() string { return words.The(k.Pins[0].Name) }

func (k *maker) cautions() []string {
	out := []string{"A proof is only as good as the screen’s calibration and the light the print is judged in; it is no contract. " +
		"Mistakes are simulated by the paper’s profile: a print gone wrong can look somewhat different."}
	if k.ScreenAssumed {
		out = append(out, "No profile of the screen is known, so "+k.plan.Screen.Name()+" is assumed: on a screen of wider gamut all these colours are wrong.")
	}
	if k.SourceAssumed {
		out = append(out, "The picture’s file does not say what its numbers mean: "+k.plan.Source.Name()+" is assumed.")
	}
	return out
}
