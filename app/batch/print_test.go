package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"firstsheet/proof/photo"
	"firstsheet/proof/ticket"
)

// small writes a picture of 300 by 200 pixels, and returns where.
func small(t *testing.T, dir, name string, shade uint8) string {
	t.Helper()
	p := &photo.Picture{W: 300, H: 200, Channels: 3, Depth: 8, Pix8: make([]uint8, 300*200*3)}
	for i := range p.Pix8 {
		p.Pix8[i] = shade + uint8(i/3%300/3) + uint8(i%3*20)
	}
	path := filepath.Join(dir, name)
	if err := photo.Write(t.Context(), path, p, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	return path
}

func opened(t *testing.T, path string) *photo.Picture {
	t.Helper()
	p, err := photo.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// One photograph by the line that the documentation shows, in every format.
func TestPrintOne(t *testing.T) {
	dir := t.TempDir()
	in := small(t, dir, "in.png", 40)
	for _, c := range []struct {
		out   string
		args  []string
		depth int
		w, h  int
	}{
		{"a.tif", []string{"-long", "40mm", "-ppi", "300"}, 16, 472, 315},
		{"a.png", []string{"-long", "1.5in", "-ppi", "240", "-depth", "8"}, 8, 360, 240},
		{"a.jpg", []string{"-short", "2cm", "-converts", "later"}, 8, 354, 236},
		{"b.tif", []string{"-sheet", "4x6in", "-margin", "0.5in", "-ppi", "100", "-packing", "lzw"}, 16, 450, 300},
		{"c.tif", []string{"-sheet", "100x100mm", "-fill", "-border", "5mm", "-ppi", "254"}, 16, 1000, 1000},
		{"d.tif", []string{"-long", "100mm", "-ppi", "0", "-turn", "1", "-crop", "0,0,1,0.5"}, 16, 200, 150},
	} {
		out := filepath.Join(dir, c.out)
		args := append([]string{"print", in, "-paper", "pearl", "-intent", "relative", "-bpc", "on", "-sharpen", "off", "-out", out}, c.args...)
		text := mustBatch(t, "", args...)
		p := opened(t, out)
		if p.W != c.w || p.H != c.h || p.Depth != c.depth || p.ICC == nil {
			t.Errorf("%s: %d by %d pixels of %d bits, profile of %d bytes", c.out, p.W, p.H, p.Depth, len(p.ICC))
		}
		if !strings.Contains(text, "print file: ") || !strings.Contains(text, "note: ") {
			t.Errorf("%s: %s", c.out, text)
		}
	}
	if code, _, errs := batch("", "print", in, "-paper", "pearl", "-long", "40mm", "-out", in); code != failed || !strings.Contains(errs, "read in this very job") {
		t.Errorf("over the original: exit %d, %s", code, errs)
	}
	record := filepath.Join(dir, "a.json")
	mustBatch(t, "", "print", in, "-paper", "cotton", "-long", "40mm", "-driver", "off", "-out", filepath.Join(dir, "e.tif"), "-record", record)
	k, err := ticket.Open(record)
	if err != nil || k.Paper.ID != "cotton" || k.Picture.Path != in {
		t.Errorf("%+v, %v", k.Paper, err)
	}
}

func TestPrintMisuse(t *testing.T) {
	in := small(t, t.TempDir(), "in.png", 40)
	for _, c := range []struct {
		code int
		args []string
		says string
	}{
		{misuse, nil, "photograph"},
		{misuse, []string{in}, "-out"},
		{misuse, []string{in, "-out", "a.tif"}, "-paper"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl"}, "-long"},
		{misuse, []string{in, "-out", "a.bmp", "-paper", "pearl", "-long", "40mm"}, "a.bmp"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40ft"}, "40ft"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm", "-short", "40mm"}, "both"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm", "-converts", "twice"}, "-converts"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm", "-sharpen", "much"}, "-sharpen"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm", "-depth", "12"}, "12 bits"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-sheet", "A99"}, "A99"},
		{misuse, []string{in, in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm"}, "-ticket"},
		{misuse, []string{in, "-out", "d", "-ticket", "t.json", "-paper", "pearl"}, "-paper"},
		{misuse, []string{in, "-out", "d", "-ticket", "t.json", "-metadata", "nothing"}, "-metadata"},
		{misuse, []string{in, "-out", "d", "-ticket", "t.json", "-quality", "80"}, "-quality"},
		{misuse, []string{in, "-out", "a.tif", "-paper", "pearl", "-long", "40mm", "-untagged", "romm"}, "-untagged"},
		{misuse, []string{in, "-out", "a.jpg", "-paper", "pearl", "-long", "40mm", "-quality", "0"}, "-quality"},
		{failed, []string{in, "-out", "a.jpg", "-paper", "pearl", "-long", "40mm", "-depth", "16"}, "JPEG"},
		{failed, []string{in, "-out", "a.tif", "-paper", "nosuch", "-long", "40mm"}, "nosuch"},
		{failed, []string{"nosuch.png", "-out", "a.tif", "-paper", "pearl", "-long", "40mm"}, "nosuch.png"},
		{failed, []string{in, "-out", "d", "-ticket", "nosuch.json"}, "nosuch.json"},
		{failed, []string{in, "-out", "a.png", "-paper", profiles + "FOGRA39L_coated.icc", "-long", "40mm"}, "TIFF"},
	} {
		code, out, errs := batch("", append([]string{"print"}, c.args...)...)
		if code != c.code || !strings.Contains(errs, c.says) || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%q: exit %d, %s, want %d and %q", c.args, code, errs, c.code, c.says)
		}
	}
	for _, name := range []string{"a.tif", "a.jpg", "a.png", "d"} {
		if _, err := os.Stat(name); err == nil {
			t.Errorf("%s was left", name)
			os.RemoveAll(name)
		}
	}
}

// A folder through one ticket: a failure is named and the others are done; what is right
// is passed over, what was changed is made anew.
func TestPrintMany(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "prints")
	in := small(t, dir, "first.png", 40)
	small(t, dir, "second.tif", 90)
	if err := os.WriteFile(filepath.Join(dir, "third.jpg"), []byte("no picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	record := filepath.Join(t.TempDir(), "t.json")
	mustBatch(t, "", "print", in, "-paper", "pearl", "-long", "30mm", "-out", filepath.Join(t.TempDir(), "one.png"), "-record", record)

	code, text, errs := batch("", "print", dir, "-ticket", record, "-out", out, "-jobs", "2")
	if code != failed || !strings.Contains(errs, "third.jpg") || strings.Contains(errs, "first") || strings.Count(text, "\n") != 2 {
		t.Errorf("exit %d, %s%s", code, text, errs)
	}
	want := []string{"first.png", "first.ticket.json", "second.png", "second.ticket.json"}
	list := func() (names []string) {
		entries, err := os.ReadDir(out)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			names = append(names, e.Name())
		}
		return names
	}
	if !slices.Equal(list(), want) {
		t.Errorf("the folder holds %q", list())
	}
	os.Remove(filepath.Join(dir, "third.jpg"))
	old := time.Now().Add(-time.Hour)
	for _, n := range want {
		if err := os.Chtimes(filepath.Join(out, n), old, old); err != nil {
			t.Fatal(err)
		}
	}
	again := func() (anew []string) {
		mustBatch(t, "", "print", dir, "-ticket", record, "-out", out)
		for _, n := range want {
			if info, err := os.Stat(filepath.Join(out, n)); err != nil || info.ModTime().After(old.Add(time.Minute)) {
				anew = append(anew, n)
				os.Chtimes(filepath.Join(out, n), old, old)
			}
		}
		return anew
	}
	if anew := again(); anew != nil {
		t.Errorf("made anew without need: %q", anew)
	}
	// A picture that was worked on, and a print that was cut off.
	small(t, dir, "second.tif", 91)
	if err := os.Truncate(filepath.Join(out, "first.png"), 1000); err != nil {
		t.Fatal(err)
	}
	if anew := again(); !slices.Equal(anew, want) {
		t.Errorf("made anew: %q", anew)
	}
	// Two of one name would be one file.
	twin := small(t, t.TempDir(), "first.png", 100)
	code, _, errs = batch("", "print", in, twin, "-ticket", record, "-out", filepath.Join(t.TempDir(), "x"))
	if code != failed || !strings.Contains(errs, "overwrite") {
		t.Errorf("twins: exit %d, %s", code, errs)
	}
	// A stop leaves no half file.
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var b strings.Builder
	stopped := filepath.Join(t.TempDir(), "y")
	if code := run(ctx, []string{"print", in, "-ticket", record, "-out", stopped}, streams{strings.NewReader(""), &b, &b}); code != failed || !strings.Contains(b.String(), "stopped") {
		t.Errorf("stopped: exit %d, %s", code, b.String())
	}
	if entries, _ := os.ReadDir(stopped); len(entries) > 0 {
		t.Errorf("left %v", entries)
	}
}

// What untagged photographs are is said for the whole run, is recorded, and another answer
// makes them anew; a file that says itself what it is keeps that.
func TestPrintUntagged(t *testing.T) {
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "prints")
	in := small(t, dir, "bare.png", 90)
	tagged := &photo.Picture{W: 30, H: 20, Channels: 3, Depth: 8, Pix8: make([]uint8, 30*20*3)}
	icc, err := os.ReadFile(profiles + "rommrgb.icc")
	if err != nil {
		t.Fatal(err)
	}
	tagged.ICC = icc
	if err := photo.Write(t.Context(), filepath.Join(dir, "tagged.png"), tagged, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	record := filepath.Join(t.TempDir(), "t.json")
	mustBatch(t, "", "print", in, "-paper", "pearl", "-long", "30mm", "-out", filepath.Join(t.TempDir(), "p.tif"), "-record", record)
	of := func(name string) ticket.Ticket {
		t.Helper()
		k, err := ticket.Open(filepath.Join(out, name+".ticket.json"))
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	mustBatch(t, "", "print", dir, "-ticket", record, "-out", out)
	if k := of("bare"); k.Picture.Origin != "assumed" || k.Job.Setup.Source != "" {
		t.Errorf("said nothing: %+v", k.Picture)
	}
	text := mustBatch(t, "", "print", dir, "-ticket", record, "-out", out, "-untagged", "adobe1998")
	if k := of("bare"); k.Picture.Origin != "given" || k.Job.Setup.Source != "adobe1998" || !strings.Contains(k.Picture.Source, "opRGB") {
		t.Errorf("said: %+v", k.Picture)
	}
	if k := of("tagged"); k.Picture.Origin != "embedded in the file" || k.Job.Setup.Source != "" || !strings.Contains(text, "tagged.png is already right") {
		t.Errorf("tagged: %+v, %s", k.Picture, text)
	}
	if text := mustBatch(t, "", "print", dir, "-ticket", record, "-out", out, "-untagged", "adobe1998"); strings.Count(text, "already right") != 2 {
		t.Errorf("made anew without need: %s", text)
	}
	if text := mustBatch(t, "", "print", dir, "-ticket", record, "-out", out); strings.Count(text, "already right") != 1 {
		t.Errorf("sRGB again, not made anew: %s", text)
	}
}

func TestTicketCommand(t *testing.T) {
	dir := t.TempDir()
	in := small(t, dir, "in.png", 40)
	record, page := filepath.Join(dir, "t.json"), filepath.Join(dir, "t.pdf")
	mustBatch(t, "", "print", in, "-paper", "pearl", "-long", "30mm", "-out", filepath.Join(dir, "p.tif"), "-record", record)
	text := mustBatch(t, "", "ticket", record, "-pdf", page, "-verdict", "good", "-notes", "shadows open", "-light", "window, noon")
	if !strings.Contains(text, "in.png on Pearl") || !strings.Contains(text, "in the light of window, noon: good shadows open") || strings.Contains(text, "changed:") {
		t.Error(text)
	}
	if data, err := os.ReadFile(page); err != nil || !strings.HasPrefix(string(data), "%PDF-") {
		t.Errorf("page: %v", err)
	}
	if k, err := ticket.Open(record); err != nil || k.Outcome.Verdict != ticket.Good || k.Outcome.Light != "window, noon" {
		t.Errorf("%+v, %v", k.Outcome, err)
	}
	small(t, dir, "in.png", 41)
	if text := mustBatch(t, "", "ticket", record); !strings.Contains(text, "changed: The picture in.png") {
		t.Error(text)
	}
	for _, args := range [][]string{{"ticket"}, {"ticket", record, "-verdict", "superb"}, {"ticket", record, "-pdf", "x.json"}} {
		if code, _, errs := batch("", args...); code != misuse {
			t.Errorf("%q: exit %d, %s", args, code, errs)
		}
	}
	if code, _, errs := batch("", "ticket", in); code != failed || !strings.Contains(errs, "in.png") {
		t.Errorf("no ticket: exit %d, %s", code, errs)
	}
}

// The desk's picture holds each sheet as `proof` writes it, pixel for pixel.
func TestDeskCommand(t *testing.T) {
	dir := t.TempDir()
	in := small(t, dir, "in.png", 40)
	out, single := filepath.Join(dir, "desk.png"), filepath.Join(dir, "one.png")
	pins := filepath.Join(dir, "pins.json")
	if err := os.WriteFile(pins, []byte(`[{"name":"hull","x":0.1,"y":0.1,"radius":0.01}]`), 0o600); err != nil {
		t.Fatal(err)
	}
	mustBatch(t, "", "desk", in, "-sheets", "original,pearl,cotton:perceptual:off", "-side", "300", "-out", out)
	mustBatch(t, "", "proof", in, "-paper", "cotton", "-intent", "perceptual", "-bpc", "off", "-out", single)
	desk, sheet := opened(t, out), opened(t, single)
	if desk.ICC == nil {
		t.Error("no profile in it")
	}
	row := sheet.Pix8[100*300*3 : 101*300*3]
	if !strings.Contains(string(desk.Pix8), string(row)) {
		t.Error("the third sheet is not the proof")
	}
	mustBatch(t, "", "desk", in, "-sheets", "pearl", "-white", "paper", "-pins", pins, "-side", "300", "-out", filepath.Join(dir, "b.jpg"))
	for _, args := range [][]string{
		{"desk", in}, {"desk", in, "-out", out}, {"desk", in, "-sheets", "a,b,c,d,e", "-out", out}, {"desk", in, "-sheets", "pearl", "-out", "x.gif"},
		{"desk", in, "-sheets", "pearl", "-white", "grey", "-out", out}, {"desk", in, "-sheets", "pearl", "-side", "3", "-out", out},
	} {
		if code, _, errs := batch("", args...); code != misuse {
			t.Errorf("%q: exit %d, %s", args, code, errs)
		}
	}
	if code, _, errs := batch("", "desk", in, "-sheets", "nosuch:relative", "-out", out); code != failed || !strings.Contains(errs, "nosuch") {
		t.Errorf("no such paper: exit %d, %s", code, errs)
	}
}
