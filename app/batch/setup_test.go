package main

import (
	"flag"
	"testing"

	"firstsheet/app/engine"
	"firstsheet/app/session"
	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/slip"
)

// The window and the command make the same plan of the same choice: every slip, paper,
// intent, compensation and white.
func TestWindowAndCommandMakeOnePlan(t *testing.T) {
	dir := t.TempDir()
	window := engine.New(paper.Open(dir), engine.Regatta)
	defer window.Close()
	start := session.Start("pearl")
	start.Picture.Assumed = "romm"
	// What a slip may need: the same words for both.
	const reads, other, second = "displayp3", "washi", "saturation"

	slips := []string{""}
	for _, s := range slip.All() {
		slips = append(slips, s.ID)
	}
	slips = append(slips, "twice,wrongsource", "compensation,brightscreen")
	plans := 0
	for _, p := range paper.All() {
		if p.ID == other {
			continue
		}
		for _, intent := range proof.Intents() {
			for _, bpc := range []string{"on", "off"} {
				for white, name := range map[proof.White]string{proof.PaperWhite: "paper", proof.ScreenWhite: "screen"} {
					for _, ids := range slips {
						var flags setupFlags
						set := flag.NewFlagSet("", flag.ContinueOnError)
						flags.define(set)
						args := []string{"-library", dir, "-source", "romm", "-paper", p.ID, "-intent", intent.Short(), "-bpc", bpc, "-white", name,
							"-slip", ids, "-second", second}
						for _, id := range listed(ids) {
							made, _ := slip.ByID(id)
							if made.NeedsReads || made.NeedsSecond {
								args = append(args, "-reads", reads)
							}
							if made.NeedsPaper {
								args = append(args, "-otherpaper", other)
							}
							if made.NeedsSetting {
								args = append(args, "-setting", p.Settings[0].ID)
							}
						}
						if err := set.Parse(args); err != nil {
							t.Fatal(err)
						}
						chosen, err := flags.setup()
						if err != nil {
							t.Fatal(err)
						}
						typed, err := flags.plan(chosen, nil)
						if err != nil {
							t.Fatalf("%v: %v", args, err)
						}

						sheet := start.Sheets[1]
						sheet.Paper, sheet.Intent, sheet.BPC, sheet.White = p.ID, intent, bpc == "on", white
						sheet.Wrong, sheet.Slips = ids != "", ids
						sheet.Reads, sheet.Other, sheet.Second, sheet.Setting = reads, other, proof.Saturation, p.Settings[0].ID
						clicked, err := window.Plan(nil, start.Setup(sheet))
						if err != nil {
							t.Fatalf("%v: in the window %v", args, err)
						}
						if typed.Key() != clicked.Key() {
							t.Errorf("%v: the command makes\n%s\nthe window\n%s", args, typed, clicked)
						}
						plans++
					}
				}
			}
		}
	}
	if plans < 400 {
		t.Errorf("only %d plans were compared", plans)
	}
}
