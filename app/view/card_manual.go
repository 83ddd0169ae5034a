package view

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/assets/licences"
	"firstsheet/assets/manual"
)

// manualCard is the manual of the trade side, and the licences of what is built in.
func manualCard() Card {
	return Card{ID: "manual", Name: "Manual", Key: "F1", Menu: session.MenuHelp, Place: WholeWindow,
		Help:  "how to read a proof, what each slip is, how to measure a paper, light, limits and cautions; and the licences",
		Build: func(h *Host) Built { return newManualLeaf(h).built() }}
}

// manualLeaf is the open card: the pages' names to the left, one page to the right.
type manualLeaf struct {
	h       *Host
	pages   []manual.Page
	names   *widget.Contents
	page    *layout.Column
	content *fyne.Container
}

// manualWidth is the widest line: what is longer is hard to read.
const manualWidth = 720

const licencesTitle = "Licences of what is built in"

func newManualLeaf(h *Host) *manualLeaf {
	m := &manualLeaf{h: h, pages: manual.Pages(), page: layout.NewColumn()}
	var names []string
	for _, p := range m.pages {
		names = append(names, p.Title)
	}
	m.names = widget.NewContents(append(names, licencesTitle), m.turn)
	rule := canvas.NewLine(widget.Color(theme.ColorLine))
	m.content = container.New(freeLayout{fyne.NewSize(860, 420), func(s fyne.Size) {
		const gap = 32
		left := min(s.Width*0.27, 260)
		set(m.names, 0, 0, left, m.names.HeightFor(left))
		rule.Position1, rule.Position2 = fyne.NewPos(left+gap/2, 0), fyne.NewPos(left+gap/2, s.Height)
		m.page.Put(left+gap, 0, min(s.Width-left-gap, manualWidth), s.Height)
	}}, m.names, rule, m.page.Scroll)
	at, _ := h.Kept("manual").(int)
	m.names.Set(at)
	m.fill(at)
	return m
}

func (m *manualLeaf) built() Built { return Built{Content: m.content, Key: m.typed} }

// turn opens a page at its top.
func (m *manualLeaf) turn(i int) {
	if i < 0 || i >= len(m.names.Items) {
		return
	}
	m.h.Keep("manual", i)
	m.names.Set(i)
	m.fill(i)
	m.page.Turn(-1e6)
}

func (m *manualLeaf) fill(i int) {
	if i == len(m.pages) {
		m.page.Fill(m.licences(-1)...)
		return
	}
	m.page.Fill(pageShown(m.pages[i])...)
}

// typed turns pages by left and right, and scrolls.
func (m *manualLeaf) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyLeft:
		m.turn(m.names.Chosen - 1)
	case fyne.KeyRight:
		m.turn(m.names.Chosen + 1)
	default:
		return m.page.Typed(e)
	}
	return true
}

// pageShown is a page's content.
func pageShown(p manual.Page) []fyne.CanvasObject {
	objs := []fyne.CanvasObject{manualHeading(p.Title)}
	for _, b := range p.Blocks {
		switch b.Kind {
		case manual.Heading:
			objs = append(objs, blank(6), heading(b.Text))
		case manual.Table:
			objs = append(objs, blank(1), tableShown(b.Rows), blank(2))
		case manual.Item:
			objs = append(objs, container.New(layout.Labelled{Column: 18, Top: true},
				widget.NewText("•", toolkittheme.SizeNameText, theme.ColorQuiet, false), leadShown(b)))
		default:
			objs = append(objs, leadShown(b))
		}
	}
	if len(p.Sources) > 0 {
		objs = append(objs, blank(8), widget.NewText("Sources", toolkittheme.SizeNameCaptionText, theme.ColorQuiet, true))
		for i, s := range p.Sources {
			objs = append(objs, container.New(layout.Labelled{Column: 18, Top: true},
				widget.NewText(manual.Raised(i+1), toolkittheme.SizeNameText, theme.ColorQuiet, false), layout.Caption(s)))
		}
	}
	return append(objs, blank(12))
}

func manualHeading(s string) fyne.CanvasObject {
	return widget.NewText(s, toolkittheme.SizeNameHeadingText, toolkittheme.ColorNameForeground, true)
}

// blank is a gap of some height between blocks.
func blank(h float32) fyne.CanvasObject {
	r := canvas.NewRectangle(widget.Color(theme.ColorGroup))
	r.SetMinSize(fyne.NewSize(1, h))
	return r
}

// manualLines is more than any paragraph of a page or a licence has.
const manualLines = 600

// leadShown is a paragraph with the bold words that it begins with on a line of their own.
func leadShown(b manual.Block) fyne.CanvasObject {
	text := prose(b.Text, manualLines)
	if b.Lead == "" {
		return text
	}
	lead := prose(b.Lead, manualLines)
	lead.Bold = true
	return container.New(&layout.Flow{}, lead, text)
}

// tableShown is a table for reading; its cells break as paragraphs do.
func tableShown(rows [][]string) fyne.CanvasObject {
	box := container.New(&layout.Flow{Gap: 3})
	for r, row := range rows {
		shares := make([]float32, len(row))
		cells := container.New(layout.Shared{Shares: shares, Gap: 16})
		for c, s := range row {
			shares[c] = 1
			if c > 0 {
				shares[c] = 1.8
			}
			if r == 0 {
				cells.Add(caption(s, manualLines))
				continue
			}
			t := prose(s, manualLines)
			t.Bold = c == 0
			cells.Add(t)
		}
		line := canvas.NewRectangle(widget.Color(theme.ColorLine))
		line.SetMinSize(fyne.NewSize(1, 1))
		box.Add(cells)
		box.Add(line)
	}
	return box
}

// licences lists what is built in, with the text of one of the licences.
func (m *manualLeaf) licences(open int) []fyne.CanvasObject {
	objs := []fyne.CanvasObject{manualHeading(licencesTitle),
		prose("Firstsheet is built from works of others, whose licences ask that their text goes along. None of them asks more of you who use the program.", manualLines)}
	for i, l := range licences.All() {
		read := widget.NewPress("Read", func() { m.read(i) })
		if i == open {
			read = widget.NewPress("Fold", func() { m.read(-1) })
		}
		names := prose(strings.Join(l.Of, "\n"), manualLines)
		objs = append(objs, container.New(layout.Labelled{Column: 200, Top: true}, prose(l.ID, 3), names, read))
		if i == open {
			for part := range strings.SplitSeq(l.Text, "\n\n") {
				objs = append(objs, caption(part, manualLines))
			}
			objs = append(objs, blank(8))
		}
	}
	return append(objs, blank(12))
}

// read unfolds a licence's text, -1 for none, and leaves the list where it is.
func (m *manualLeaf) read(i int) { m.page.Fill(m.licences(i)...) }
