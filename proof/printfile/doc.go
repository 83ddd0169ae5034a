// Package printfile makes the file that is printed from a picture: its place on the
// sheet, its pixels at print size, sharpened for the paper, in the paper's own
// numbers or tagged for the next program to convert.
//
//	numbers ─▶ linear light ─▶ print size ─▶ sharpened ─▶ numbers ─▶ exact chain ─▶ 8 or 16 bits ─▶ file
//
// A [Job] holds every choice as plain data. [Lay] tells where a picture of some size
// comes to lie, without its pixels. [Prepare] joins job, picture and engine to a
// [Print], which shows any part at print size, tells its route and warnings, and
// writes the file band by band: the print never lies in memory as a whole.
//
// Colours pass the engine's exact chain, pixel by pixel; no sampled grid is
// involved, so the file's error is that of rounding to its bits.
//
// Left out on purpose: driving a printer, colour handling in the driver, and
// several pictures on one sheet.
package printfile
