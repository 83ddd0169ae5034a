// Package chart makes printable colour charts, reads their measurements back
// and turns them into a forward model and an ICC profile of the paper, and
// checks later whether the paper still prints as its profile says.
//
//	NewTarget -> Target.Write      pages to print, list for the instrument
//	Read, ReadAgainst              measured values, device 0..1 and Lab D50
//	Fit                            smooth model, suspicious patches named
//	Build                          ICC profile and report
//	NewVerifyTarget, Verify        drift since the profile was made
//
// Measurement files are keyword text as CGATS.17 and ISO 28178 define it, with
// the habits of real files: undeclared keywords, several tables, device values
// counted to 1, 100 or 255. Lab is always CIELAB under D50, absolute (the paper
// is not scaled to 100), CIE 1931 2 degree observer.
//
// Left out on purpose: driving an instrument, XML exchange formats, and device
// spaces other than RGB and CMYK.
package chart
