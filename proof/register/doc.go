// Package register lays a photograph or scan of a print onto the picture that it was
// printed from.
//
//	Small, Gray       pictures small enough to be compared, as lightness
//	Outline           where the sheet lies in the photograph
//	Align             the map from the original's pixels to the photograph's
//	Homography        that map
//
// The print's colours are what is in question, so nothing here rests on them: what is
// compared is how a place differs from its surroundings, and the map is improved by
// raising the correlation of that (Lucas and Kanade 1981, with the enhanced
// correlation coefficient of Evangelidis and Psarakis 2008). The correlation that is
// reached says whether it is the same picture at all.
//
// Left out on purpose: lenses that bend straight lines, bent sheets, finding a print
// among many, and anything learnt.
package register
