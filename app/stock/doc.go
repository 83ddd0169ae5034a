// Package stock does the work behind the cards that know, make and judge papers:
// it writes charts to print, reads what was measured of them, and says in plain
// words what a profile is, how good a new one is and how far an old one has
// drifted. It draws nothing.
package stock
