package view

import (
	"context"
	"slices"

	"firstsheet/app/session"
	"firstsheet/proof/lesson"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/space"
)

// lessonOf is all that a lesson depends on: when it changes the lesson is made anew.
type lessonOf struct {
	set     setup.Setup
	picture int
	pins    [session.MaxPins]pin.Pin
	n, lead int
	library int
}

// rightProof is the set-up of the window's proof as it should be, on a paper ("" for its
// own), in the light of the room, and the set-up with the slip that was chosen for it.
func rightProof(now session.State, paper string) (right, chosen setup.Setup) {
	sh, _ := now.Proof()
	chosen = sh.Setup
	sh = sh.Righted()
	if paper != "" {
		sh.Paper = paper
	}
	right = now.Setup(sh)
	right.Dimmed, right.CountWhite = false, false
	return right, chosen
}

func newLessonOf(now session.State) lessonOf {
	right, _ := rightProof(now, "")
	return lessonOf{set: right, picture: now.Picture.Key, pins: now.Pins, n: now.NumPins, lead: max(now.Pin, 0), library: now.Library}
}

// material gathers what the lesson is made of.
func (of lessonOf) material(h *Host, pic *session.Picture, now session.State) lesson.Material {
	return lesson.Material{Picture: bareName(now.Picture.Name), Right: of.set, Find: h.Session.Engine().Finder(pic), Numbers: pic.Levels[0],
		Pins: slices.Clone(of.pins[:of.n]), Lead: of.lead,
		ScreenAssumed: now.Screen.Assumed, SourceAssumed: now.Picture.Assumed != ""}
}

// telling returns the pins, or where nobody has marked anything the picture's own telling
// colours.
func telling(ctx context.Context, engine session.Engine, pic *session.Picture, pins []pin.Pin) ([]pin.Pin, error) {
	if len(pins) > 0 {
		return pins, nil
	}
	pins, err := engine.Propose(ctx, pic, nil)
	if err == nil && len(pins) == 0 {
		pins = []pin.Pin{{Name: "middle", X: 0.5, Y: 0.5, Radius: 0.01}}
	}
	return pins, err
}

// paperIDs are the papers at hand, a chosen one first.
func paperIDs(h *Host, first string) []string {
	var ids []string
	for _, p := range h.Session.Store().Papers() {
		ids = append(ids, p.ID)
	}
	return leading(ids, first)
}

// spaceIDs are the spaces that numbers may be taken for: the one that was chosen, then
// the usual guess.
func spaceIDs(first string) []string {
	var ids []string
	for _, s := range space.All() {
		ids = append(ids, s.ID)
	}
	return leading(leading(ids, "srgb"), first)
}

// leading puts one first; "" for none.
func leading(ids []string, first string) []string {
	if first == "" {
		return ids
	}
	rest := slices.DeleteFunc(ids, func(id string) bool { return id == first })
	return append([]string{first}, rest...)
}
