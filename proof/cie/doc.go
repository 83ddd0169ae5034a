// Package cie holds the colorimetry the engine rests on: tristimulus values,
// CIELAB and its cylindrical form, chromatic adaptation and colour differences.
//
// It follows CIE 15 (tristimulus values, CIELAB), ISO/CIE 11664-6 (CIEDE2000)
// and ICC.1 (the D50 white of the profile connection space). It is pure
// arithmetic on the standard library: no files, no profiles, no rounding. Colour
// appearance models and spectra are deliberately left out; the ink model keeps
// its own observer.
//
// Scales used throughout the project:
//
//	XYZ   Y of the reference white is 1
//	L*    0 to 100, unclamped
//	a* b* unscaled
//	hue   degrees, 0 up to but not including 360, counted from +a* to +b*
package cie
