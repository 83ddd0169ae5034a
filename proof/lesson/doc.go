// Package lesson holds what a workshop lesson says: a picture's way to a print
// station by station, then each mistake that can be made with this picture on
// this paper, then what all of them do side by side. [Five] tells the same shortly,
// in five pages about one mistake. It is pure data: how it is shown, and on what, is
// the window's business; the handout takes it from here.
//
// Every number is computed by the exact chain of the engine and every sentence
// from such numbers. General advice (how to recognise and prevent a mistake) comes
// from package slip.
//
// Of a mistake the print gone wrong is compared with the print as it should be,
// not with the original: so what is told is what the mistake does, and not also
// what the paper does.
package lesson
