package chart

import (
	"context"
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"

	"firstsheet/proof"
	"firstsheet/proof/paper"
)

// From a real CMYK set, which goes up to 400 %: the limit is asked for, kept by every
// table of the profile, and its figures are those that the facts tell.
func TestTheInkLimitIsAskedForAndKept(t *testing.T) {
	f, err := os.Open("../../testdata/cache/measurements/FOGRA39L.ti3")
	if err != nil {
		t.Fatalf("%v (run testdata/fetch.sh)", err)
	}
	defer f.Close()
	ms, err := Read(f)
	if err != nil {
		t.Fatal(err)
	}
	every := *ms
	every.Patches = nil // a fit of all would take minutes
	for i, p := range ms.Patches {
		if i%9 == 0 || p.Device[0]+p.Device[1]+p.Device[2]+p.Device[3] > 3.5 {
			every.Patches = append(every.Patches, p)
		}
	}
	if most := MostInk(&every); most < 3.9 {
		t.Fatalf("the set goes up to %.2f", most)
	}
	coarse := BuildOptions{ForwardGrid: 7, InverseGrid: 7}
	_, err = Build(context.Background(), &every, "Coated", coarse, nil)
	var ink *InkError
	if !errors.As(err, &ink) || ink.Measured < 3.9 || !strings.Contains(err.Error(), "common practice, no source") || !strings.Contains(err.Error(), "newsprint 240 %") {
		t.Fatalf("without a limit: %v", err)
	}
	coarse.TotalInk = 2.8
	built, err := Build(context.Background(), &every, "Coated", coarse, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := built.Report
	if r.InkLimit != 2.8 || r.Facts.TotalInk < 2.6 || r.Facts.TotalInk > 2.8+inkSlack || len(r.Warnings) != 0 {
		t.Errorf("limit %.2f, used %.3f, warnings %q", r.InkLimit, r.Facts.TotalInk, r.Warnings)
	}
	p, err := proof.NewProfile("", built.V2)
	if err != nil {
		t.Fatal(err)
	}
	if facts, err := paper.Inspect(context.Background(), p); err != nil || !reflect.DeepEqual(facts, r.Facts) {
		t.Errorf("the report says %+v, the facts %+v, %v", r.Facts, facts, err)
	}
}

func TestDoubtfulInkIsTold(t *testing.T) {
	for _, c := range []struct {
		limit, measured float64
		stock           string
		says            []string
	}{
		{3, 4, "", nil},
		{3, 4, "coated, sheet-fed offset", nil},
		{3, 4, "newsprint", []string{"300 % is more than the 240 % that are usual for ‘newsprint’"}},
		{4, 4, "", []string{"400 % is more than is usual on any stock, 330 % at most"}},
		{3.2, 3, "", []string{"Nothing above 300 % was measured"}},
		{4, 3, "newsprint", []string{"400 % is more than the 240 %", "Nothing above 300 %"}},
	} {
		got := InkTold(c.limit, c.measured, c.stock)
		ok := len(got) == len(c.says)
		for i := range c.says {
			ok = ok && strings.Contains(got[i], c.says[i])
		}
		if !ok {
			t.Errorf("InkTold(%g, %g, %q) = %q", c.limit, c.measured, c.stock, got)
		}
	}
	if got := inkWarnings(3.1, 3, 4); len(got) != 1 || !strings.Contains(got[0], "310 %, more than the limit of 300 %") {
		t.Errorf("beyond its limit: %q", got)
	}
}
