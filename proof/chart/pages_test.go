package chart

import (
	"fmt"
	"strings"
	"testing"
)

// greys is a table of a few grey steps.
func greys(keywords, fields string, from, to int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "CGATS.17\n%sBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\nBEGIN_DATA\n", keywords, fields)
	for i := from; i < to; i++ {
		fmt.Fprintf(&b, "%d %d %d %d %d 0 0\n", i, 25*i, 25*i, 25*i, 5+9*i)
	}
	b.WriteString("END_DATA\n")
	return b.String()
}

// A chart that was exported as several tables is one chart; what is no part of it is said.
func TestTablesOfOneChartAreJoined(t *testing.T) {
	const lab = "SAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"
	for name, c := range map[string]struct {
		text    string
		patches int
		says    string
	}{
		"two pages":         {greys("", lab, 5, 11) + greys("", lab, 0, 5), 11, "2 tables, which were joined: 11 patches"},
		"read again":        {greys("", lab, 0, 11) + greys("", lab, 0, 11), 11, "Table 2 of the file, 11 rows from line 19 on, was not read: it holds the same patches"},
		"another condition": {greys("MEASUREMENT_SOURCE \"M1\"\n", lab, 5, 11) + greys("MEASUREMENT_SOURCE \"M0\"\n", lab, 0, 5), 6, "it was measured under M0, the table before under M1"},
		"other columns":     {greys("", lab, 5, 11) + greys("", "SAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z", 0, 5), 6, "its columns are others"},
	} {
		ms, err := Read(strings.NewReader(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if notes := strings.Join(ms.Notes, "\n"); len(ms.Patches) != c.patches || !strings.Contains(notes, c.says) {
			t.Errorf("%s: %d patches, want %d; nothing of %q in\n%s", name, len(ms.Patches), c.patches, c.says, notes)
		}
	}
}

// The scale is decided over all pages: the second one's largest value is no guess.
func TestJoinedTablesHaveOneScale(t *testing.T) {
	const lab = "SAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"
	ms, err := Read(strings.NewReader(greys("", lab, 0, 4) + greys("", lab, 4, 11)))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := ms.Patches[3].Device[0], 75.0/255; got != want {
		t.Errorf("75 on the first page became %g, want %g", got, want)
	}
}

// Pages without device values are joined before they are laid on the list.
func TestPagesAreJoinedAgainstTheList(t *testing.T) {
	list, err := Read(strings.NewReader(greys("", "SAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B", 0, 11)))
	if err != nil {
		t.Fatal(err)
	}
	bare := func(from, to int) string {
		var b strings.Builder
		b.WriteString("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n")
		for i := from; i < to; i++ {
			fmt.Fprintf(&b, "%d %d 1 1\n", i, 5+9*i)
		}
		return b.String() + "END_DATA\n"
	}
	ms, err := ReadAgainst(strings.NewReader(bare(6, 11)+bare(0, 6)), list, ReadOptions{})
	if err != nil || len(ms.Patches) != 11 || ms.Patches[0].Lab.L != 5 {
		t.Errorf("%+v, %v, want all 11 patches", ms, err)
	}
}
