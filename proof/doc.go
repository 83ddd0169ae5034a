// Package proof is the engine of Firstsheet: numbers of a picture in, the look of
// the print and its figures out. It knows nothing of windows.
//
// A [Plan] says everything about one rendering, as plain data: what the numbers
// are, which conversions they pass, on which paper they land and on which screen
// that is shown. An [Engine] runs it, in one of two ways:
//
//	numbers ──▶ conversions ──▶ paper's numbers ──▶ look in Lab ──▶ screen
//	   │                                               │
//	   └──▶ original in Lab ───────── ΔE00 ────────────┘
//
//	Chain  every link in floating point: pins, values, figures of single colours
//	Grid   the whole chain sampled once, then read for each pixel: pictures
//
// Every link is a two-profile transform of its own. The engine cannot tell a right
// plan from a wrong one; package slip makes the wrong ones.
package proof
