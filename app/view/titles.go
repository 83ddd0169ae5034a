package view

import (
	"fmt"
	"strings"

	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/mishap"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// sheetTitle says what a sheet is: paper, intent, slip.
func sheetTitle(store *session.Store, sh session.Sheet) string {
	switch {
	case sh.Observed != 0:
		return observedInfo(store, sh).Name + " · on " + paperName(store, sh.Paper)
	case sh.Original:
		return "original"
	}
	name := paperName(store, sh.Paper)
	if sh.Wrong {
		if mishap.Modelled(sh.Mishap) {
			name += " · by its ink model"
		}
		return slipNames(sh.Setup) + " · on " + name
	}
	parts := []string{"proof on " + name, sh.Intent.Short()}
	if sh.BPC && sh.Intent != proof.AbsoluteColorimetric {
		parts = append(parts, "with compensation")
	}
	return strings.Join(parts, " · ")
}

// shortTitle is the same for a narrow place.
func shortTitle(store *session.Store, sh session.Sheet) string {
	switch {
	case sh.Observed != 0:
		return observedInfo(store, sh).Name
	case sh.Original:
		return "original"
	}
	name := paperName(store, sh.Paper)
	if sh.Wrong {
		return name + ", " + slipNames(sh.Setup)
	}
	return name + " · " + sh.Intent.Short()
}

// observedInfo is what an observation of a print says of itself.
func observedInfo(store *session.Store, sh session.Sheet) session.PictureInfo {
	if p := store.Picture(sh.Observed); p != nil {
		return p.Info
	}
	return session.PictureInfo{Name: "the print"}
}

func paperName(store *session.Store, id string) string {
	if p, ok := store.Paper(id); ok {
		return p.Name
	}
	return id
}

// slipNames names what has gone wrong in a set-up.
func slipNames(set setup.Setup) string {
	var out []string
	if set.Mishap != "" {
		out = append(out, session.Typeset(mishap.Name(set.Mishap)))
	}
	for _, id := range set.SlipIDs() {
		if k, ok := slip.ByID(id); ok {
			out = append(out, session.Typeset(k.Name))
		}
	}
	if len(out) == 0 {
		return "gone wrong"
	}
	return strings.Join(out, " and ")
}

// legendFigures gives three figures at most.
func legendFigures(store *session.Store, s session.State, n int, sh session.Sheet) string {
	r := s.Results[n]
	switch {
	case s.Held != session.HeldNone && n == s.Active:
		return "while the key is held"
	case s.Refusal(n) != "":
		return "can’t be shown"
	case sh.Observed != 0:
		return observedInfo(store, sh).Notes
	case sh.Original:
		if s.Picture.W > 0 {
			return fmt.Sprintf("%s · %d × %d", s.Picture.Name, s.Picture.W, s.Picture.H)
		}
		return ""
	case !r.Measured:
		return legendGlance(s, r, sh)
	}
	f := r.Figures
	if sh.Show == session.ShowDifference {
		if sh.Against >= 0 {
			return fmt.Sprintf("difference from sheet %d", sh.Against+1) // the figures are against the original
		}
		return fmt.Sprintf("difference from the original: %s on average, 95 %% within %s", words.DeltaE00(f.Mean), words.Figure(f.P95))
	}
	return fmt.Sprintf("%s out of reach · %s on average, 95 %% within %s · %s too dark",
		words.Share(f.Outside(s.Looking.Threshold)), words.DeltaE00(f.Mean), words.Figure(f.P95), words.Share(f.Darker))
}

// legendGlance gives what is known while the picture's pixels are still being counted.
func legendGlance(s session.State, r session.Result, sh session.Sheet) string {
	counting := "still counting …"
	if r.Computing && r.Progress > 0.02 {
		counting = "still counting, " + words.Share(r.Progress) + " …"
	}
	f := r.Glance
	switch {
	case f.Pixels == 0:
		return counting
	case sh.Show == session.ShowDifference && sh.Against >= 0:
		return fmt.Sprintf("difference from sheet %d", sh.Against+1)
	case sh.Show == session.ShowDifference:
		return fmt.Sprintf("difference from the original: about %s on average · %s", words.DeltaE00(f.Mean), counting)
	}
	return fmt.Sprintf("%s out of reach · about %s on average · %s", words.AboutShare(f.Outside(s.Looking.Threshold)), words.DeltaE00(f.Mean), counting)
}

// bandsFrom returns the ΔE00 from which bands are drawn over a sheet, 0 where none are.
func bandsFrom(s session.State, sh session.Sheet) float64 {
	if sh.Show == session.ShowDifference || sh.IsProof() && s.Overlays().Has(session.Bands) {
		return s.Looking.Threshold
	}
	return 0
}

// sourceName says which space the numbers are in, and who says so.
func sourceName(p session.PictureInfo) string {
	if p.Assumed == "" {
		if p.Named == "" {
			return "–"
		}
		return p.Named + " (the file says so)"
	}
	return spaceName(p.Assumed) + " (assumed) ▾"
}

// spaceName names a built-in space, or the file of a profile.
func spaceName(ref string) string {
	if s, ok := space.ByID(ref); ok {
		return s.Name
	}
	return fileName(ref)
}
