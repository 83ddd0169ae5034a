// Package profile builds ICC output profiles, version 2.4 and 4.3, from a forward
// model of a printer: any function from RGB or CMYK numbers to the colour on the
// paper, whether an ink model or a fit to measurements.
//
// It follows ICC.1:2001-04 and ICC.1:2010. The tables to Lab hold the model at
// the nodes of a grid, relative to the paper's white. The tables from Lab are
// found by descent on the forward table as a colour engine will interpolate it:
//
//	colorimetric  inside the gamut exact; outside least CIEDE2000 with kH = 0.5 and
//	              the hue taken in IPT, for the table as a whole: neighbours stay
//	              neighbours, and light stays above dark (see evenOut)
//	perceptual    the source's black on the paper's by the straight-line map of
//	              black point compensation, then chroma squeezed smoothly towards
//	              the gamut's surface; hue kept in IPT
//	saturation    the same with a later knee and more chroma inside
//
// What these two ask for and the printer cannot reach after all (the gamut is hollow
// below blue) is evened out like the colorimetric table.
//
// What was tried for colours outside: the nearest colour node by node tears beside
// a hollow of the gamut (steps eight times the asked ones in dark blues); with ties
// between neighbours alone the two sides met halfway in a muddy grey; following the
// nearest colour out from a middle grey finds the side that every picture comes
// from, and is nearer on average too.
//
// Decisions that a reader of the files should know:
//
//   - Version 2 shares one table to Lab among all intents, and its perceptual
//     source black is L* 0: a colour engine then finds no black to compensate.
//   - Version 4 perceptual and saturation tables refer to the perceptual reference
//     medium, black L* 3.14, both ways.
//   - Grids from Lab lie closer around neutral, by curves in front of them. White
//     and the neutral axis lie on nodes; white is bare paper to the last bit.
//   - Those grids hold device numbers from -1/8 to 9/8, cut off by curves behind
//     them, so that cells which the gamut's surface passes through are right on
//     its inner side. RGB only.
//
// Spot inks, more than four channels, grey balance by a curve set and device links
// are deliberately left out.
package profile
