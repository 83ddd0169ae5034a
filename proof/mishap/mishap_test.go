package mishap_test

import (
	"runtime"
	"slices"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/mishap"
	"firstsheet/proof/paper"
	"firstsheet/proof/press"
	"firstsheet/proof/setup"
)

func stock(t *testing.T, id string) paper.Paper {
	t.Helper()
	all := paper.All()
	n := slices.IndexFunc(all, func(p paper.Paper) bool { return p.ID == id })
	if n < 0 {
		t.Fatalf("no paper %s", id)
	}
	return all[n]
}

// Every mishap has one ID, words, and changes what is printed; its route says where.
func TestAll(t *testing.T) {
	engine := proof.NewEngine()
	defer engine.Close()
	lib := setup.Files{Library: paper.Open(t.TempDir())}
	for _, id := range []string{"cotton", "pearl", "gloss", "washi"} {
		seen := map[string]bool{}
		for _, m := range mishap.Of(stock(t, id)) {
			if seen[m.ID] || m.Name == "" || m.Detail == "" || m.Why == "" || m.Recognise == "" || m.Prevent == "" || mishap.Name(m.ID) == "" {
				t.Errorf("%s: %q is there twice or says nothing", id, m.ID)
			}
			seen[m.ID] = true
			if again, ok := mishap.ByID(stock(t, id), m.ID); !ok || again.Detail != m.Detail {
				t.Errorf("%s: %q is not found", id, m.ID)
			}
			set := setup.Usual(id)
			set.Source, set.Mishap, set.White = "srgb", m.ID, proof.PaperWhite
			plan, err := set.Plan(lib)
			if err != nil {
				t.Fatal(err)
			}
			faults := 0
			for _, s := range plan.Route().Stations {
				if s.Fault != proof.NoFault {
					faults++
					if s.Why != m.Why || (s.Kind == proof.InkStation) == m.InLight {
						t.Errorf("%s, %s: the route breaks at %s: %s", id, m.ID, s.Title, s.Why)
					}
				}
			}
			if faults != 1 {
				t.Errorf("%s, %s: the route has %d faults", id, m.ID, faults)
			}
			wrong, right := values(t, engine, plan), values(t, engine, mustPlan(t, set.Right(), lib))
			most, look := 0.0, 0.0
			for i := range wrong {
				most = max(most, cie.DeltaE00(wrong[i].Relative, right[i].Relative))
				look = max(look, cie.DeltaE00(wrong[i].Look, right[i].Look))
				if wrong[i].Reach != right[i].Reach {
					t.Errorf("%s, %s: the reach speaks of the spoilt print", id, m.ID)
				}
			}
			if most < 1 || look < 1 {
				t.Errorf("%s, %s changes nothing by more than ΔE00 %.2f, seen %.2f", id, m.ID, most, look)
			}
		}
	}
}

func mustPlan(t *testing.T, s setup.Setup, find setup.Finder) proof.Plan {
	t.Helper()
	p, err := s.Plan(find)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// values are those of colours on a grid through the whole of sRGB.
func values(t *testing.T, engine *proof.Engine, plan proof.Plan) []proof.Value {
	t.Helper()
	chain, err := engine.Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer chain.Close()
	var src []float64
	const n = 6
	for i := range n * n * n {
		src = append(src, float64(i/n/n)/(n-1), float64(i/n%n)/(n-1), float64(i%n)/(n-1))
	}
	out := make([]proof.Value, n*n*n)
	if err := chain.Values(out, src); err != nil {
		t.Fatal(err)
	}
	return out
}

// Of a missing ink the print shows what the ink model prints without it, as far as the
// paper's profile follows the model (a mean of ΔE00 1, see the profile's own tests).
func TestMissingInkIsTheModels(t *testing.T) {
	engine := proof.NewEngine()
	defer engine.Close()
	set := setup.Usual("pearl")
	set.Source, set.Mishap = "srgb", "clogged-magenta-all"
	got := values(t, engine, mustPlan(t, set, setup.Files{Library: paper.Open(t.TempDir())}))
	sheet, _ := press.StockByID("pearl")
	p := press.New(sheet, sheet.Right)
	var sum float64
	for _, v := range got {
		amounts := p.Driver.Separate(v.Device[0], v.Device[1], v.Device[2])
		amounts[press.Magenta] = 0
		sum += cie.DeltaE00(v.Relative, p.Reflectance(amounts).Lab().BesideWhite(p.White()))
	}
	if mean := sum / float64(len(got)); mean > 1 {
		t.Errorf("mean ΔE00 %.2f from the model", mean)
	}
}

// A paper without an ink model has lamps and no inks, and says so.
func TestNoModel(t *testing.T) {
	own := stock(t, "pearl")
	own.ID, own.Builtin = "own.icc", false
	for _, m := range mishap.Of(own) {
		if m.Kind == mishap.Ink {
			t.Errorf("%s on a paper without a model", m.ID)
		}
	}
	set := setup.Usual("pearl")
	set.Source, set.Mishap = "srgb", "clogged-nosuch"
	lib := setup.Files{Library: paper.Open(t.TempDir())}
	if _, err := set.Plan(lib); err == nil || !strings.Contains(err.Error(), "no ink model") {
		t.Errorf("an ink that is not there: %v", err)
	}
	set.Mishap, set.Slips = "warmlamp", "never"
	if _, err := set.Plan(lib); err == nil {
		t.Error("a mishap and a slip at once")
	}
}

// A list of mishaps is asked for names alone much of the time: no model of inks is made for
// that, which would take 17 ms.
func TestListingMishapsMakesNoModel(t *testing.T) {
	glossy := stock(t, "gloss")
	sheet, _ := press.StockByID(glossy.ID)
	listing := allocated(func() { mishap.Of(glossy) })
	model := allocated(func() { press.New(sheet, sheet.Right) })
	if listing > model/4 {
		t.Errorf("listing takes %d bytes, one model %d", listing, model)
	}
}

// allocated returns how many bytes f allocates.
func allocated(f func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}
