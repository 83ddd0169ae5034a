// Package check is the check sheet: a page of our own design with known values, to
// be printed when a print has gone wrong, judged by eye, scanned or measured.
//
//	Patches        the even fields, by groups
//	Draw           the sheet as a picture in a named space
//	Sheet.Table    values and places of the patches, as CGATS.17
//	ReadScan       the patches' colours off a scan or photograph of a print
//
// What cannot be given in values is drawn beside the patches: gradients that show
// bands, lines and wedges that show resolution, a small picture.
package check
