// Package cause finds why a print came out wrong: it ranks the set-ups that
// would have printed what was observed.
//
//	Case      how the print was meant to be made, and the papers in the house
//	Evidence  what the print looks like: measured pins, words, a photograph, the
//	          outcome of a step of the guided order
//	Find      -> Answer: ranked causes, what is tied, the next best check
//
// A hypothesis is a [setup.Setup] and nothing else, so a new slip or a new paper is
// a new hypothesis without an edit here: the right route, every slip of
// slip.All with every option that it declares to need, every pair of slips that
// can happen together. Beside them stand faults that are no set-up: an ink that is
// clogged or missing (for papers with an ink model), and a print judged under the
// wrong light. Each predicts colours through the exact chain.
//
// # The noise that is assumed
//
//   - Measured pins: Gaussian in each of L*, a* and b* with the standard deviation
//     that the person states, plus [ModelSpread] for what profile and rounding
//     are off by; one pin in 200 is a gross misreading.
//   - Matched by eye: the same with [EyeSpread].
//   - Words: a word is chosen with a probability that rises with the weighted
//     CIEDE2000 component that it names, half where the component is 1; one word in
//     25 is chosen for no reason.
//   - A photograph: Gaussian per region, after exposure, white balance and uneven
//     light, which are unknown with stated spreads, are integrated out.
//
// # The prior
//
// [UsualPrior] and nothing learnt: one part for the right route, the rest shared by
// single slips and faults alike, pairs of slips being rarer. It can be changed.
//
// # What was reached
//
// See [TestSimulatedPrints] in the tests, which makes bad prints step by step with
// the reference utility of Little CMS, independently of the engine's own slips. The
// suite runs a small part; all of it runs with
//
//	CAUSE_PRINTS=1200 go test -run TestSimulatedPrints -v ./proof/cause
//
// Left out on purpose: causes that no colour tells (paper loaded wrong side up,
// head strikes, banding), and more than two slips at once.
package cause
