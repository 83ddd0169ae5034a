// Package manual holds the manual of the trade side: how to read a proof, what each slip
// is, how to measure a paper, light and limits. Its pages are Markdown, to be read as they
// are as well as in the window; every fact names its source in a footnote.
//
// Of Markdown they use headings, paragraphs, lists, tables, footnotes, and bold words at the
// start of a paragraph; a test sees to it that there is nothing else.
package manual

import (
	"embed"
	"path"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/text"
)

//go:embed *.md
var files embed.FS

// Page is one page.
type Page struct {
	// ID is the file's name without number and ending, such as "reading".
	ID, Title string
	Blocks    []Block
	// Sources are those that the texts refer to, the first by ¹.
	Sources []string
}

// Kind says what a block is.
type Kind uint8

const (
	Heading Kind = iota
	Paragraph
	Item  // of a list
	Table // for reading; its first row is the heading
)

// Block is a part of a page. References to sources stand in the texts as raised figures.
type Block struct {
	Kind Kind
	// Lead are the bold words that the text begins with, if any.
	Lead, Text string
	Rows       [][]string // of a table
}

// Pages returns the manual in its order.
func Pages() []Page {
	list, err := files.ReadDir(".")
	if err != nil {
		panic("manual: " + err.Error()) // only if the folder was left out of the build
	}
	var all []Page
	for _, f := range list {
		data, err := files.ReadFile(f.Name())
		if err != nil {
			panic("manual: " + err.Error())
		}
		p := parse(data)
		_, p.ID, _ = strings.Cut(strings.TrimSuffix(path.Base(f.Name()), ".md"), "-")
		all = append(all, p)
	}
	return all
}

// parse reads a page.
func parse(source []byte) Page {
	root := goldmark.New(goldmark.WithExtensions(extension.Table, extension.Footnote)).Parser().Parse(text.NewReader(source))
	r := reader{source}
	var p Page
	for n := root.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Heading:
			if n.Level == 1 {
				p.Title = r.text(n)
				continue
			}
			p.Blocks = append(p.Blocks, Block{Kind: Heading, Text: r.text(n)})
		case *ast.Paragraph:
			p.Blocks = append(p.Blocks, r.block(Paragraph, n))
		case *ast.List:
			for item := n.FirstChild(); item != nil; item = item.NextSibling() {
				p.Blocks = append(p.Blocks, r.block(Item, item.FirstChild()))
			}
		case *east.Table:
			p.Blocks = append(p.Blocks, Block{Kind: Table, Rows: r.rows(n)})
		case *east.FootnoteList:
			for note := n.FirstChild(); note != nil; note = note.NextSibling() {
				p.Sources = append(p.Sources, r.text(note))
			}
		}
	}
	return p
}

// reader takes texts out of parsed Markdown.
type reader struct{ source []byte }

// block returns a text that may begin with bold words.
func (r reader) block(kind Kind, n ast.Node) Block {
	b := Block{Kind: kind, Text: r.text(n)}
	if first, ok := n.FirstChild().(*ast.Emphasis); ok && first.Level == 2 {
		b.Lead = r.text(first)
		b.Text = strings.TrimSpace(strings.TrimPrefix(b.Text, b.Lead))
	}
	return b
}

func (r reader) rows(t *east.Table) (rows [][]string) {
	for row := t.FirstChild(); row != nil; row = row.NextSibling() {
		var cells []string
		for c := row.FirstChild(); c != nil; c = c.NextSibling() {
			cells = append(cells, r.text(c))
		}
		rows = append(rows, cells)
	}
	return rows
}

// text returns what stands below a node in one line.
func (r reader) text(n ast.Node) string {
	var b strings.Builder
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *ast.Text:
			b.Write(c.Segment.Value(r.source))
			if c.SoftLineBreak() {
				b.WriteByte(' ')
			}
		case *east.FootnoteLink:
			b.WriteString(Raised(c.Index))
		case *east.FootnoteBacklink:
		default:
			b.WriteString(r.text(c))
		}
	}
	return strings.TrimSpace(b.String())
}

// Raised writes a number in raised figures, as texts refer to sources.
func Raised(n int) string {
	if n < 10 {
		return string([]rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[n])
	}
	return Raised(n/10) + Raised(n%10)
}
