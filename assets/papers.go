// Package assets holds what the program brings along: demo papers, the demo
// picture, its icon, signs that the toolkit's fonts lack; manual and licences are packages
// below it. SOURCES.md says where each comes from.
package assets

import (
	"embed"

	"firstsheet/proof/press"
	"firstsheet/proof/press/papers"
)

//go:generate go run firstsheet/proof/press/makepapers -out papers

//go:embed papers/*.icc
var paperFiles embed.FS

// Paper is a demo paper: an invented stock on an invented printer, computed by the
// ink model. The profiles are ICC version 2.4, RGB, and must not be changed.
type Paper struct {
	// ID is short and lower case; Name is what a person reads.
	ID, Name string
	ICC      []byte
	// Wrong are the same stock printed under settings that belong to other stock.
	Wrong []WrongSetting
	Card  PaperCard
}

// WrongSetting is a stock as it looks when the driver stands on another stock's
// media setting. Its profile is for looking only: what the numbers, separated by
// the stock's right profile, come out as.
type WrongSetting struct {
	// ID is the setting's; Name what the driver's list shows.
	ID, Name string
	ICC      []byte
	// Black is the black ink that the setting uses, "photo black" or "matte black".
	Black string
}

// PaperCard is what is known of a demo paper beside its profile.
type PaperCard struct {
	Mill, Printer string
	// Finish is "matte", "pearl" or "gloss"; Notes say in a sentence what it is.
	Finish, Notes string
	// Setting is the driver's media setting that the profile was made for, Black
	// the black ink that it uses.
	Setting, Black string
	// Condition is the measuring condition, such as "M1".
	Condition string
	// DryHours is how long a print is to dry before it is judged.
	DryHours int
}

// Papers returns the demo papers.
func Papers() []Paper {
	var all []Paper
	for _, s := range press.Stocks() {
		p := Paper{
			ID: s.ID, Name: s.Name, ICC: paperFile(s, s.Right),
			Card: PaperCard{
				Mill: press.Mill, Printer: press.Printer, Finish: s.Finish.String(), Notes: s.Notes,
				Setting: s.Right.Name, Black: s.Right.Black.String(), Condition: press.Condition, DryHours: s.DryHours,
			},
		}
		for _, w := range s.Wrong {
			p.Wrong = append(p.Wrong, WrongSetting{ID: w.ID, Name: w.Name, ICC: paperFile(s, w), Black: w.Black.String()})
		}
		all = append(all, p)
	}
	return all
}

func paperFile(s press.Stock, w press.Setting) []byte {
	b, err := paperFiles.ReadFile("papers/" + papers.File(s, w))
	if err != nil {
		panic("assets: " + err.Error()) // only if the file was left out of the build
	}
	return b
}
