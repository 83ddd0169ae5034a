package view

import (
	"fmt"
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/light"
	"firstsheet/proof/words"
)

// screenLeaf tells what is known of the screen.
type screenLeaf struct {
	h              *Host
	foot           *footer
	known          *light.Screen // nil until its profile is measured out
	trouble        string        // why it can't be
	facts, meaning *layout.Column
}

func newScreenLeaf(h *Host, foot *footer) *screenLeaf {
	return &screenLeaf{h: h, foot: foot, facts: layout.NewColumn(), meaning: layout.NewColumn()}
}

func (l *screenLeaf) box() *fyne.Container        { return halves(l.facts, l.meaning, 0.55) }
func (l *screenLeaf) turned()                     {}
func (l *screenLeaf) typed(e *fyne.KeyEvent) bool { return false }

func (l *screenLeaf) follow(now session.State) {
	facts := []fyne.CanvasObject{heading("What is known"), factLine(profileFact(now.Screen))}
	switch {
	case l.trouble != "":
		facts = append(facts, layout.Prose(l.trouble))
	case l.known == nil:
		facts = append(facts, layout.Caption("The profile is being measured out …"))
	default:
		for _, f := range screenFacts(l.known, time.Now()) {
			facts = append(facts, factLine(f))
		}
	}
	choose := widget.NewPress("Say which profile the screen has…", func() { l.h.Do(session.AskFor{Ask: session.AskScreen}) })
	choose.Explain("Choose the profile that your calibration made (.icc, .icm), or one of the built-in spaces.", l.foot.tell)
	l.facts.Fill(append(facts, container.New(layout.Abreast{Gap: 8}, choose))...)
	l.meaning.Fill(heading("What it means for your proofs"),
		layout.Prose("A proof shows a print’s colours by the numbers that this profile says the screen needs. If the screen has moved since the profile was made, all sheets are off together; "+
			"the differences between them stay right to first order."),
		layout.Prose("So calibrate first, then look. The leaf ‘Check by eye’ finds gross faults without an instrument; it replaces none."),
		layout.Caption(pixelText(now)))
}

func profileFact(s session.Screen) words.Fact {
	if s.Assumed {
		return words.Fact{Name: "Profile", Value: s.Name + ", assumed",
			Means: "Nobody told which profile this screen has. On a screen with a wider gamut every proof is then too vivid, and every word about it stays true of the paper but not of what you see."}
	}
	return words.Fact{Name: "Profile", Value: s.Name, Means: "The sheets are shown through it."}
}

// screenFacts are what its profile says of a screen.
func screenFacts(s *light.Screen, now time.Time) []words.Fact {
	var out []words.Fact
	if s.Version != "" {
		out = append(out, words.Fact{Name: "ICC version", Value: s.Version})
	}
	luminance := words.Fact{Name: "Luminance", Value: "the profile does not say", Means: "Measure it, or estimate it on the leaf ‘Light for judging’."}
	if s.Luminance > 0 {
		luminance.Value, luminance.Means = fmt.Sprintf("%.0f cd/m²", s.Luminance), "Of white, as the profile says it was when it was made."
	}
	return append(out, ageFact(s, now), whiteFact(s), luminance,
		words.Fact{Name: "Black", Value: "L* " + words.Figure(math.Max(0, s.Black)), Means: "By the profile. Light that falls on the screen lifts it: judge in a dim room."},
		words.Fact{Name: "Gamut", Value: fmt.Sprintf("%s, %.2f times sRGB", words.Volume(s.Volume), s.Volume/s.SRGB),
			Means: "How many colours it can show; where it ends is a line on the card ‘Paper limits’."})
}

func ageFact(s *light.Screen, now time.Time) words.Fact {
	switch {
	case s.Version == "":
		return words.Fact{Name: "Age", Value: "–", Means: "A published space has no age. A screen has: its lamps and panel drift."}
	case s.Made.IsZero():
		return words.Fact{Name: "Made", Value: "its header gives no date", Means: "Make a new one when you don’t know how old it is."}
	}
	return words.Fact{Name: "Made", Value: s.Made.Local().Format("2 January 2006") + ", " + light.Age(s.Made, now),
		Means: "The date in the profile’s header. Common practice, no source: measure a screen anew every month or two."}
}

func whiteFact(s *light.Screen) words.Fact {
	if s.Kelvin <= 0 {
		return words.Fact{Name: "White", Value: "far from any daylight", Means: "The profile’s own white is no white of a screen; it may have been made wrongly."}
	}
	text := "The screen’s own white by its profile, as the daylight or lamp that is nearest to it"
	if s.Off > 0.005 {
		text += fmt.Sprintf("; it is %.3f off that in u, v, greener or pinker", s.Off)
	}
	return words.Fact{Name: "White", Value: fmt.Sprintf("%.0f K", math.Round(s.Kelvin/10)*10),
		Means: text + ". Beside a print under D50 (5000 K) a screen near 5000 K needs least getting used to."}
}

func pixelText(now session.State) string {
	if now.Cell.Exact {
		return fmt.Sprintf("At this window’s scale of %.4g every computed pixel is one pixel of the screen.", now.Cell.Scale)
	}
	return fmt.Sprintf("At this window’s scale of %.4g pixels can’t be placed exactly; fine patterns below may show beats.", now.Cell.Scale)
}
