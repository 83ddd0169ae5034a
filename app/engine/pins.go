package engine

import (
	"context"
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// Values implements session.Engine: every pixel of a pin passes the exact chain, then
// the results are averaged.
func (e *Engine) Values(ctx context.Context, pic *session.Picture, set setup.Setup, pins []pin.Pin) ([]session.PinValue, error) {
	sheet, err := e.read(ctx, pic, set, pins)
	if err != nil {
		return nil, err
	}
	original, err := e.read(ctx, pic, set.Original(), pins)
	if err != nil {
		return nil, err
	}
	var right []pin.Value
	if set.Slips != "" {
		if right, err = e.read(ctx, pic, set.Right(), pins); err != nil {
			return nil, err
		}
	}
	out := make([]session.PinValue, len(pins))
	for i, v := range sheet {
		out[i] = session.PinValue{Value: v, Known: true, OnScreen: original[i].Screen, Words: words.Compare(v.Original, v.Counted).Sentence()}
		if right != nil {
			out[i].Slipped, out[i].Right = true, right[i].Counted
		}
		if set.Paper == "" {
			out[i].Words = words.Name(v.Original)
		}
	}
	return out, nil
}

// read reads pins through the exact chain of a set-up.
func (e *Engine) read(ctx context.Context, pic *session.Picture, set setup.Setup, pins []pin.Pin) ([]pin.Value, error) {
	c, err := e.chain(pic, set)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	out := make([]pin.Value, len(pins))
	for i, p := range pins {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if out[i], _, err = pin.Read(c, pic.Levels[0], p); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Sentence implements session.Engine.
func (e *Engine) Sentence(pic *session.Picture, set setup.Setup, pins []pin.Pin, values []session.PinValue, chosen int, fig *proof.Figures) (string, int) {
	if set.Paper == "" {
		return "", -1
	}
	plan, err := e.Plan(pic, set)
	if err != nil {
		return "", -1 // the route tells why
	}
	if set.Slips != "" {
		if text, spoken, ok := slipSentence(plan, pins, values, chosen); ok {
			return text, spoken
		}
	}
	name := plan.Paper.Name()
	if chosen < 0 || chosen >= len(values) {
		chosen = lead(values, func(v session.PinValue) float64 { return v.DeltaE00 })
	}
	if chosen >= 0 && values[chosen].Known {
		c := words.Compare(values[chosen].Original, values[chosen].Counted)
		return session.Sentence(c.OnSheet(name, pins[chosen].Name)), chosen
	}
	if fig == nil {
		return "", -1
	}
	share := func(v float64) string {
		if v == 0 {
			return "nothing"
		}
		if v < 0.01 {
			return "less than 1 %"
		}
		return fmt.Sprintf("%.0f %%", v*100)
	}
	return fmt.Sprintf("On %s, %s of this picture is out of reach and %s is darker than the paper’s black.", name, share(fig.Outside(2)), share(fig.Darker)), -1
}

// lead returns the pin that a sheet's sentence speaks of: the first one, which is
// put where it matters most, unless it hardly changes; then the one that changes
// most. -1 where nothing is known.
func lead(values []session.PinValue, change func(session.PinValue) float64) int {
	chosen, most := -1, 0.0
	for i, v := range values {
		if !v.Known {
			continue
		}
		d := change(v)
		if i == 0 && d >= 1 {
			return 0
		}
		if d > most {
			most, chosen = d, i
		}
	}
	return chosen
}

// slipSentence tells what a slip itself does to the chosen pin, or to the leading one:
// it is compared with the proof as it should be, for what the paper can't reach is
// none of the slip's making. ok is false where no pin is known or nothing is told wrong.
func slipSentence(plan proof.Plan, pins []pin.Pin, values []session.PinValue, chosen int) (text string, spoken int, ok bool) {
	plan.Dim = 0 // the room changes no figure, so it is no reason of one
	reason := slip.Reason(plan)
	if reason == "" {
		return "", -1, false
	}
	own := func(v session.PinValue) words.Change { return words.Compare(v.Right, v.Counted) }
	if chosen < 0 || chosen >= len(values) {
		chosen = lead(values, func(v session.PinValue) float64 { return own(v).DeltaE00 })
	}
	if chosen < 0 || !values[chosen].Slipped {
		return "", -1, false
	}
	c := own(values[chosen])
	told := c.Because(pins[chosen].Name, reason)
	if c.Same() {
		return session.Sentence(told), chosen, true
	}
	if rest, cut := strings.CutPrefix(told, "This "); cut {
		told = "this " + rest
	}
	return session.Sentence("beside the right proof " + told), chosen, true
}
