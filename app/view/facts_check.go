package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof/trust"
)

// check has the paper's profile checked and shows what comes of it.
func (p *paperLeaf) check(in *fyne.Container) {
	q := p.paper
	key := q.Profile.ID() + " " + q.Name
	if r, ok := p.checked[key]; ok {
		p.checking.drop()
		in.Objects = checkShown(r)
		return
	}
	in.Objects = []fyne.CanvasObject{heading("Can it be trusted?"), layout.Prose("The profile is being checked …"), heading("What it is")}
	p.checking.start(func(j job) func() {
		r, err := trust.Check(j, q.Profile, q.Name)
		return func() {
			if err != nil {
				in.Objects = []fyne.CanvasObject{heading("Can it be trusted?"), layout.Prose("It can’t be checked. " + paperTold(err)), heading("What it is")}
			} else {
				p.checked[key] = r
				in.Objects = checkShown(r)
			}
			p.left.Again()
		}
	})
}

// The columns of a check: the verdict's word, and the name of what was looked at.
const (
	verdictColumn = 88
	checkColumn   = 160
)

// checkShown is a check of a profile, a line for each finding; what a check means is
// said where it finds something.
func checkShown(r trust.Report) []fyne.CanvasObject {
	objs := []fyne.CanvasObject{heading("Can it be trusted?"), strong(r.Sentence)}
	for _, f := range r.Findings {
		bad := f.Verdict != trust.Sound
		ink := theme.ColorQuiet
		text := container.New(&layout.Flow{}, layout.Prose(f.Words))
		if bad {
			ink = toolkittheme.ColorNameForeground
			text.Add(layout.Caption(f.Means))
		}
		verdict := widget.NewText(f.Verdict.String(), toolkittheme.SizeNameText, ink, bad)
		name := widget.NewText(f.Name, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, bad)
		line := container.New(layout.Labelled{Column: checkColumn, Top: true}, name, text)
		objs = append(objs, container.New(layout.Labelled{Column: verdictColumn, Top: true}, verdict, line))
	}
	return append(objs, layout.Caption("The check looks at the profile alone. Whether the printer still prints as it says, only a measured page can tell: ‘Verify its profile…’."), heading("What it is"))
}
