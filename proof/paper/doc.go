// Package paper knows the papers that a proof can lie on: printer/paper ICC
// profiles with what is known of the stock. Some come with the program, the person
// adds others, and both are listed by [Library.List].
//
// The library is one folder. Beside each profile lies what was noted of it; what a
// version of the program does not know, it leaves alone.
//
//	NAME.icc                    a profile; NAME is the paper's ID
//	NAME.icc.card.json          its [Card]
//	NAME.icc.readings/*.json    its [Reading]s, each a file of its own
//	NAME.icc.readings.json      readings as they were kept before, read still
//	ID.builtin.card.json, …     the same of a built-in paper
//	order.json                  the person's own order: a JSON array of IDs
//	removed/STAMP NAME.icc/     a paper that was taken away, for 30 days
//
// Every file is complete or absent, none is written to by two programs at once, and
// several programs may use one folder.
package paper
