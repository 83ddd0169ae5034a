package chart

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits on what is read. The largest public characterisation chart has 1,617
// rows (IT8.7/4), the largest spectral table one column a nanometre, 401. Work
// on a chart grows with the square of its rows.
const (
	MaxRows      = 20_000   // rows of one table
	maxFields    = 1024     // columns of one table
	maxKeywords  = 10_000   // header lines of one file
	maxTables    = 64       // tables of one file
	maxLineBytes = 64 << 10 // one line
	maxFileBytes = 32 << 20 // one file
	maxShown     = 40       // characters of a faulty value shown in an error
)

// Keyword is one header line of a table: NAME "value".
type Keyword struct {
	Name  string
	Value string // unquoted; values of several words are joined by one space
	Line  int    // where it stands, counted from 1; ignored in writing
}

// Table is one table of a keyword text file as it stands there.
type Table struct {
	Kind     string     // first line of the file or table, such as CGATS.17; may be empty
	Keywords []Keyword  // in file order, without the ones that describe the layout
	Fields   []string   // column names as written
	Rows     [][]string // values as written, unquoted, len(Fields) each
	Lines    []int      // line each row begins on, counted from 1; ignored in writing
	line     int        // line of BEGIN_DATA_FORMAT
}

// Keyword returns the value of the first header line of that name, without
// regard to case, and whether there is one.
func (t Table) Keyword(name string) (string, bool) {
	for _, k := range t.Keywords {
		if strings.EqualFold(k.Name, name) {
			return k.Value, true
		}
	}
	return "", false
}

// column returns the index of the first field with one of the names, or -1.
func (t Table) column(names ...string) int {
	for _, n := range names {
		for i, f := range t.Fields {
			if strings.EqualFold(f, n) {
				return i
			}
		}
	}
	return -1
}

// ReadTables reads every table of a keyword text file.
//
// It accepts LF, CR LF and CR line ends, tabs, quoted strings with doubled
// quotes inside, comments from # to the end of the line, rows wrapped over
// several lines, a UTF-8 byte order mark, and Latin-1 bytes in texts. A second
// table without a format of its own takes the one before it.
//
// It fails with a *FormatError that names the line where the text is not such a
// file or its counts disagree, and with an *UnsupportedError beyond the limits
// of this package ([MaxRows] rows, 32 MB, lines of 64 KB); it reads no further
// than that. Values are not interpreted here.
//
// Source: ANSI CGATS.17 (ISO 28178 shares the keyword form), from memory, and
// the public characterisation files that follow it.
func ReadTables(r io.Reader) ([]Table, error) {
	p := parser{lines: lineReader{r: bufio.NewReaderSize(r, maxLineBytes)}}
	return p.run()
}

type parser struct {
	lines    lineReader
	tables   []Table
	cur      Table
	begun    bool // the current table has a line
	format   []string
	fields   int // NUMBER_OF_FIELDS, -1 when not given
	sets     int // NUMBER_OF_SETS, -1 when not given
	setsLine int
	headers  int
}

func (p *parser) run() ([]Table, error) {
	p.fresh()
	for {
		tokens, err := p.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if err := p.header(tokens); err != nil {
			return nil, err
		}
	}
	if p.begun && len(p.cur.Fields) > 0 {
		return nil, wrong(p.lines.n, "the file ends before BEGIN_DATA: it has column names but no rows")
	}
	if len(p.tables) == 0 {
		if p.lines.n == 0 {
			return nil, wrong(0, "the file is empty")
		}
		return nil, wrong(0, "no BEGIN_DATA_FORMAT and BEGIN_DATA in %d lines: not a measurement file of the CGATS.17 kind", p.lines.n)
	}
	return p.tables, nil
}

func (p *parser) fresh() {
	p.cur, p.begun, p.fields, p.sets = Table{}, false, -1, -1
}

// next returns the tokens of the next line that has any.
func (p *parser) next() ([]token, error) {
	for {
		line, err := p.lines.next()
		if err != nil {
			return nil, err
		}
		tokens, err := tokenize(line, p.lines.n)
		if err != nil {
			return nil, err
		}
		if len(tokens) > 0 {
			return tokens, nil
		}
	}
}

func (p *parser) header(tokens []token) error {
	line := p.lines.n
	first := tokens[0]
	name := strings.ToUpper(first.text)
	if first.quoted {
		return wrong(line, "a quoted text %q stands where a keyword is expected", shown(first.text))
	}
	wasBegun := p.begun
	p.begun = true
	switch name {
	case "KEYWORD": // declares a private keyword; real files often leave it out
		return nil
	case "NUMBER_OF_FIELDS":
		n, err := count(tokens, line)
		p.fields = n
		return err
	case "NUMBER_OF_SETS":
		n, err := count(tokens, line)
		p.sets, p.setsLine = n, line
		return err
	case "BEGIN_DATA_FORMAT":
		return p.dataFormat(tokens[1:])
	case "BEGIN_DATA":
		return p.data(tokens[1:])
	case "END_DATA", "END_DATA_FORMAT":
		return wrong(line, "%s without its beginning", name)
	}
	if !wasBegun && len(tokens) == 1 {
		p.cur.Kind = first.text
		return nil
	}
	if !plausibleKeyword(first.text) {
		return wrong(line, "%q is no keyword: not a measurement file of the CGATS.17 kind", shown(first.text))
	}
	if p.headers++; p.headers > maxKeywords {
		return unsupported(line, "more than %d header lines", maxKeywords)
	}
	var words []string
	for _, t := range tokens[1:] {
		words = append(words, t.text)
	}
	p.cur.Keywords = append(p.cur.Keywords, Keyword{first.text, strings.Join(words, " "), line})
	return nil
}

// plausibleKeyword tells a header word from prose, markup or rows of numbers.
func plausibleKeyword(s string) bool {
	for i, r := range s {
		letter := r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r == '_'
		other := r >= '0' && r <= '9' || strings.ContainsRune(".-/:()[]%", r)
		if !letter && (i == 0 || !other) {
			return false
		}
	}
	return true
}

func count(tokens []token, line int) (int, error) {
	if len(tokens) != 2 {
		return -1, wrong(line, "%s needs one number and has %d values", tokens[0].text, len(tokens)-1)
	}
	n, err := strconv.Atoi(tokens[1].text)
	if err != nil || n < 0 {
		return -1, wrong(line, "%s is %q, not a count", tokens[0].text, shown(tokens[1].text))
	}
	return n, nil
}

func (p *parser) dataFormat(tokens []token) error {
	p.cur.line = p.lines.n
	var fields []string
	for {
		for i, t := range tokens {
			if !t.quoted && strings.EqualFold(t.text, "END_DATA_FORMAT") {
				if i != len(tokens)-1 {
					return wrong(p.lines.n, "values follow END_DATA_FORMAT on its line")
				}
				return p.setFields(fields)
			}
			if !t.quoted && strings.EqualFold(t.text, "BEGIN_DATA") {
				return wrong(p.lines.n, "BEGIN_DATA before END_DATA_FORMAT")
			}
			if len(fields) == maxFields {
				return unsupported(p.lines.n, "more than %d columns", maxFields)
			}
			fields = append(fields, t.text)
		}
		var err error
		if tokens, err = p.next(); err == io.EOF {
			return wrong(p.lines.n, "the file ends inside BEGIN_DATA_FORMAT of line %d: cut off?", p.cur.line)
		} else if err != nil {
			return err
		}
	}
}

func (p *parser) setFields(fields []string) error {
	if len(fields) == 0 {
		return wrong(p.cur.line, "BEGIN_DATA_FORMAT lists no columns")
	}
	seen := map[string]int{}
	for i, f := range fields {
		key := strings.ToUpper(f)
		if j, ok := seen[key]; ok {
			return wrong(p.cur.line, "column %s appears twice (%d and %d)", shown(f), j+1, i+1)
		}
		seen[key] = i
	}
	p.cur.Fields, p.format = fields, fields
	return nil
}

func (p *parser) data(tokens []token) error {
	begin := p.lines.n
	if p.cur.Fields == nil {
		if p.format == nil {
			return wrong(begin, "BEGIN_DATA without BEGIN_DATA_FORMAT before it: the columns are unknown")
		}
		p.cur.Fields, p.cur.line = p.format, begin
	}
	n := len(p.cur.Fields)
	if p.fields >= 0 && p.fields != n {
		return wrong(p.cur.line, "NUMBER_OF_FIELDS is %d but the format lists %d columns", p.fields, n)
	}
	if p.sets > MaxRows {
		return unsupported(p.setsLine, "NUMBER_OF_SETS is %d, more than %d rows", p.sets, MaxRows)
	}
	var row []string
	rowLine := 0
	for {
		if len(tokens) > n+1 {
			return wrong(p.lines.n, "%d values, but there are %d columns (an unquoted text with spaces?)", len(tokens), n)
		}
		for i, t := range tokens {
			if !t.quoted && strings.EqualFold(t.text, "END_DATA") {
				if i != len(tokens)-1 {
					return wrong(p.lines.n, "values follow END_DATA on its line")
				}
				if len(row) > 0 {
					return wrong(rowLine, "%d values, but there are %d columns%s", len(row), n, p.firstMissing(row))
				}
				return p.finish(begin)
			}
			if len(row) == 0 {
				rowLine = p.lines.n
			}
			row = append(row, t.text)
			if len(row) < n {
				continue
			}
			rest := len(tokens) - i - 1
			closes := rest == 1 && !tokens[i+1].quoted && strings.EqualFold(tokens[i+1].text, "END_DATA")
			if rest > 0 && !closes {
				if rowLine != p.lines.n {
					return wrong(rowLine, "%d values, but there are %d columns%s", n-i-1, n, p.firstMissing(row[:n-i-1]))
				}
				return wrong(rowLine, "%d values, but there are %d columns (an unquoted text with spaces?)", len(tokens), n)
			}
			if len(p.cur.Rows) == MaxRows {
				return unsupported(rowLine, "more than %d rows", MaxRows)
			}
			p.cur.Rows = append(p.cur.Rows, row)
			p.cur.Lines = append(p.cur.Lines, rowLine)
			row = make([]string, 0, n)
		}
		var err error
		if tokens, err = p.next(); err == io.EOF {
			return wrong(p.lines.n, "the file ends inside BEGIN_DATA of line %d, after %d rows: cut off?", begin, len(p.cur.Rows))
		} else if err != nil {
			return err
		}
		// A tab-separated line with an empty cell: name the column.
		if p.lines.tabs == n-1 && len(tokens) < n && len(row) == 0 {
			if i := p.lines.emptyCell(); i >= 0 {
				return wrong(p.lines.n, "no value in column %s", shown(p.cur.Fields[i]))
			}
		}
	}
}

func (p *parser) firstMissing(row []string) string {
	return fmt.Sprintf(" (the last filled one is %s)", shown(p.cur.Fields[len(row)-1]))
}

func (p *parser) finish(begin int) error {
	if p.sets >= 0 && p.sets != len(p.cur.Rows) {
		return wrong(p.setsLine, "NUMBER_OF_SETS is %d but there are %d rows", p.sets, len(p.cur.Rows))
	}
	if len(p.cur.Rows) == 0 {
		return wrong(begin, "BEGIN_DATA holds no rows")
	}
	if len(p.tables) == maxTables {
		return unsupported(begin, "more than %d tables", maxTables)
	}
	p.tables = append(p.tables, p.cur)
	p.fresh()
	return nil
}

type token struct {
	text   string
	quoted bool
}

// tokenize splits a line at blanks, keeping quoted strings whole and dropping a
// comment.
func tokenize(line []byte, n int) ([]token, error) {
	var out []token
	for i := 0; i < len(line); {
		switch c := line[i]; {
		case c == ' ' || c == '\t' || c == '\v' || c == '\f':
			i++
		case c == '#':
			return out, nil
		case c == '"':
			var text []byte
			closed := false
			for i++; i < len(line); i++ {
				if line[i] != '"' {
					text = append(text, line[i])
				} else if i+1 < len(line) && line[i+1] == '"' {
					text = append(text, '"')
					i++
				} else {
					closed = true
					i++
					break
				}
			}
			if !closed {
				return nil, wrong(n, "the quoted text %q is not closed", shown(string(text)))
			}
			out = append(out, token{text: utf8Text(text), quoted: true})
		default:
			start := i
			for i < len(line) && !bytes.ContainsRune([]byte(" \t\v\f"), rune(line[i])) {
				i++
			}
			out = append(out, token{text: utf8Text(line[start:i])})
		}
	}
	return out, nil
}

// utf8Text returns b as it is where it is UTF-8, else read as Latin-1.
func utf8Text(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	r := make([]rune, len(b))
	for i, c := range b {
		r[i] = rune(c)
	}
	return string(r)
}

// shown cuts a faulty value to a length fit for an error.
func shown(s string) string {
	r := []rune(s)
	if len(r) <= maxShown {
		return s
	}
	return string(r[:maxShown]) + "..."
}

// lineReader yields lines whatever their ends and refuses what is not text.
type lineReader struct {
	r     *bufio.Reader
	n     int   // lines yielded so far
	bytes int64 // bytes taken so far
	buf   []byte
	tabs  int // tabs in the last line
}

func (l *lineReader) next() ([]byte, error) {
	l.buf, l.tabs = l.buf[:0], 0
	any := false
	for {
		c, err := l.r.ReadByte()
		if err == io.EOF {
			if !any {
				return nil, io.EOF
			}
			break
		}
		if err != nil {
			return nil, fmt.Errorf("chart: reading line %d: %w", l.n+1, err)
		}
		any = true
		if l.bytes++; l.bytes > maxFileBytes {
			return nil, unsupported(l.n+1, "the file is longer than %d MB", maxFileBytes>>20)
		}
		if c == '\n' {
			break
		}
		if c == '\r' {
			if b, err := l.r.Peek(1); err == nil && b[0] == '\n' {
				l.r.Discard(1)
				l.bytes++
			}
			break
		}
		if c == '\t' {
			l.tabs++
		} else if c < ' ' && c != '\v' && c != '\f' && c != 0x1a || c == 0x7f {
			return nil, wrong(l.n+1, "byte 0x%02x is not text: a measurement file is plain text, saved without UTF-16", c)
		}
		if len(l.buf) == maxLineBytes {
			return nil, unsupported(l.n+1, "the line is longer than %d KB", maxLineBytes>>10)
		}
		if c != 0x1a { // the end-of-file mark of old systems
			l.buf = append(l.buf, c)
		}
	}
	l.n++
	if l.n == 1 {
		l.buf = bytes.TrimPrefix(l.buf, []byte("\xef\xbb\xbf"))
		if bytes.HasPrefix(l.buf, []byte("\xff\xfe")) || bytes.HasPrefix(l.buf, []byte("\xfe\xff")) {
			return nil, wrong(1, "the file is saved as UTF-16: save it as plain text or UTF-8")
		}
	}
	return l.buf, nil
}

// emptyCell returns the index of the first empty cell of the last line read as
// tab-separated, or -1.
func (l *lineReader) emptyCell() int {
	for i, cell := range bytes.Split(l.buf, []byte("\t")) {
		if len(bytes.TrimSpace(cell)) == 0 {
			return i
		}
	}
	return -1
}

// WriteTables writes tables in the form that [ReadTables] reads: LF line ends,
// one row a line, texts quoted where they need it. Keywords outside the
// standard's own list are declared first, as the standard asks.
//
// It fails with a *FormatError where a row has not as many values as there are
// fields or a value holds a line break, and with w's own error.
func WriteTables(w io.Writer, tables ...Table) error {
	b := bufio.NewWriter(w)
	for i, t := range tables {
		if err := t.check(); err != nil {
			return err
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		kind := t.Kind
		if kind == "" {
			kind = "CGATS.17"
		}
		fmt.Fprintln(b, kind)
		for _, k := range t.Keywords {
			if !standardKeywords[strings.ToUpper(k.Name)] {
				fmt.Fprintf(b, "KEYWORD \"%s\"\n", k.Name)
			}
			fmt.Fprintf(b, "%s \"%s\"\n", k.Name, strings.ReplaceAll(k.Value, `"`, `""`))
		}
		fmt.Fprintf(b, "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\n", len(t.Fields), strings.Join(t.Fields, " "))
		fmt.Fprintf(b, "NUMBER_OF_SETS %d\nBEGIN_DATA\n", len(t.Rows))
		for _, row := range t.Rows {
			for j, v := range row {
				if j > 0 {
					b.WriteByte(' ')
				}
				b.WriteString(quoteIfNeeded(v))
			}
			b.WriteByte('\n')
		}
		fmt.Fprintln(b, "END_DATA")
	}
	return b.Flush()
}

func (t Table) check() error {
	if len(t.Fields) == 0 || len(t.Rows) == 0 {
		return wrong(0, "a table needs columns and rows, this one has %d and %d", len(t.Fields), len(t.Rows))
	}
	bad := func(s string) bool { return strings.ContainsAny(s, "\r\n") || !utf8.ValidString(s) }
	for _, k := range t.Keywords {
		if bad(k.Value) || !plausibleKeyword(k.Name) || k.Name == "" {
			return wrong(0, "keyword %q can't be written with value %q", shown(k.Name), shown(k.Value))
		}
	}
	for _, f := range t.Fields {
		if f == "" || bad(f) || strings.ContainsAny(f, " \t\"#") {
			return wrong(0, "column name %q can't be written", shown(f))
		}
	}
	for i, row := range t.Rows {
		if len(row) != len(t.Fields) {
			return wrong(0, "row %d has %d values, but there are %d columns", i+1, len(row), len(t.Fields))
		}
		for _, v := range row {
			if bad(v) {
				return wrong(0, "row %d: value %q holds a line break", i+1, shown(v))
			}
		}
	}
	return nil
}

func quoteIfNeeded(s string) string {
	plain := s != "" && !strings.EqualFold(s, "END_DATA")
	for _, r := range s {
		if r <= ' ' || r == '"' || r == '#' || r == 0x7f {
			plain = false
		}
	}
	if plain {
		return s
	}
	return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
}

// standardKeywords need no declaration (CGATS.17 annex, from memory).
var standardKeywords = map[string]bool{
	"ORIGINATOR": true, "DESCRIPTOR": true, "FILE_DESCRIPTOR": true, "CREATED": true,
	"INSTRUMENTATION": true, "MEASUREMENT_SOURCE": true, "PRINT_CONDITIONS": true,
	"MANUFACTURER": true, "PROD_DATE": true, "SERIAL": true, "MATERIAL": true,
	"WEIGHTING_FUNCTION": true, "COMPUTATIONAL_PARAMETER": true, "TARGET_TYPE": true,
}
