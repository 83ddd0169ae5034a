package overlay

// All lists the overlays. To add one, write a file with a function that returns
// it and add that function here.
func All() []Overlay {
	return []Overlay{reachBands(), darker(), difference()}
}

// ByID returns the overlay with an ID, and whether there is one.
func ByID(id string) (Overlay, bool) {
	for _, o := range All() {
		if o.ID == id {
			return o, true
		}
	}
	return Overlay{}, false
}
