package proof

import (
	"context"
	"runtime"
	"slices"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
)

// A fine grid of three numbers is finer still where its plan bends: such a cell is
// read from a patch of its own. Far outside a paper's reach the nearest printable
// colour can change within a step or two of the picture's numbers (from black to a
// lighter blue, say), and no regular grid that fills in time follows that: 65 nodes
// an axis alone were off by up to ΔE00 3.8 at the 99.9th percentile.
const (
	patchLane = 48 // the fourth lane of a node names its cell's patch, from 1; 0 is none
	// A patch has patchSteps cells along an edge, a steep one steepSteps.
	patchSteps, steepSteps = 3, 6
	// maxPatchNodes bounds the time and the room that one grid takes: 25 MB. The worst
	// bent cells come first. The demo papers take 0.1 to 3 million nodes.
	maxPatchNodes = 12 << 18
