package view

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"firstsheet/app/session"
	"firstsheet/proof/cause"
	"firstsheet/proof/check"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// gather finds the pins' numbers and what the right print looks like there.
func (v *causesView) gather() {
	pic := v.h.Session.Store().Picture(v.of.picture)
	if pic == nil || len(pic.Levels) == 0 {
		v.gathering.drop()
		v.refuse("No picture is open yet. Close this card and open the one that was printed.")
		return
	}
	of, engine := v.of, v.h.Session.Engine()
	white := whiteOf(v.h, of.set.Paper)
	v.gathering.start(func(j job) func() {
		values, err := engine.Values(j, pic, of.set, of.pins[:of.n])
		at := causePlaces{white: white}
		if err == nil {
			at.all = spread(pic)
			for i, val := range values {
				p := of.pins[i]
				at.pins = append(at.pins, cause.Spot{Name: p.Name, Numbers: numbersAt(pic, p), Lab: val.Relative})
			}
		}
		return func() {
			if err != nil {
				v.refuse(session.Explain(err, "").Headline)
				return
			}
			v.at, v.ready = at, true
			v.print.show()
			v.find()
		}
	})
}

// waitForMore is how long a search waits for the next key: each press of a turning key
// would else start one.
const waitForMore = 250 * time.Millisecond

// find looks for the cause of what has been told so far, in place of a search under way.
func (v *causesView) find() {
	if !v.ready {
		return
	}
	evidence := v.told.evidence(v.pins(), v.at)
	if len(evidence) == 0 {
		v.finding.drop()
		v.answer.none(causesNothing)
		return
	}
	pic := v.h.Session.Store().Picture(v.of.picture)
	if pic == nil {
		return
	}
	engine := v.h.Session.Engine()
	c := cause.Case{Setup: v.of.set, Find: engine.Finder(pic), Papers: shelfPapers(v.h), Prior: v.told.believed(), More: v.told.more(v.pins(), v.at)}
	if v.told.asksOfSheet() {
		c.Setup.Source = checkSpace
	}
	v.finding.start(func(j job) func() {
		select {
		case <-j.Done():
		case <-time.After(waitForMore):
		}
		var answer cause.Answer
		c.Progress = inTenths(func(done float64) { j.post(func() { v.answer.tried(done) }) })
		err := j.Err()
		if err == nil {
			answer, err = cause.Find(j, engine, c, evidence...)
		}
		return func() {
			switch {
			case errors.Is(err, context.Canceled):
				v.answer.none(causesStopped)
				return
			case err != nil:
				v.answer.none(causeRefusal(err, ""))
				return
			}
			v.answer.set(answer)
		}
	})
	v.answer.searching()
}

// inTenths passes on how far something is where a further tenth is done: a search tells of
// hundreds of steps, from any goroutine.
func inTenths(tell func(float64)) func(float64) {
	var told atomic.Int32
	return func(done float64) {
		now := int32(done * 10)
		if was := told.Load(); now > was && told.CompareAndSwap(was, now) {
			tell(float64(now) / 10)
		}
	}
}

const causesStopped = "Stopped. F looks for the cause again."

// checkSpace is the ID of the space that check sheets are drawn in.
const checkSpace = "srgb"

// causeRefusal says why there is no answer, or why a file could not be read; path names
// the file, "" for none.
func causeRefusal(err error, path string) string {
	reason := ""
	if e, ok := errors.AsType[*cause.EvidenceError](err); ok {
		reason = e.Reason
	}
	if e, ok := errors.AsType[*check.ScanError](err); ok {
		reason = e.Reason
	}
	if reason == "" {
		n := session.Explain(err, path)
		return strings.TrimSpace(n.Headline + " " + n.Hint)
	}
	if path != "" {
		return "‘" + filepath.Base(path) + "’: " + words.Stop(session.Typeset(reason))
	}
	return session.Sentence(reason)
}

// shelfPapers are the papers at hand.
func shelfPapers(h *Host) []paper.Paper {
	var out []paper.Paper
	for _, p := range h.Session.Store().Papers() {
		out = append(out, p.Paper)
	}
	return out
}

// checkDrawn is the space of check sheets.
func checkDrawn() space.Space {
	s, _ := space.ByID(checkSpace)
	return s
}

// whiteOf is a paper's white, absolute; that of an ideal one where it is not known.
func whiteOf(h *Host, id string) cie.Lab {
	if p, ok := h.Session.Store().Paper(id); ok && p.Profile != nil {
		return p.White()
	}
	return cie.Lab{L: 100}
}
