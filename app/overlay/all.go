package overlay

// All lists the overlays in the order in which they are drawn. To add one, write a file
// with a function that returns it and add that function here: its switch, key, help and
// menu item come of themselves.
func All() []Overlay {
	return []Overlay{difference(), greyed(), reachBands(), darker()}
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

// Set says which overlays are switched on.
type Set uint32

// Usual returns the set of a first start.
func Usual() Set {
	var s Set
	for _, o := range All() {
		s = s.With(o.ID, o.Usual)
	}
	return s
}

// Has tells whether an overlay is switched on.
func (s Set) Has(id string) bool { return s&bit(id) != 0 }

// Of returns the set of overlays with those IDs; unknown ones are left out.
func Of(ids ...string) Set {
	var s Set
	for _, id := range ids {
		s = s.With(id, true)
	}
	return s
}

// IDs returns the IDs of the overlays that are switched on.
func (s Set) IDs() []string {
	ids := []string{}
	for _, o := range All() {
		if s.Has(o.ID) {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// With returns the set with an overlay switched on or off.
func (s Set) With(id string, on bool) Set {
	if on {
		return s | bit(id)
	}
	return s &^ bit(id)
}

func bit(id string) Set {
	for i, o := range All() {
		if o.ID == id {
			return 1 << i
		}
	}
	return 0
}

// Switched lists the overlays that have a switch, those that others go with first.
func Switched() []Overlay {
	var first, with []Overlay
	for _, o := range All() {
		switch {
		case o.Switch == "":
		case o.With == "":
			first = append(first, o)
		default:
			with = append(with, o)
		}
	}
	return append(first, with...)
}

// Drawn lists what is drawn over a sheet of a kind.
func (s Set) Drawn(over Over) []Overlay {
	on := func(o Overlay) bool { return o.Switch == "" || s.Has(o.ID) }
	var out []Overlay
	for _, o := range All() {
		if o.Over != over || !on(o) {
			continue
		}
		if with, ok := ByID(o.With); ok && !on(with) {
			continue
		}
		out = append(out, o)
	}
	return out
}
