// Package teststrip makes test strips: the surroundings of a picture's pins at print
// size, printed by several intents and with several mistakes, on one offcut of one
// paper, with labels and cut marks.
//
//	Ways -> Order -> Lay     the pieces in their places, or what would fit
//	              -> Write   the print file, and a text beside it
//
// What is written are the printer's own numbers, by the exact chain and at 16 bits,
// so that pieces of different intents can lie on one strip. It must be printed with
// all conversion off, or each piece is converted once more; the text file beside it
// says so.
package teststrip
