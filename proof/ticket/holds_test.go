package ticket

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
)

// A print file without its profile is known by its ticket; the picture itself, another one, and the same
// one made for another paper are not taken for it.
func TestHolds(t *testing.T) {
	e := proof.NewEngine()
	defer e.Close()
	photos := map[string]setup.Source{}
	tickets, bare := map[string]Ticket{}, map[string]setup.Source{}
	dir := t.TempDir()
	for _, name := range []string{"flower.png", "cat_srgb.png", "coffee.png"} {
		pic, err := photo.Open(t.Context(), filepath.Join("..", "..", "testdata", "cache", "photos", name))
		if err != nil {
			t.Fatal(err)
		}
		if photos[name], err = setup.SourceOf(pic, nil); err != nil {
			t.Fatal(err)
		}
		for _, stock := range []string{"pearl", "cotton"} {
			j := printfile.Usual(setup.Usual(stock))
			j.Size, j.PPI = printfile.Size{By: printfile.LongEdge, Length: 100}, 100
			pr, err := printfile.Prepare(t.Context(), e, setup.Files{Library: paper.Open(t.TempDir()), Picture: photos[name].Profile}, photos[name], j)
			if err != nil {
				t.Fatal(err)
			}
			defer pr.Close()
			file := filepath.Join(dir, name+stock+".tif")
			if err := pr.Write(t.Context(), file, nil, nil); err != nil {
				t.Fatal(err)
			}
			key := name + " on " + stock
			if tickets[key], err = New(t.Context(), e, pr, file, "", nil, time.Now()); err != nil {
				t.Fatal(err)
			}
			written, err := photo.Open(t.Context(), file)
			if err != nil {
				t.Fatal(err)
			}
			written.ICC = nil
			if bare[key], err = setup.SourceOf(written, nil); err != nil {
				t.Fatal(err)
			}
		}
	}
	papers := map[string]*proof.Profile{}
	for _, p := range paper.All() {
		papers[p.ID] = p.Profile
	}
	type near struct {
		ticket string
		apart  float64
	}
	nearest := map[string]near{}
	for key, k := range tickets {
		for other, src := range bare {
			got, at, err := k.Holds(e, src.Pixels(), papers[k.Paper.ID])
			if err != nil {
				t.Fatal(err)
			}
			name, _, _ := strings.Cut(key, " ")
			if want := strings.HasPrefix(other, name); got && !want || !got && other == key {
				t.Errorf("the file of %s, by the ticket of %s: %v, %.2f", other, key, got, at)
			}
			if got {
				if at0, seen := nearest[other]; !seen || at < at0.apart {
					nearest[other] = near{key, at}
				}
			}
		}
		for name, src := range photos {
			if got, _, err := k.Holds(e, src.Pixels(), papers[k.Paper.ID]); err != nil || got {
				t.Errorf("%s itself, by the ticket of %s: %v, %v", name, key, got, err)
			}
		}
	}
	for key := range bare {
		if nearest[key].ticket != key {
			t.Errorf("nearest to the file of %s is the ticket of %q", key, nearest[key].ticket)
		}
	}
}
