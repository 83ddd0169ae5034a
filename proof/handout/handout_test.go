package handout

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/space"
)

func picture(t *testing.T, w, h int, asJPEG bool, tint uint8) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.SetRGBA(x, y, color.RGBA{uint8(255 * x / w), uint8(255 * y / h), tint, 255})
		}
	}
	var b bytes.Buffer
	var err error
	if asJPEG {
		err = jpeg.Encode(&b, m, nil)
	} else {
		err = png.Encode(&b, m)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func document(t *testing.T) Document {
	t.Helper()
	d := Document{
		Title: "Why prints go orange · regatta day", Profile: space.SRGB().ICC(), ProfileName: "sRGB",
		Made: time.Date(2024, 5, 6, 7, 8, 9, 0, time.UTC),
	}
	for i, title := range []string{"Wrong source space", "Converted twice"} {
		d.Sheets = append(d.Sheets, Sheet{
			Title:  title,
			Reason: "This shirt turns 14 degrees from red towards orange, duller, a little darker, because the driver took Display P3 numbers for sRGB numbers.",
			Right:  Picture{picture(t, 300, 200, false, 40), "As it should be: pearl, relative colorimetric, compensation on"},
			Wrong:  Picture{picture(t, 300, 200, i == 1, 140), "Gone wrong"},
			Route: []Station{
				{Title: "photo", Detail: "ROMM RGB, embedded"},
				{Title: "the driver converts", Detail: "perceptual, compensation off", Broken: true, Why: "takes ROMM RGB for sRGB"},
				{Title: "pearl’s numbers", Detail: "8-ink printer"},
				{Title: "ink on pearl", Detail: "white 96, 0, −2"},
				{Title: "this screen", Detail: "sRGB, assumed"},
			},
			Rows: []Row{
				{"shirt", "44, 64, 42", "43, 53, 50", "7.1", "turns 10 degrees from red towards orange, duller"},
				{"leaf", "46, −24, 30", "47, −18, 34", "4.9", "turns 11 degrees from yellow-green towards yellow, duller"},
				{"cheek", "66, 18, 18", "64, 15, 24", "5.6", "turns 13 degrees towards yellow"},
			},
			Recognise: "The whole picture is off in one way, greys stay grey.",
			Prevent:   "Embed the profile when saving.",
			Cautions:  []string{"A proof is only as good as the screen’s calibration and the light the print is judged in; it is no contract."},
		})
	}
	return d
}

func write(t *testing.T, d Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, d); err != nil {
		t.Fatal(err)
	}
	if dir := os.Getenv("FIRSTSHEET_SEE"); dir != "" {
		name := fmt.Sprintf("%s/%s-%s.pdf", dir, t.Name(), d.Page)
		if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// sections follows the chain of cross-reference tables, newest first, and checks
// that every object in use is where its table says (ISO 32000-1, 7.5.4). It
// returns the place of the newest version of each object.
func sections(t *testing.T, pdf []byte) map[int]int {
	t.Helper()
	newest := map[int]int{}
	start := regexp.MustCompile(`startxref\s+(\d+)\s+%%EOF\s*$`).FindSubmatch(pdf)
	if start == nil {
		t.Fatal("no startxref at the end")
	}
	next := string(start[1])
	for next != "" {
		at, _ := strconv.Atoi(next)
		section := pdf[at:]
		if !bytes.HasPrefix(section, []byte("xref\n")) {
			t.Fatalf("no table at %d", at)
		}
		lines := strings.Split(string(section[:bytes.Index(section, []byte("trailer"))]), "\n")[1:]
		for i := 0; i < len(lines) && lines[i] != ""; {
			var first, count int
			if _, err := fmt.Sscanf(lines[i], "%d %d", &first, &count); err != nil {
				t.Fatalf("section %q: %v", lines[i], err)
			}
			i++
			for k := range count {
				row := lines[i+k]
				if len(row) != 19 {
					t.Fatalf("entry %q is not 20 bytes", row)
				}
				if row[17] != 'n' {
					continue
				}
				offset, _ := strconv.Atoi(row[:10])
				if want := fmt.Sprintf("%d 0 obj", first+k); !bytes.HasPrefix(pdf[offset:], []byte(want)) {
					t.Fatalf("object %d is not at %d but %q", first+k, offset, pdf[offset:offset+12])
				}
				if _, ok := newest[first+k]; !ok {
					newest[first+k] = offset
				}
			}
			i += count
		}
		trailer := section[bytes.Index(section, []byte("trailer")):]
		next = ""
		if m := regexp.MustCompile(`^trailer\s*<<[^>]*/Prev (\d+)`).FindSubmatch(trailer); m != nil {
			next = string(m[1])
		}
	}
	return newest
}

func TestWrite(t *testing.T) {
	for _, size := range []struct {
		page Page
		box  string
	}{{A4, "[0 0 595.28 841.89]"}, {Letter, "[0 0 612.00 792.00]"}} {
		d := document(t)
		d.Page = size.page
		pdf := write(t, d)
		objects := sections(t, pdf)
		if n := bytes.Count(pdf, []byte("/Type /Page\n")); n != 2 {
			t.Errorf("%d pages, want 2", n)
		}
		if !bytes.Contains(pdf, []byte("/MediaBox "+size.box)) {
			t.Errorf("%v: no page of %s", size.page, size.box)
		}
		// The newest resources name the profile as the meaning of RGB.
		m := regexp.MustCompile(`^2 0 obj\n[^)]*?/ColorSpace <<\s*/DefaultRGB \[/ICCBased (\d+) 0 R\]\s*>>`).FindSubmatch(pdf[objects[2]:])
		if m == nil {
			t.Fatalf("resources are %q", pdf[objects[2]:objects[2]+80])
		}
		n, _ := strconv.Atoi(string(m[1]))
		stream := pdf[objects[n]:]
		stream = stream[bytes.Index(stream, []byte("stream\n"))+7:]
		z, err := zlib.NewReader(bytes.NewReader(stream))
		if err != nil {
			t.Fatal(err)
		}
		profile, err := io.ReadAll(z)
		if err != nil || !bytes.Equal(profile, d.Profile) {
			t.Errorf("the embedded profile has %d bytes, want %d (%v)", len(profile), len(d.Profile), err)
		}
		if !bytes.Contains(pdf, []byte(fmt.Sprintf("/DestOutputProfile %d 0 R", n))) {
			t.Error("no output intent")
		}
		// Both fonts are embedded, and the pictures are in.
		if n := bytes.Count(pdf, []byte("/FontFile2")); n != 2 {
			t.Errorf("%d fonts embedded, want 2", n)
		}
		if n := bytes.Count(pdf, []byte("/Subtype /Image")); n != 3 { // the first of each pair is one and the same
			t.Errorf("%d pictures, want 3", n)
		}
		if again := write(t, d); len(again) != len(pdf) {
			t.Errorf("the same data give %d bytes, then %d", len(pdf), len(again))
		}
	}
}

// A page that has far more to say than room keeps its foot and its size.
func TestTooMuch(t *testing.T) {
	d := document(t)
	s := &d.Sheets[0]
	for i := range 60 {
		s.Rows = append(s.Rows, Row{fmt.Sprintf("pin %d", i), "50, 0, 0", "50, 0, 0", "0.0", strings.Repeat("unchanged to the eye ", 9)})
	}
	s.Title = strings.Repeat("A very long title ", 20)
	s.Reason = strings.Repeat("because of this and that ", 60)
	s.Recognise = strings.Repeat("by this and by that ", 100)
	s.Cautions = append(s.Cautions, strings.Repeat("mind this and that ", 400))
	s.Route = append(s.Route, s.Route...)
	s.Right.Data = picture(t, 100, 900, false, 3)
	pdf := write(t, d)
	sections(t, pdf)
	if n := bytes.Count(pdf, []byte("/Type /Page\n")); n != 2 {
		t.Errorf("%d pages, want 2", n)
	}
	// A route of fifty stations cannot be shown on one page, and that is said.
	for range 3 {
		s.Route = append(s.Route, s.Route...)
	}
	if err := Write(io.Discard, d); !errors.Is(err, ErrTooMuch) {
		t.Errorf("80 stations: %v", err)
	}
}

func TestFailures(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*Document)
		sheet int
	}{
		{"no pages", func(d *Document) { d.Sheets = nil }, 0},
		{"no profile", func(d *Document) { d.Profile = nil }, 0},
		{"profile of something", func(d *Document) { d.Profile = bytes.Repeat([]byte("x"), 500) }, 0},
		{"no picture", func(d *Document) { d.Sheets[1].Wrong.Data = nil }, 2},
		{"not a picture", func(d *Document) { d.Sheets[0].Right.Data = []byte("GIF89a....") }, 1},
		{"half a picture", func(d *Document) { d.Sheets[1].Right.Data = d.Sheets[1].Right.Data[:60] }, 2},
	} {
		d := document(t)
		c.spoil(&d)
		var b bytes.Buffer
		err := Write(&b, d)
		var e *Error
		if !errors.As(err, &e) || e.Sheet != c.sheet {
			t.Errorf("%s: %v, want an error of page %d", c.name, err, c.sheet)
		}
		if b.Len() != 0 {
			t.Errorf("%s: %d bytes written", c.name, b.Len())
		}
	}
	d := document(t)
	d.Sheets = nil
	if err := Write(io.Discard, d); !errors.Is(err, ErrNothing) {
		t.Errorf("no pages: %v", err)
	}
	full := errors.New("disk full")
	if err := Write(failing{full}, document(t)); !errors.Is(err, full) {
		t.Errorf("a failing writer: %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func TestManageNeedsAWholeFile(t *testing.T) {
	for _, s := range []string{"", "%PDF-1.3\n2 0 obj\n<<\n/A 1\n>>\nendobj\n", "x\n2 0 obj\n<<\n/A 1\n>>\nendobj\ntrailer\n<<\n/Size 4\n"} {
		if _, err := Manage([]byte(s), nil, ""); err == nil {
			t.Errorf("%q is managed", s)
		}
	}
}
