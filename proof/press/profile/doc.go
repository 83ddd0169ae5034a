// Package profile builds ICC output profiles from a forward model of a printer:
// any function from device numbers to the colour on the paper.
package profile
