package proof

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"

	"firstsheet/proof/cie"
	"firstsheet/proof/raster"
)

// Value is all that the engine says about one colour.
type Value struct {
	// Original is the colour of the picture's numbers: D50 Lab, relative to the
	// source's white, unclamped. It depends on the source alone.
	Original cie.Lab
	// Device are the numbers that the printer gets, 0 to 1 a channel. Empty for the
	// original itself.
	Device []float64
	// Relative is the look of the print relative to the paper's white, D50 Lab.
	Relative cie.Lab
	// Look is the look that is shown: Relative, or the absolute one when the plan
	// shows the paper's white.
	Look cie.Lab
	// Screen is what the screen is told, 0 to 1, clipped and not rounded.
	Screen [3]float64
	// Counted is the look that differences are told for: Relative, or the absolute one
	// when the plan counts the paper's white.
	Counted cie.Lab
	// DeltaE00 is the difference between Original and Counted.
	DeltaE00 float64
	// Reach is how far Original lies outside the paper's reach: its ΔE00 after
	// going into the paper's numbers and back, colorimetrically. It is more than the
	// least ΔE00 to any printable colour, on the demo papers by 3 to 4 % in the median
	// and 27 to 39 % at the 95th percentile. 0 without a paper.
	Reach float64
	// Darker says that Original is darker than the paper's black as the proof shows it:
	// than what Lab 0, 0, 0 is printed with, relative to the paper's white.
	Darker bool
}

// Chain runs a plan in floating point, every link a transform of its own, nothing
// sampled. It may be used from several goroutines at once. Close it after use:
// others who have the chain of the same plan keep theirs.
type Chain struct {
	*core
	closed atomic.Bool
}

// ErrClosed is returned for work that is asked of a closed chain.
var ErrClosed = errors.New("proof: the chain is closed")

// Close lets go of the chain. Its memory is released when nobody else has the chain
// of this plan and no call is still going on. Closing again does nothing.
func (c *Chain) Close() {
	if c.closed.CompareAndSwap(false, true) {
		c.release()
	}
}

// begin tells how many colours the numbers of src are, and keeps the chain's memory until
// end is called, whoever closes it meanwhile.
func (c *Chain) begin(src []float64) (n int, end func(), err error) {
	if !c.hold() {
		return 0, nil, ErrClosed
	}
	if c.closed.Load() {
		c.release()
		return 0, nil, ErrClosed
	}
	channels := c.plan.Source.Channels()
	if len(src)%channels != 0 {
		c.release()
		return 0, nil, &PlanError{fmt.Sprintf("%d numbers are no whole colours of %s, which has %d channels", len(src), c.plan.Source.Name(), channels)}
	}
	return len(src) / channels, c.release, nil
}

// ScreenBlack returns the L* of the screen's black when it is light enough that
// all sheets are scaled to it, else 0.
func (c *Chain) ScreenBlack() float64 {
	return cie.XYZ{X: c.screenBlack, Y: c.screenBlack, Z: c.screenBlack}.ToLab(cie.XYZ{X: 1, Y: 1, Z: 1}).L
}

// PaperBlack returns the absolute Lab of the black of the paper that the reach is told
// for; its L* is minus infinity without a paper. [Value] tells what is darker by the relative
// one.
func (c *Chain) PaperBlack() cie.Lab { return c.paperBlack }

// Values computes len(dst) colours. src are their interleaved source numbers, 0 to
// 1 a channel; fractions of a byte and numbers outside 0 to 1 are allowed where
// the profile allows them. It fails with [ErrClosed], and with a *[PlanError] where
// src is not one colour of the source's channels for each of dst, and with a
// *[ProfileError] where a profile gives numbers that are not finite.
func (c *Chain) Values(dst []Value, src []float64) error {
	n, end, err := c.begin(src)
	if err != nil {
		return err
	}
	defer end()
	if n != len(dst) {
		return &PlanError{fmt.Sprintf("%d colours of %s are asked for of numbers for %d", len(dst), c.plan.Source.Name(), n)}
	}
	return c.values(dst, src)
}

// Picture computes the colours of a picture row by row from the top and has do take each row,
// which lends it: a picture of values is a hundred times as large as its numbers. The
// error is the context's, or one of [Chain.Values].
func (c *Chain) Picture(ctx context.Context, px raster.Pixels, do func(y int, row []Value)) error {
	row := make([]Value, px.W)
	src := make([]float64, 0, px.W*px.Channels)
	for y := range px.H {
		if err := ctx.Err(); err != nil {
			return err
		}
		src = src[:0]
		for x := range px.W {
			src = px.At(src, x, y)
		}
		if err := c.Values(row, src); err != nil {
			return err
		}
		do(y, row)
	}
	return nil
}

// Value computes one colour that the program itself names. It panics when the chain is
// closed and when src is not one colour; where a profile gives numbers that are not
// finite it returns the zero Value.
func (c *Chain) Value(src []float64) Value {
	var v [1]Value
	if err := c.Values(v[:], src); errors.Is(err, ErrClosed) || errors.Is(err, ErrPlan) {
		panic(err)
	}
	return v[0]
}
