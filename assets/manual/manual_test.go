package manual

import (
	"regexp"
	"strings"
	"testing"

	"firstsheet/proof/slip"
)

func TestParse(t *testing.T) {
	p := parse([]byte("# T\n\nA b[^x]\nc.\n\n## H\n\n- **Lead.** rest[^y]\n- two\n\n| a | b |\n| --- | --- |\n| 1 | 2[^x] |\n\n[^x]: First source.\n[^y]: Second.\n[^z]: Not asked for.\n"))
	if p.Title != "T" || len(p.Blocks) != 5 || len(p.Sources) != 2 || p.Sources[1] != "Second." {
		t.Fatalf("%+v", p)
	}
	for i, want := range []Block{{Text: "A b¹ c.", Kind: Paragraph}, {Text: "H", Kind: Heading}, {Lead: "Lead.", Text: "rest²", Kind: Item}, {Text: "two", Kind: Item}} {
		if got := p.Blocks[i]; got.Kind != want.Kind || got.Lead != want.Lead || got.Text != want.Text {
			t.Errorf("block %d: %+v, want %+v", i, got, want)
		}
	}
	if rows := p.Blocks[4].Rows; len(rows) != 2 || rows[1][1] != "2¹" {
		t.Errorf("table %v", rows)
	}
	if Raised(12) != "¹²" {
		t.Error(Raised(12))
	}
}

var (
	figure = regexp.MustCompile(`[0-9]`)
	raised = regexp.MustCompile(`[⁰¹²³⁴⁵⁶⁷⁸⁹]`)
	// A star is part of L*, a*, b* and C*.
	markdown = regexp.MustCompile("`|\\[|\\]|_|\\*\\*|[^LabC]\\*")
	define   = regexp.MustCompile(`(?m)^\[\^([a-z]+)\]: (.*)$`)
)

// Whatever gives a figure names its source: in the same paragraph, or, for a table, in the
// one that follows or goes before.
func TestFiguresHaveSources(t *testing.T) {
	for _, p := range Pages() {
		for i, b := range p.Blocks {
			said, near := b.Text, b.Text
			if b.Kind == Table {
				for _, row := range b.Rows {
					said += strings.Join(row, " ")
				}
				near = p.Blocks[i-1].Text
				if i+1 < len(p.Blocks) {
					near += p.Blocks[i+1].Text
				}
			}
			if b.Kind != Heading && figure.MatchString(said) && !raised.MatchString(near+said) {
				t.Errorf("%s: no source for ‘%s’", p.ID, said)
			}
		}
	}
}

func TestPagesAreWhole(t *testing.T) {
	pages := Pages()
	if len(pages) < 6 {
		t.Fatalf("%d pages", len(pages))
	}
	sources := map[string]string{}
	for i, p := range pages {
		list, _ := files.ReadDir(".")
		data, _ := files.ReadFile(list[i].Name())
		defined := define.FindAllStringSubmatch(string(data), -1)
		if p.ID == "" || p.Title == "" || len(p.Blocks) < 5 || len(defined) != len(p.Sources) {
			t.Errorf("%s ‘%s’: %d blocks, %d sources of %d that are defined", p.ID, p.Title, len(p.Blocks), len(p.Sources), len(defined))
		}
		for _, b := range p.Blocks {
			if all := b.Lead + b.Text; markdown.MatchString(all) || b.Kind != Table && b.Text == "" {
				t.Errorf("%s: ‘%s’ is not read as it is written", p.ID, all)
			}
			for _, row := range b.Rows {
				if len(row) != len(b.Rows[0]) {
					t.Errorf("%s: row %v", p.ID, row)
				}
			}
		}
		// A short name means one source in all pages.
		for _, d := range defined {
			if was := sources[d[1]]; was != "" && was != d[2] {
				t.Errorf("%s: [^%s] is ‘%s’ here and ‘%s’ elsewhere", p.ID, d[1], d[2], was)
			}
			sources[d[1]] = d[2]
		}
	}
}

// Every slip that the program makes is told of under its own name.
func TestEverySlipIsTold(t *testing.T) {
	told := map[string]bool{}
	for _, p := range Pages() {
		if p.ID == "slips" {
			for _, b := range p.Blocks {
				told[strings.ToLower(b.Text)] = b.Kind == Heading
			}
		}
	}
	for _, s := range slip.All() {
		if !told[strings.ReplaceAll(s.Name, "'", "’")] {
			t.Errorf("the manual has no heading ‘%s’", s.Name)
		}
	}
}
