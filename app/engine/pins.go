package engine

import (
	"context"

	"firstsheet/app/session"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
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
	if set.Wrong() {
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
