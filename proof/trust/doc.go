// Package trust checks a paper's profile by itself: whether it is what it says, whether
// its tables lead there and back, keep greys grey and steps even, and whether white,
// black and ink are what paper and printer can have. Each finding has a verdict, a
// sentence and its figures.
//
//	profile ──▶ Check ──▶ Report{Verdict, Sentence, Findings}
//
// All colours are CIELAB under D50 and differences CIEDE2000. The limits are our own,
// set beside the built-in papers and makers' profiles of offset printing, with whose
// figures a test holds them; no standard says what a good profile is. What only a print
// can tell is left out: whether the printer still prints as the profile says.
package trust
