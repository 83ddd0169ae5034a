// Package press models ink on paper: an invented eight-ink printer, its driver
// and four invented stocks, spectrally, so that the demo papers behave like real
// ones and mistakes made on the way to them do what they do on a printer.
//
//	RGB numbers -> Driver.Separate -> eight ink amounts
//	            -> Reflectance     -> 36 bands, 380 to 730 nm
//	            -> XYZ, CIELAB     -> CIE 1931 2 degrees, D50, brightener as under M1
//
// The paper reflects, the inks absorb (Beer's law in density), the surface adds
// its own reflection and throws light back inside (Saunderson), dots are mixed by
// a Yule-Nielsen modified spectral Neugebauer model over all 256 overprints. The
// driver is calibrated per media setting on the stock that the setting belongs
// to; printing with another stock's setting therefore gives wrong tone, wrong
// greys and, with too much ink, blocked shadows, without any rule that says so.
// Screens with visible dots, bronzing, gloss differential, metamerism and ageing
// are deliberately left out.
//
// # Why colours turn the way they do
//
// Two things decide what RGB numbers look like when the meaning they had is lost:
// the primaries of the space they were made for and the response they meet.
// Because the driver is grey-balanced, equal numbers stay grey on the right
// setting; numbers made for sRGB and sent raw keep their hue within about 6
// degrees and lose chroma (a printer's full red is farther from its grey than a
// screen's: the same numbers reach less far).
//
// ROMM RGB is different. Its primaries lie outside of all real colours, so an
// ordinary colour has numbers close together, and its red and green axes are
// turned against sRGB's. Read as sRGB, or sent raw, the small differences that
// are left mean a duller colour, and the turn of the axes moves a red by 9 to 15
// degrees towards orange, leaves by 5 to 10 degrees towards yellow and skin by 9
// to 21 degrees towards yellow. The turn is there already without a printer (ROMM
// numbers read as sRGB: shirt red +9, leaf -5, skin +19 to +21); ink and paper
// add to it or take away, they do not make it.
//
// What was tried: with every ink's own ramp calibrated to even steps of ΔE*ab and
// the neutral left to fall as it may, greys came out blue and raw reds on pearl
// turned 4 degrees towards pink: dark reds got too little yellow, because the
// amounts that the black ink replaced did not match. Grey balance of the three
// inks together, which is what a maker calibrates, took that away for all stocks
// at once. No constant was fitted to a direction.
package press
