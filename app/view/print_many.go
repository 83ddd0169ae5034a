package view

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/printrun"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
	"firstsheet/proof/ticket"
)

// printMany prints a folder of pictures by the card's job.
type printMany struct {
	v       *printView
	about   *widget.Prose
	space   *widget.Choice // what numbers are that no file tells
	asked   *widget.Prose
	key     string // of the open picture's space, "" where there is none to offer
	choose  *widget.Press
	results *layout.Column
	lines   []fyne.CanvasObject
	content *fyne.Container
}

const (
	manyAbout = "Drop a folder, or several pictures, on this card: each is printed by the choices on the left, with a job ticket beside it. " +
		"What is already right is passed over, so that a run that was stopped can be taken up again. What the numbers mean is taken from each file."
	manyUntagged = "A file that does not say so is taken for"
)

func newPrintMany(v *printView) *printMany {
	m := &printMany{v: v, about: layout.Prose(manyAbout), results: layout.NewColumn()}
	m.asked = layout.Prose(manyUntagged + " sRGB.")
	m.space = widget.NewChoice([]string{"sRGB", ""}, 0, func(i int) { m.space.Set(i) })
	m.space.Explain("For files without a profile and without a named space: sRGB, as most of them are, or the space of the picture on the desk, if all come from there. The job ticket records it.", v.tell)
	m.choose = widget.NewPress("A folder of pictures…", func() {
		if v.print != nil && !v.files.busy() {
			askFolder(v.h, pictureFolder, "This folder", folderOf(v.h.State().Picture.Path), func(dir string) { m.ask([]string{dir}) })
		}
	})
	m.choose.Explain("Choose the folder by a dialog.", v.tell)
	m.content = container.New(freeLayout{fyne.NewSize(300, 160), func(s fyne.Size) {
		h := m.about.HeightFor(s.Width)
		set(m.about, 0, 0, s.Width, h)
		y := h + 6
		set(m.asked, 0, y, s.Width, m.asked.HeightFor(s.Width))
		y += m.asked.HeightFor(s.Width) + 6
		if m.space.Visible() {
			set(m.space, 0, y, min(s.Width, 420), 32)
			y += 40
		}
		set(m.choose, 0, y, m.choose.MinSize().Width, 32)
		m.results.Put(0, y+42, s.Width, max(s.Height-y-42, 20))
	}}, m.about, m.asked, m.space, m.choose, m.results.Scroll)
	m.follow(v.h.State())
	return m
}

// turned follows whether there is a job to print by.
func (m *printMany) turned() { m.choose.SetOff(m.v.print == nil || m.v.files.busy()) }

// dropped takes folders and several pictures; one picture is for the desk.
func (m *printMany) dropped(paths []string) bool {
	folder := false
	for _, p := range paths {
		if IsProfile(p) || IsTicket(p) {
			return false
		}
		folder = folder || isFolder(p)
	}
	if !folder && len(paths) < 2 {
		return false
	}
	m.v.show(manyPictures)
	switch {
	case m.v.files.busy():
		m.say("Files are being written already; drop this again when that has ended.")
	case m.v.print == nil:
		m.say(m.v.refused)
	default:
		m.ask(paths)
	}
	return true
}

// follow offers the open picture's space where it has one that others can be given: one
// that was named for it, or one of the built-in ones.
func (m *printMany) follow(now session.State) {
	key := now.Picture.Assumed
	if pic := m.v.h.Session.Store().Picture(now.Picture.Key); key == "" && pic != nil && pic.Source.Profile != nil {
		for _, s := range space.All() {
			if proof.SpaceProfile(s).ID() == pic.Source.Profile.ID() || s.Name == pic.Source.Profile.Name() {
				key = s.ID
			}
		}
	}
	if key == space.SRGB().ID {
		key = ""
	}
	if key == m.key && m.space.Items[1] != "" {
		return
	}
	m.key = key
	m.space.Set(0)
	name := "sRGB"
	if key != "" {
		name = key
		if s, ok := space.ByID(key); ok {
			name = s.Name
		}
		name += ", as the open one"
	}
	m.space.Items[1] = name
	m.space.Refresh()
	show(m.space, key != "")
	m.asked.SetText(manyUntagged + " sRGB.")
	if key != "" {
		m.asked.SetText(manyUntagged + ":")
	}
	if m.content != nil {
		m.content.Refresh()
	}
}

// untagged is what a file's numbers are that does not say so, "" for sRGB.
func (m *printMany) untagged() string {
	if m.space.Chosen == 1 {
		return m.key
	}
	return ""
}

func (m *printMany) say(lines ...string) {
	m.lines = nil
	for _, s := range lines {
		m.lines = append(m.lines, layout.Prose(s))
	}
	m.results.Fill(m.lines...)
}

// ask asks into which folder the prints go.
func (m *printMany) ask(named []string) {
	photos, err := printrun.Photographs(named)
	if err != nil {
		m.say(session.Sentence(err.Error()))
		return
	}
	from := named[0]
	if !isFolder(from) {
		from = filepath.Dir(from)
	}
	about := fmt.Sprintf("%s will be printed as %s, each with a job ticket. %s", count(len(photos), "picture"), printKinds[m.v.form.kept.Kind].name,
		session.Typeset(printfile.Instruction(m.v.print.Job().Converts, m.v.print.Paper().Name)))
	if u := m.untagged(); u != "" {
		about += " A file that does not say what its numbers mean is taken for " + strings.TrimSuffix(m.space.Items[1], ", as the open one") + "."
	} else {
		about += " A file that does not say what its numbers mean is taken for sRGB."
	}
	whereTo{
		title: "Prints of many pictures", label: "Folder for the prints; it is made where it is missing",
		path:  filepath.Join(from, fileSafe("prints on "+m.v.print.Paper().Name)),
		about: widget.NewProse(about, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 6),
		kinds: []writable{{"Print them", manyFolder, func(dir string) { m.start(photos, dir) }}},
	}.ask(m.v.h)
}

func manyFolder(typed string) (path string, files []string, complaint string) {
	if typed == "" {
		return "", nil, "Name a folder."
	}
	return typed, nil, ""
}

// start prints the pictures.
func (m *printMany) start(photos []string, dir string) {
	v := m.v
	if v.print == nil || v.files.busy() {
		return
	}
	m.say()
	engine, job, stock := v.h.Session.Engine(), v.of.job, v.print.Paper()
	job.Setup.Source = "" // each file says itself
	untagged := m.untagged()
	run := printrun.Run{
		Ticket: ticket.Ticket{Job: job, File: ticket.File{Name: "print" + printKinds[v.form.kept.Kind].ending},
			Paper: ticket.Paper{ID: job.Setup.Paper, Name: stock.Name, ProfileID: stock.Profile.ID()}},
		ProfileID: stock.Profile.ID(), Dir: dir, Jobs: 1, Engine: engine, Untagged: untagged,
		Open: func(ctx context.Context, path string, job printfile.Job) (*printfile.Print, error) {
			return openPrint(ctx, engine, path, job, untagged)
		},
	}
	v.files.start("The prints", dir, func(ctx context.Context, progress func(float64)) (string, error) {
		failed := 0
		err := run.Do(ctx, photos, func(r printrun.Result) {
			if r.Err != nil {
				failed++
			}
			progress(float64(r.Done) / float64(r.Total))
			v.h.Session.Post(func() {
				if v.work.ctx.Err() == nil {
					m.add(r)
				}
			})
		})
		if err != nil && (ctx.Err() != nil || failed == 0) {
			return "", err
		}
		if failed > 0 {
			return fmt.Sprintf("%d of %s could not be printed: the list says why. The others lie in %s.", failed, count(len(photos), "picture"), dir), nil
		}
		return count(len(photos), "picture") + ": the print files lie in " + dir + ".", nil
	})
}

// openPrint opens a photograph and prepares its print. untagged is what its numbers are
// where its file does not say so, "" for sRGB.
func openPrint(ctx context.Context, engine session.Engine, path string, job printfile.Job, untagged string) (*printfile.Print, error) {
	p, err := photo.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	var otherwise *proof.Profile
	if untagged != "" {
		if otherwise, err = engine.Finder(nil).Profile(untagged); err != nil {
			return nil, err
		}
	}
	source, err := setup.SourceOr(p, otherwise)
	if err != nil {
		return nil, err
	}
	if source.Origin == setup.Given {
		job.Setup.Source = untagged
	}
	return printfile.Prepare(ctx, engine, engine.Finder(&session.Picture{Source: source}), source, job)
}

// add tells how one picture went. What failed stands before what did not.
func (m *printMany) add(r printrun.Result) {
	name := filepath.Base(r.Path)
	var line *widget.Prose
	switch {
	case r.Err != nil:
		n := session.Explain(r.Err, r.Path)
		line = layout.Prose("!  " + n.Headline + " " + n.Hint)
		line.Bold = true
		m.lines = append([]fyne.CanvasObject{line}, m.lines...)
		m.results.Fill(m.lines...)
		return
	case r.Kept:
		line = layout.Prose(fmt.Sprintf("%d of %d   %s is already right.", r.Done, r.Total, name))
	default:
		line = layout.Prose(fmt.Sprintf("%d of %d   %s → %s", r.Done, r.Total, name, filepath.Base(r.Out)))
	}
	m.lines = append(m.lines, line)
	m.results.Fill(m.lines...)
}
