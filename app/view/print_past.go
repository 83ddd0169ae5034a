package view

import (
	"fmt"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	saved "firstsheet/proof/desk"
	"firstsheet/proof/printfile"
	"firstsheet/proof/ticket"
)

// printPast lists the prints that were made on the paper, with what came of them.
type printPast struct {
	v       *printView
	lane    *lane
	prints  []saved.Print
	chosen  string // the ID of the chosen one
	table   *widget.Table
	verdict *widget.Choice
	notes   *widget.Field
	light   *widget.Field
	keep    *widget.Press
	again   *widget.Press
	said    *widget.Prose
	content *fyne.Container
}

// verdicts are the judgements in the order of the choice, with their words.
var (
	verdicts     = []ticket.Verdict{"", ticket.Good, ticket.Usable, ticket.Bad}
	verdictWords = []string{"not judged", "good", "usable", "bad"}
)

func newPrintPast(v *printView) *printPast {
	p := &printPast{v: v, lane: v.work.lane()}
	p.table = widget.NewTable([]widget.Column{
		{Head: []string{"made"}, Least: 104, Words: true, Help: "When the print file was made."},
		{Head: []string{"picture"}, Share: 1, Least: 74, Words: true, Help: "What was printed."},
		{Head: []string{"size"}, Share: 0.6, Least: 126, Words: true, Help: "The file’s size on paper."},
		{Head: []string{"how"}, Share: 1, Least: 118, Words: true, Help: "Intent, compensation, and who converted."},
		{Head: []string{"what came of it"}, Share: 2, Least: 110, Words: true, Help: "The judgement and the notes."},
	})
	p.table.OnChoose = p.choose
	p.table.Explain("The prints on this paper, the latest first. The arrow keys choose one.", v.tell)
	p.verdict = widget.NewChoice(verdictWords, 0, func(i int) { p.verdict.Set(i) })
	p.verdict.Explain("How the dry print was judged.", v.tell)
	p.notes = widget.NewField("what there is to say of it", nil)
	p.notes.Explain("Notes on the finished print: what worked, what to do otherwise next time.", v.tell)
	p.light = widget.NewField("daylight at noon, 5000 K lamp …", nil)
	p.light.Explain("The light that it was judged in.", v.tell)
	p.keep = widget.NewPress("Keep the note", p.note)
	p.keep.Explain("Keep judgement and notes with the print, under today’s date.", v.tell)
	p.again = widget.NewPress("Print again as this one", p.repeat)
	p.again.Explain("Set the card, intent and compensation as they were for that print; what has changed since is said.", v.tell)
	p.said = layout.Prose("")
	notes, light := layout.Row("Notes", p.notes), layout.Row("Seen in", p.light)
	judged := layout.Row("Judged", p.verdict)
	p.content = container.New(freeLayout{fyne.NewSize(400, 200), func(s fyne.Size) {
		const rows = 3*42 + 34
		said := float32(0)
		if p.said.Text != "" {
			said = p.said.HeightFor(s.Width) + 4
		}
		set(p.said, 0, 0, s.Width, said)
		set(p.table, 0, said, s.Width, max(s.Height-rows-said-6, 60))
		y := s.Height - rows
		for _, o := range []fyne.CanvasObject{judged, light, notes} {
			set(o, 0, y, s.Width, 38)
			y += 42
		}
		aw := p.again.MinSize().Width
		set(p.keep, 0, y, p.keep.MinSize().Width, 32)
		set(p.again, s.Width-aw, y, aw, 32)
	}}, p.said, p.table, judged, light, notes, p.keep, p.again)
	p.turn()
	return p
}

func (p *printPast) say(s string) {
	p.said.SetText(s)
	p.content.Refresh()
}

// list reads the prints on the paper anew.
func (p *printPast) list() {
	archive := p.v.h.Session.Archive()
	sh, _ := p.v.h.State().Proof()
	stock, ok := p.v.h.Session.Store().Paper(sh.Paper)
	if archive == nil || !ok {
		p.show(nil, nil, stock.Name)
		return
	}
	id := stock.Profile.ID()
	p.lane.start(func(job) func() {
		list, problems := archive.Prints(id)
		return func() { p.show(list, problems, stock.Name) }
	})
}

func (p *printPast) show(list []saved.Print, problems []error, paper string) {
	p.prints = list
	var rows []widget.Row
	at := -1
	for i, k := range list {
		rows = append(rows, widget.Row{Cells: []string{k.Made.Local().Format("2 Jan 2006"), k.Picture.Name,
			p.v.form.kept.Unit.area(fileRect(k.File)), how(k.Ticket), cameOf(k.Outcome)}})
		if k.ID == p.chosen {
			at = i
		}
	}
	p.table.SetRows(rows)
	if at < 0 && len(list) > 0 {
		at = 0
	}
	switch {
	case len(problems) > 0:
		p.say(session.Explain(problems[0], "").Headline)
	case len(list) == 0:
		p.say("No print was made on " + paper + " yet. Each print file that is written is listed here, with room for notes on the dry print.")
	default:
		p.say("")
	}
	p.choose(at)
	p.table.Chosen = at
	p.table.Refresh()
}

func fileRect(f ticket.File) printfile.Rect { return printfile.Rect{W: f.WidthMM, H: f.HeightMM} }

// how says how a print was converted.
func how(t ticket.Ticket) string {
	s := t.Job.Setup.Intent.Short()
	if t.Job.Setup.BPC {
		s += ", comp."
	}
	if t.Job.Converts == printfile.Later {
		s += ", tagged only"
	}
	return s
}

// cameOf says what came of a print.
func cameOf(o ticket.Outcome) string {
	return strings.Trim(string(o.Verdict)+": "+o.Notes, ": ")
}

// choose takes a print of the list.
func (p *printPast) choose(i int) {
	if i < 0 || i >= len(p.prints) {
		p.chosen = ""
		p.turn()
		return
	}
	k := p.prints[i]
	if k.ID != p.chosen {
		p.chosen = k.ID
		for n, v := range verdicts {
			if v == k.Outcome.Verdict {
				p.verdict.Set(n)
			}
		}
		p.notes.Put(k.Outcome.Notes)
		p.light.Put(k.Outcome.Light)
	}
	p.turn()
}

// turn lets the controls do something where a print is chosen.
func (p *printPast) turn() {
	none := p.chosen == ""
	p.keep.SetOff(none)
	p.again.SetOff(none)
	p.verdict.SetOff(none)
}

// taken returns the chosen print.
func (p *printPast) taken() (saved.Print, bool) {
	for _, k := range p.prints {
		if k.ID == p.chosen {
			return k, true
		}
	}
	return saved.Print{}, false
}

// note keeps what was noted.
func (p *printPast) note() {
	k, ok := p.taken()
	archive := p.v.h.Session.Archive()
	if !ok || archive == nil {
		return
	}
	o := ticket.Outcome{Verdict: verdicts[p.verdict.Chosen], Notes: strings.TrimSpace(p.notes.Text), Light: strings.TrimSpace(p.light.Text),
		Judged: time.Now().Format(time.DateOnly)}
	p.lane.start(func(job) func() {
		err := archive.Note(k.ID, o)
		return func() {
			if err != nil {
				p.say(session.Explain(err, "").Headline)
				return
			}
			p.v.tell("The note is kept.")
			p.list()
		}
	})
}

// repeat sets everything as it was for the chosen print.
func (p *printPast) repeat() {
	k, ok := p.taken()
	if !ok {
		return
	}
	now := p.v.h.State()
	p.v.h.Do(session.SetPrint{Job: k.Job})
	p.v.h.Do(session.Together{session.SetIntent{Intent: k.Job.Setup.Intent}, session.SetBPC{On: k.Job.Setup.BPC}})
	said := fmt.Sprintf("The card is set as for the print of %s.", k.Made.Local().Format("2 January 2006"))
	if k.Picture.Path != now.Picture.Path {
		said += " That was of ‘" + k.Picture.Name + "’; what is open now is another picture."
		p.v.show(onSheet)
		p.v.tell(said)
		return
	}
	path := now.Picture.Path
	p.lane.start(func(j job) func() {
		hash := ""
		if path != "" {
			hash, _ = ticket.Hash(j, path) // a picture that is gone can't be printed, and that is told then
		}
		return func() {
			if changes := p.v.h.Session.Changes(k.Ticket, hash); len(changes) > 0 {
				said += " Since then: " + strings.Join(changes, " ")
			}
			p.v.show(onSheet)
			p.v.tell(said)
		}
	})
}
