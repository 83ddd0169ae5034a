package paper

import "firstsheet/proof"

// Paper is a printer/paper profile with what is known of the paper.
type Paper struct {
	// ID names the paper on a command line and in files: lower-case letters,
	// digits, hyphens, underscores and dots.
	ID string
	// Name is what people read. In a list no two papers have one name.
	Name string
	// Profile is called by Name.
	Profile *proof.Profile
	// Builtin papers come with the program.
	Builtin bool
	// Path is the file of the profile, "" for a built-in one.
	Path string
	Card Card
	// Settings are the same paper printed under a wrong media setting of the
	// driver. Only papers with an ink model have some.
	Settings []Setting
}

// Setting is a paper under one media setting of the driver.
type Setting struct {
	ID, Name string
	// Profile tells the look of what was separated for the right setting and
	// printed under this one.
	Profile *proof.Profile
}

// Setting returns the paper's setting of that ID, or its first for "", and whether
// there is one.
func (p Paper) Setting(id string) (Setting, bool) {
	for _, s := range p.Settings {
		if id == "" || s.ID == id {
			return s, true
		}
	}
	return Setting{}, false
}
