package chart

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// small is a sound file of three RGB patches with Lab.
const small = `CGATS.17
ORIGINATOR "test"
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
SAMPLE_ID RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
1 255 255 255 95.5 0.1 -2
2 128 128 128 55 0 0
3 0 0 0 5 0.5 1e-1
END_DATA
`

func TestReadTablesTakesRealHabits(t *testing.T) {
	for name, c := range map[string]struct {
		text   string
		row    []string
		tables int
	}{
		"plain":     {small, []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"CR LF":     {strings.ReplaceAll(small, "\n", "\r\n"), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"CR":        {strings.ReplaceAll(small, "\n", "\r"), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"tabs":      {strings.ReplaceAll(small, " ", "\t"), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"byte mark": {"\xef\xbb\xbf" + small, []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"comments":  {"# made by hand\n" + strings.ReplaceAll(small, "55 0 0", "55 0 0 # middle"), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"no counts": {strings.NewReplacer("NUMBER_OF_SETS 3\n", "", "NUMBER_OF_FIELDS 7\n", "").Replace(small), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"wrapped":   {strings.ReplaceAll(small, "128 55", "128\n55"), []string{"2", "128", "128", "128", "55", "0", "0"}, 1},
		"quoted":    {strings.Replace(small, "2 128", `"grey ""mid"" tone" 128`, 1), []string{`grey "mid" tone`, "128", "128", "128", "55", "0", "0"}, 1},
		"Latin-1":   {strings.Replace(small, "2 128", "\"gr\xfcn\" 128", 1), []string{"grün", "128", "128", "128", "55", "0", "0"}, 1},
		"second table inherits its columns": {small + "NUMBER_OF_SETS 1\nBEGIN_DATA\n9 1 2 3 4 5 6\nEND_DATA\n",
			[]string{"2", "128", "128", "128", "55", "0", "0"}, 2},
	} {
		tables, err := ReadTables(strings.NewReader(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(tables) != c.tables || len(tables[0].Rows) != 3 || !reflect.DeepEqual(tables[0].Rows[1], c.row) {
			t.Errorf("%s: %d tables, second row %q, want %d and %q", name, len(tables), tables[0].Rows[1], c.tables, c.row)
		}
	}
}

func TestTablesComeBackAsWritten(t *testing.T) {
	in := []Table{
		{Kind: "CGATS.17", Keywords: []Keyword{{Name: "DESCRIPTOR", Value: `a "pearl" # not a comment`}, {Name: "SHEET_ROWS", Value: "4"}},
			Fields: []string{"SAMPLE_ID", "SAMPLE_NAME"}, Rows: [][]string{{"1", "sky blue"}, {"2", ""}, {"3", "END_DATA"}, {"#4", `"`}}},
		{Kind: "MORE", Fields: []string{"A"}, Rows: [][]string{{"0"}}},
	}
	var b strings.Builder
	if err := WriteTables(&b, in...); err != nil {
		t.Fatal(err)
	}
	out, err := ReadTables(strings.NewReader(b.String()))
	if err != nil {
		t.Fatalf("%v in\n%s", err, b.String())
	}
	for i := range out {
		if out[i].Kind != in[i].Kind || !reflect.DeepEqual(out[i].Fields, in[i].Fields) || !reflect.DeepEqual(out[i].Rows, in[i].Rows) {
			t.Errorf("table %d came back as %+v", i, out[i])
		}
	}
	if v, _ := out[0].Keyword("descriptor"); v != in[0].Keywords[0].Value {
		t.Errorf("DESCRIPTOR came back as %q", v)
	}
	if err := WriteTables(io.Discard, Table{Fields: []string{"A", "B"}, Rows: [][]string{{"1"}}}); err == nil {
		t.Error("a short row was written")
	}
}

// Each damage must be named with its line. The texts are what a person needs
// to mend the file.
func TestReadSaysWhatIsWrongAndWhere(t *testing.T) {
	edit := func(pairs ...string) string { return strings.NewReplacer(pairs...).Replace(small) }
	for name, c := range map[string]struct {
		text string
		line int
		says string
	}{
		"empty":              {"", 0, "empty"},
		"prose":              {"Dear printer,\nplease find\n", 0, "no BEGIN_DATA_FORMAT"},
		"a web page":         {"<!DOCTYPE html>\n<html>", 1, "no keyword"},
		"a picture":          {"\x89PNG\r\n\x1a\n\x00\x00", 3, "not text"},
		"UTF-16":             {"\xff\xfeC\x00G\x00", 1, "UTF-16"},
		"header only":        {"CGATS.17\nORIGINATOR \"x\"\n", 0, "no BEGIN_DATA_FORMAT"},
		"no rows":            {edit("1 255 255 255 95.5 0.1 -2\n", "", "2 128 128 128 55 0 0\n", "", "3 0 0 0 5 0.5 1e-1\n", "", "SETS 3", "SETS 0"), 8, "no rows"},
		"cut off":            {small[:len(small)-20], 11, "cut off"},
		"cut in the format":  {small[:80], 5, "cut off"},
		"value missing":      {edit("128 128 128", "128 128"), 10, "6 values, but there are 7"},
		"last value missing": {edit("1e-1", ""), 11, "6 values, but there are 7"},
		"value too many":     {edit("55 0 0", "55 0 0 0"), 10, "8 values"},
		"name with a space":  {edit("2 128", "mid grey 128"), 10, "unquoted text"},
		"empty tab cell":     {strings.ReplaceAll(edit("128 128 128", "128  128"), " ", "\t"), 10, "RGB_G"},
		"open quote":         {edit("2 128", "\"2 128"), 10, "not closed"},
		"fewer rows":         {edit("SETS 3", "SETS 4"), 7, "NUMBER_OF_SETS is 4 but there are 3"},
		"fields miscounted":  {edit("FIELDS 7", "FIELDS 8"), 4, "NUMBER_OF_FIELDS is 8"},
		"count no number":    {edit("SETS 3", "SETS three"), 7, "not a count"},
		"negative count":     {edit("SETS 3", "SETS -3"), 7, "not a count"},
		"column twice":       {edit("LAB_B\n", "lab_a\n"), 4, "twice"},
		"no device columns":  {edit("RGB_R", "X_R", "RGB_G", "X_G", "RGB_B", "X_B"), 4, "together with colour"},
		"one channel short":  {edit("RGB_G", "OTHER"), 4, "RGB_G is missing"},
		"half of Lab":        {edit("LAB_A", "OTHER"), 4, "LAB_A is missing"},
		"NaN":                {edit("55 0 0", "NaN 0 0"), 10, "LAB_L is \"NaN\""},
		"infinite":           {edit("55 0 0", "55 -Inf 0"), 10, "not a finite number"},
		"overflow":           {edit("55 0 0", "1e999 0 0"), 10, "not a finite number"},
		"hexadecimal":        {edit("55 0 0", "0x1p4 0 0"), 10, "not a finite number"},
		"comma decimals":     {edit("95.5", "95,5"), 9, "comma"},
		"no colour of print": {edit("55 0 0", "55 0 -300"), 10, "can't be the colour"},
		"negative device":    {edit("2 128 128", "2 -128 128"), 10, "outside 0 to 255"},
		"device too large":   {edit("2 128 128", "2 512 128"), 10, "outside 0 to 255"},
		"device all zero":    {edit("255 255 255", "0 0 0", "128 128 128", "0 0 0"), 4, "all device values are 0"},
		"scaled to 1":        {edit("95.5", "0.95", "55", "0.5"), 4, "lightest"},
		"wrong light":        {edit("ORIGINATOR \"test\"", "WEIGHTING_FUNCTION \"ILLUMINANT, D65\""), 2, "D65"},
		"wrong observer":     {edit("ORIGINATOR \"test\"", "OBSERVER \"10 degree\""), 2, "10 degree"},
		"seven inks":         {edit("RGB_R", "7CLR_1", "RGB_G", "7CLR_2", "RGB_B", "7CLR_3"), 4, "of 7 inks"},
	} {
		_, err := Read(strings.NewReader(c.text))
		var f *FormatError
		var u *UnsupportedError
		line := -1
		switch {
		case errors.As(err, &f):
			line = f.Line
		case errors.As(err, &u):
			line = u.Line
		}
		if err == nil || line != c.line || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want line %d and %q", name, err, c.line, c.says)
		}
	}
}

// endless yields a head and then one line for ever, counting what was taken.
type endless struct {
	head, line string
	taken      int64
}

func (e *endless) Read(p []byte) (int, error) {
	src := e.head
	if src == "" {
		src = e.line
	}
	n := copy(p, src)
	if e.head != "" {
		e.head = e.head[n:]
	} else if n < len(src) {
		e.head = src[n:]
	}
	e.taken += int64(n)
	return n, nil
}

func TestReadStopsAtItsLimits(t *testing.T) {
	head := small[:strings.Index(small, "1 255")]
	for name, c := range map[string]struct {
		in   endless
		most int64
	}{
		"ten million rows": {endless{head: strings.Replace(head, "NUMBER_OF_SETS 3\n", "", 1), line: "1 255 255 255 95 0 -2\n"}, 23 * (MaxRows + 10000)},
		"announced rows":   {endless{head: strings.Replace(head, "SETS 3", "SETS 10000000", 1), line: "1 255 255 255 95 0 -2\n"}, 1 << 17},
		"comments":         {endless{head: "CGATS.17\n", line: "# nothing\n"}, maxFileBytes + 1<<17},
		"one line":         {endless{line: "aaaaaaaaaaaaaaaa"}, 4 * maxLineBytes},
		"keywords":         {endless{line: "ORIGINATOR \"x\"\n"}, 1 << 20},
		"columns":          {endless{head: "BEGIN_DATA_FORMAT\n", line: "A_B \"C\"\n"}, 1 << 17},
	} {
		_, err := Read(&c.in)
		var u *UnsupportedError
		if !errors.As(err, &u) {
			t.Errorf("%s: %v, want *UnsupportedError", name, err)
		}
		if c.in.taken > c.most {
			t.Errorf("%s: %d bytes were taken before giving up, want at most %d", name, c.in.taken, c.most)
		}
	}
}

func TestReadPassesOnReadErrors(t *testing.T) {
	broken := io.MultiReader(strings.NewReader(small[:90]), errReader{})
	if _, err := Read(broken); !errors.Is(err, errDisk) {
		t.Errorf("%v, want the reader's own error", err)
	}
}

var errDisk = errors.New("disk fell out")

type errReader struct{}

func (errReader) Read([]byte) (int, error) { return 0, errDisk }

// Whatever is read comes back the same after writing, and is within limits.
func FuzzRead(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte(strings.ReplaceAll(small, "\n", "\r")))
	f.Add([]byte("CTI3\nBEGIN_DATA_FORMAT\nCMYK_C CMYK_M CMYK_Y CMYK_K XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n0 0 0 0 84 87 74\n\"1\" 100 0 0 1 2 3 END_DATA"))
	f.Add([]byte("BEGIN_DATA_FORMAT A END_DATA_FORMAT\nBEGIN_DATA \"\"\nEND_DATA"))
	files, _ := filepath.Glob("../../testdata/cache/measurements/TR002.ti3")
	for _, name := range files {
		if data, err := os.ReadFile(name); err == nil {
			f.Add(data[:6000])
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		ms, err := Read(strings.NewReader(string(data)))
		if err == nil {
			for _, p := range ms.Patches {
				for _, v := range p.Device {
					if !(v >= 0 && v <= 1) {
						t.Fatalf("device value %g", v)
					}
				}
				if !(p.Lab.L >= lowestL && p.Lab.L <= highestL) {
					t.Fatalf("L* %g", p.Lab.L)
				}
			}
		}
		tables, err := ReadTables(strings.NewReader(string(data)))
		if err != nil {
			return
		}
		var b strings.Builder
		if err := WriteTables(&b, tables...); err != nil {
			var fe *FormatError
			if !errors.As(err, &fe) { // names that can be read but not written
				t.Fatal(err)
			}
			return
		}
		again, err := ReadTables(strings.NewReader(b.String()))
		if err != nil || len(again) != len(tables) {
			t.Fatalf("%v, %d tables of %d, after writing\n%s", err, len(again), len(tables), b.String())
		}
		for i := range again {
			if fmt.Sprint(again[i].Rows) != fmt.Sprint(tables[i].Rows) {
				t.Fatalf("table %d: rows %q came back as %q", i, tables[i].Rows, again[i].Rows)
			}
		}
	})
}
