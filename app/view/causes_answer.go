package view

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/cause"
	"firstsheet/proof/lesson"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// causesNothing is said before anything has been told.
const causesNothing = "Nothing is known of the print yet. Go through the printer’s steps on the left, then tell in the middle what the print looks like: " +
	"turn at least four pins until they look like it, choose words, or take measured colours or a photo. The answer comes by itself."

// causeAnswer is the card's third column: what explains the print.
type causeAnswer struct {
	v      *causesView
	column *layout.Column
	answer cause.Answer // without causes while there is none
	shown  int          // how many causes are listed
	chosen int

	say     *widget.Prose
	again   *widget.Press
	head    *fyne.Container
	ranked  *widget.Ranked
	tied    *widget.Prose
	next    *widget.Prose
	take    *widget.Press // takes the pin that is to be looked at next
	detail  *widget.Prose
	seen    *widget.Prose
	avoid   *widget.Prose
	desk    *widget.Press
	how     *widget.Press
	noDesk  *widget.Prose
	pair    *causePair
	caution *widget.Prose
	prior   *causePrior
}

func newCauseAnswer(v *causesView) *causeAnswer {
	a := &causeAnswer{v: v, column: layout.NewColumn(), say: strong(causesNothing), tied: layout.Prose(""), next: layout.Prose(""),
		detail: layout.Prose(""), seen: layout.Prose(""), avoid: layout.Prose(""), noDesk: layout.Caption(""), caution: layout.Caption("")}
	a.caution.Most = 30
	a.say.Most = 14
	a.again = widget.NewPress(findWord, v.findOrStop)
	v.explain(a.column, a.again, "Look for the cause of what has been told. It also happens by itself after each change.")
	a.head = container.New(atEnds{}, heading("3   The answer"), a.again)
	a.ranked = widget.NewRanked(a.choose)
	v.explain(a.column, a.ranked, "What may have gone wrong, the likeliest first; up, down or C choose one, to be explained beneath. Mean ΔE00 is how far what it prints is from what was told, over all places.")
	a.desk = widget.NewPress(deskWord, a.onDesk)
	v.explain(a.column, a.desk, "Lay the right proof, the print as it was observed and this cause side by side on the desk; the route breaks where the cause says. What was told here is kept.")
	a.how = widget.NewPress("Prevent it: the lesson  (P)", a.prevent)
	v.explain(a.column, a.how, "The lesson’s page on what keeps this from happening again, on this picture and paper; of two mistakes the first. What was told here is kept.")
	a.take = widget.NewPress("Take that pin  (G)", a.takeNext)
	v.explain(a.column, a.take, "The pin that would tell most is the one that the keys turn.")
	a.pair = newCausePair(a)
	a.prior = newCausePrior(v, a.column)
	a.none(causesNothing)
	return a
}

// fill lists what there is to show.
func (a *causeAnswer) fill() {
	objs := []fyne.CanvasObject{a.head, a.say}
	if len(a.answer.Causes) == 0 {
		a.column.Fill(append(objs, a.prior.objects()...)...)
		return
	}
	objs = append(objs, a.ranked, a.tied)
	photo := a.v.told.photo.laid != nil
	if photo {
		objs = append(objs, a.pair.objects()...)
	}
	objs = append(objs, heading("What to check next"), a.next, container.New(layout.Abreast{}, a.take),
		heading(words.Capital(session.Typeset(a.cause().Name))), a.detail, a.seen,
		container.New(layout.Abreast{Gap: 8}, a.desk, a.how), a.noDesk, a.avoid)
	if !photo {
		objs = append(objs, a.pair.objects()...)
	}
	objs = append(objs, heading("What this rests on"), a.caution)
	a.column.Fill(append(objs, a.prior.objects()...)...)
}

// none says why there is no answer.
func (a *causeAnswer) none(s string) {
	a.answer, a.chosen, a.shown = cause.Answer{}, 0, 0
	a.again.SetText(findWord)
	a.sum(s, false)
	a.fill()
}

// searching tells that an answer is on its way; that of before stays until it comes.
func (a *causeAnswer) searching() {
	a.again.SetText(stopWord)
	if len(a.answer.Causes) == 0 {
		a.sum("Every way in which the print may have come about is tried …", false)
	}
	a.fill()
}

// tried tells how much of the search is done, on the button that stops it.
func (a *causeAnswer) tried(done float64) {
	a.again.SetText(words.Share(done) + " tried · " + stopWord)
	a.head.Refresh()
	a.column.Again()
}

// findWord is on the button that looks for the cause, stopWord while it looks.
const (
	findWord = "Find the cause  (F)"
	stopWord = "Stop looking  (F)"
)

// sum sums up: a verdict is set larger than what is only said.
func (a *causeAnswer) sum(s string, verdict bool) {
	a.say.Bold, a.say.Type = verdict, toolkittheme.SizeNameText
	if verdict {
		a.say.Type = toolkittheme.SizeNameSubHeadingText
	}
	a.say.SetText("") // type and weight are new where the words are not
	a.say.SetText(s)
}

// mostCauses are listed; what is likelier than leastShown is worth a line.
const (
	mostCauses = 6
	leastShown = 0.005
)

// set shows an answer. The cause that was chosen stays so where it is still listed.
func (a *causeAnswer) set(answer cause.Answer) {
	before := ""
	if len(a.answer.Causes) > 0 && a.chosen > 0 {
		before = a.cause().ID
	}
	a.answer = answer
	a.again.SetText(findWord)
	var rows []widget.RankedRow
	for _, c := range answer.Causes {
		if len(rows) == mostCauses || len(rows) > 0 && c.Probability < leastShown {
			break
		}
		rows = append(rows, widget.RankedRow{Name: words.Capital(session.Typeset(c.Name)), Share: c.Probability, Figure: sureness(c.Probability), Note: causeNote(c)})
	}
	a.shown = len(rows)
	a.chosen = max(slices.IndexFunc(answer.Causes[:a.shown], func(c cause.Cause) bool { return c.ID == before }), 0)
	a.ranked.Set(rows, a.chosen)
	a.sum(session.Typeset(answer.Verdict), true)
	a.tied.SetText(tiedText(answer))
	a.next.SetText(session.Typeset(answer.Next.Text))
	show(a.take, a.nextPin() >= 0)
	a.caution.SetText(session.Typeset(strings.Join(answer.Cautions, "\n")))
	a.tell()
}

// sureness writes a probability, and leaves none certain.
func sureness(p float64) string {
	switch {
	case p > 0.99:
		return "> 99 %"
	case p < 0.01:
		return "< 1 %"
	}
	return fmt.Sprintf("%.0f %%", p*100)
}

// causeNote says in which way a cause came about, and how near it comes to what was
// observed.
func causeNote(c cause.Cause) string {
	var parts []string
	if d := c.Variants[0].Detail; d != "" {
		parts = append(parts, session.Typeset(d))
	}
	if !math.IsNaN(c.MeanDeltaE00) {
		parts = append(parts, "mean ΔE00 "+words.Figure(c.MeanDeltaE00))
	}
	return words.Capital(strings.Join(parts, " · "))
}

// tiedText says which causes are left open together, where the verdict does not.
func tiedText(a cause.Answer) string {
	if len(a.Tied) == 0 || a.Explained {
		return ""
	}
	var names []string
	for _, id := range a.Tied[0] {
		for _, c := range a.Causes {
			if c.ID == id {
				names = append(names, "‘"+c.Name+"’")
			}
		}
	}
	const most = 5
	rest := ""
	if n := len(names) - most; n > 0 {
		names, rest = names[:most], fmt.Sprintf(" And %d more.", n)
	}
	if len(names) < 2 {
		return ""
	}
	return session.Typeset("What is known so far does not tell these apart: " + words.List(names) + "." + rest)
}

func (a *causeAnswer) cause() cause.Cause { return a.answer.Causes[a.chosen] }

func (a *causeAnswer) choose(i int) {
	if i >= 0 && i < a.shown {
		a.chosen = i
		a.tell()
	}
}

// next takes the next cause, going round.
func (a *causeAnswer) nextCause() {
	if a.shown > 0 {
		a.ranked.Set(a.ranked.Rows, (a.chosen+1)%a.shown)
		a.choose(a.ranked.Chosen)
		a.column.Reveal(a.ranked)
	}
}

// tell explains the chosen cause.
func (a *causeAnswer) tell() {
	c := a.cause()
	a.detail.SetText(words.Capital(session.Typeset(variantsText(c))))
	a.seen.SetText(labelled("How to recognise it: ", c.Recognise))
	a.avoid.SetText(labelled("How to prevent it: ", c.Prevent))
	can := a.onRoute()
	a.desk.SetOff(!can)
	a.noDesk.SetText("")
	if !can {
		a.noDesk.SetText("There is nothing to show on the desk: the route is right.")
	}
	_, taught := a.lessonOn()
	show(a.how, taught)
	a.pair.set(a.predicted(), can)
	a.fill()
}

func labelled(label, s string) string {
	if s == "" {
		return ""
	}
	return label + session.Typeset(s)
}

// variantsText says in which ways a cause can have happened.
func variantsText(c cause.Cause) string {
	const most, least = 3, 0.02
	var details []string // what is told alike is one way
	share := map[string]float64{}
	for _, v := range c.Variants {
		if v.Detail == "" || v.ChangesNothing {
			continue
		}
		if _, known := share[v.Detail]; !known {
			details = append(details, v.Detail)
		}
		share[v.Detail] += v.Probability
	}
	var parts []string
	for _, d := range details {
		if len(parts) < most && share[d] >= least {
			parts = append(parts, fmt.Sprintf("%s (%s)", d, sureness(share[d])))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "how: " + strings.Join(parts, "; or ") + "."
}

// onRoute tells whether the chosen cause is a set-up in which something went wrong.
func (a *causeAnswer) onRoute() bool {
	return len(a.answer.Causes) > 0 && a.cause().Variants[0].Setup.Wrong()
}

// predicted is the set-up that the chosen cause prints by, on this screen.
func (a *causeAnswer) predicted() setup.Setup {
	return a.v.of.set.With(a.cause().Variants[0].Setup)
}

// nextPin is the pin that is to be looked at next, -1 where it is something else.
func (a *causeAnswer) nextPin() int {
	if a.answer.Next.Kind != cause.ReadPlace {
		return -1
	}
	unseen := a.v.told.unseen(a.v.pins())
	if n := a.answer.Next.Place; n >= 0 && n < len(unseen) {
		return unseen[n]
	}
	return -1
}

// takeNext takes the pin that is to be looked at next.
func (a *causeAnswer) takeNext() {
	if n := a.nextPin(); n >= 0 {
		a.v.print.at = n
		a.v.print.choose(byEye)
		a.v.print.revealPin()
	}
}

// lessonOn is what the lesson is opened on for the chosen cause, and whether it has a page
// on it: of two slips it is the first.
func (a *causeAnswer) lessonOn() (on session.LessonOn, ok bool) {
	ids := a.cause().Variants[0].Setup.SlipIDs()
	if len(ids) == 0 {
		return on, false
	}
	on = session.LessonOn{Slip: setup.Setup{}.With(a.cause().Variants[0].Setup), Page: lesson.PreventPage}
	on.Slip.Slips = ids[0]
	return on, true
}

// prevent opens the lesson's page on how to prevent the chosen cause.
func (a *causeAnswer) prevent() {
	if len(a.answer.Causes) == 0 {
		return
	}
	if on, ok := a.lessonOn(); ok {
		a.v.h.Do(session.OpenLesson{On: on})
		return
	}
	if a.avoid.Text != "" {
		a.column.Reveal(a.avoid)
		a.v.tell(a.avoid.Text)
	}
}

func (a *causeAnswer) blink() { a.pair.blink() }
