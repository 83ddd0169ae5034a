// Package words turns colour figures into plain English: what a colour is
// called, how a print of it differs, and what a wrong route took for what.
//
// A sentence here is computed from the two colours it speaks of and says nothing
// that the figures do not: a component of the difference (hue, chroma,
// lightness) is named when its weighted CIEDE2000 term is at least 1, hue only
// where both colours have a chroma of at least 8, and then in degrees of CIELAB
// hue with the direction named by the neighbouring hue. All colours are CIELAB
// under D50 as in package cie.
//
// Hue names follow the ISCC-NBS system (Kelly and Judd, Color: Universal
// Language and Dictionary of Names, NBS Special Publication 440, 1976), which
// gives each name a range of Munsell hue, value and chroma; the Munsell hues are
// placed in CIELAB by the renotation of 1943 (Newhall, Nickerson and Judd, JOSA
// 33:385). The system's 267 designations are deliberately reduced to the
// words a photographer uses.
//
// Figures stand beside the words: [Figure], [Signed], [Lab] and [Triple] write them one
// way everywhere, [Number] reads one as people write it.
//
// English only. Every phrase is in phrases.go.
package words
