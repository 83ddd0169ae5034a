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
// can happen together, and every mishap that package mishap knows of the paper: an ink
// that is clogged or missing, a print judged in the wrong light. Each predicts colours
// through the exact chain.
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
// [UsualPrior] and nothing learnt: a part for the right route, one for each slip, less
// for inks and lights, pairs of slips being rarer than any one. It can be changed, and
// the answer says what was held for likely.
//
// # What was reached
//
// On 1,200 simulated bad prints (four ink-jet and three press papers, real photographs,
// slips and pairs of slips by the prior, 12 pins, Gaussian noise of 1 and 3 in each of
// L*, a* and b*), made step by step with the reference utility of Little CMS and so
// independently of the engine's own slips:
//
//	the nearest rival at least 4 spreads away   first in 177 of 177
//	a nearer rival                              in the tie set in 1,022 of 1,023
//	nothing happened, or nothing that shows     first in 262 of 269
//	all                                         first in 95.6 %, by the exact posterior in 96.3 %
//	stated 0.53, 0.70, 0.99                     came true in 0.47, 0.64, 0.99
//
// On 100 simulated photographs of such prints (slant, up to a quarter less light on one
// side, 15 % of white balance error, noise, JPEG; the corners found, not told): first in
// 92, in the tie set in 99. Real cameras have tone curves and lenses of their own.
//
// The suite runs a small part of both; all of it runs with
//
//	CAUSE_PRINTS=1200 go test -run SimulatedPrints -v -timeout 2h ./proof/cause
//	CAUSE_PHOTOS=100 go test -run SimulatedPhotographs -v -timeout 2h ./proof/cause
//
// Left out on purpose: causes that no colour tells (paper loaded wrong side up,
// head strikes, banding), and more than two slips at once.
package cause
