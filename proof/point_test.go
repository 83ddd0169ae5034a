package proof

import (
	"testing"

	"firstsheet/proof/kernel"
)

// Nodes and points tell each other, halves have places in order, and each node of a patch of
// two steps lies in the middle of its ends.
func TestPoints(t *testing.T) {
	for channels := 1; channels <= 4; channels++ {
		l := kernel.NewLattice(channels, 9)
		h := halvesOf(l)
		for node := range l.Total {
			p := pointOf(l, node)
			if at, is := nodeAt(l, p); !is || at != node {
				t.Fatalf("%d channels: node %d is at a point of node %d, %t", channels, node, at, is)
			}
			if _, is := nodeAt(l, p+1); is {
				t.Fatalf("%d channels: beside node %d is one", channels, node)
			}
		}
		last := -1
		patch := patchPoints(channels, 1)
		cell, _ := h.place(pointOf(l, 1))
		for i, p := range patch {
			place, is := h.place(p)
			if !is || place <= last {
				t.Fatalf("%d channels: node %d of a patch has place %d, %t, after %d", channels, i, place, is, last)
			}
			last = place
			if sum, _ := h.place(pointOf(l, 1) + p); sum != cell+place {
				t.Fatalf("%d channels: place %d of a sum, want %d", channels, sum, cell+place)
			}
		}
		for shift := 1; shift < kernel.Shifts; shift++ {
			fine, coarse := patchPoints(channels, shift), patchPoints(channels, shift-1)
			for i, e := range patchEnds(channels, shift) {
				if a, b := coarse[e[0]], coarse[e[1]]; a+b != 2*fine[i] {
					t.Errorf("%d channels: node %d lies between %x and %x, not in their middle", channels, i, a, b)
				}
			}
			for k, part := range patchParts(channels, shift) {
				for i, p := range patchPoints(channels, shift-1) {
					if got, want := fine[part[i]]-fine[part[0]], p/2; got != want {
						t.Errorf("%d channels: node %d of part %d is at %x, want %x", channels, i, k, got, want)
					}
				}
			}
		}
		if _, is := h.place(1); is {
			t.Errorf("%d channels: a point of the largest patches counts as half way", channels)
		}
		if end, _ := h.place(pointOf(l, l.Total-1)); end != h.total()-1 {
			t.Errorf("%d channels: the last place is %d of %d", channels, end, h.total())
		}
	}
}
