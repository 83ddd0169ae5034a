// Package paper knows the papers: those that come with the program, those a person
// has added as ICC profiles, what a profile says of itself (ICC.1:2022 and
// ICC.1:2001-04) and what a person has noted about it, and says both in plain words.
//
// It computes no picture. Profiles are files from anywhere, so everything is
// checked for size and kind before it is kept; one broken file in the folder never
// hides the others.
package paper
