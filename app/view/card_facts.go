package view

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
)

// factsCard tells what the chosen paper is.
func factsCard() Card {
	return Card{ID: "facts", Name: "What this paper is", Key: "Q", Menu: session.MenuRoute,
		Help: "question the paper: its white, black, gamut, tables and what is noted of it",
		Build: func(h *Host) Built {
			body := container.NewVBox()
			var shown session.Paper
			update := func(now session.State) {
				sh, _ := now.Proof()
				p, ok := h.Session.Store().Paper(sh.Paper)
				if !ok || p.ID == shown.ID && p.Studied == shown.Studied && len(body.Objects) > 0 {
					return
				}
				shown = p
				body.RemoveAll()
				body.Add(paperHead(p))
				if !p.Studied {
					body.Add(widget.NewText("It is being studied …", toolkittheme.SizeNameText, theme.ColorQuiet, false))
				}
				for _, f := range p.Facts {
					body.Add(factLine(f[0], f[1]))
				}
			}
			update(h.State())
			return Built{Content: container.NewVScroll(body), Update: update}
		}}
}

// paperHead shows a paper's name on its own white, with its own black.
func paperHead(p session.Paper) fyne.CanvasObject {
	ground := canvas.NewRectangle(p.WhiteSeen)
	ink := canvas.NewRectangle(p.BlackSeen)
	name := canvas.NewText(p.Name, color.Color(p.BlackSeen))
	name.TextSize, name.TextStyle.Bold = 30, true
	return container.New(freeLayout{fyne.NewSize(300, 96), func(s fyne.Size) {
		set(ground, 0, 0, min(s.Width, 560), 84)
		set(ink, 20, 20, 44, 44)
		set(name, 84, (84-name.MinSize().Height)/2, 400, name.MinSize().Height)
	}}, ground, ink, name)
}

const factColumn = 170

func factLine(name, value string) fyne.CanvasObject {
	k := widget.NewText(name, toolkittheme.SizeNameText, theme.ColorQuiet, false)
	v := widget.NewProse(value, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 6)
	return container.New(&lineLayout{column: factColumn}, k, v)
}
