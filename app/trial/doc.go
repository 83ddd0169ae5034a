// Package trial makes test strips: the surroundings of a picture's pins at print
// size, printed by several intents and with several mistakes, on one offcut of one
// paper.
//
// What is written are the printer's own numbers, by the exact chain and at 16 bits,
// so that pieces of different intents can lie on one strip. It must be printed with
// all conversion off; the text file beside it says so.
package trial
