// Package paper knows the papers: those that come with the program, those a person
// has added as ICC profiles, what a profile says of itself (ICC.1:2022 and
// ICC.1:2001-04) and what a person has noted about it, and says both in plain words.
//
// It computes no picture. Profiles are files from anywhere, so everything is
// checked for size and kind before it is kept; one broken file in the folder never
// hides the others.
//
// The library is one folder:
//
//	NAME.icc                    a profile; NAME is the paper's ID
//	NAME.icc.card.json          its [Card]
//	NAME.icc.readings/*.json    its [Reading]s, each a file of its own
//	NAME.icc.readings.json      readings as they were kept before, read still
//	ID.builtin.card.json, …     the same of a built-in paper
//	order.json                  the person's own order: a JSON array of IDs
//	removed/STAMP NAME.icc/     a paper that was taken away, for 30 days
//
// Every file is complete or absent, and several programs may use one folder.
package paper
