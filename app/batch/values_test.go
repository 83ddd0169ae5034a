package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestValuesFormat(t *testing.T) {
	out := mustBatch(t, "\ufeffr,g,b\r\n\r\n# a remark\r\n200, 30 ,40\r\n127.5,127.5,127.5\r\n0,0,0", "values", "-source", "srgb", "-paper", "pearl")
	lines := strings.Split(out, "\n")
	if lines[0] != "c1,c2,c3,L0,a0,b0,L,a,b,dE00,reach,R,G,B" || len(lines) != 5 || lines[4] != "" {
		t.Fatalf("%q", out)
	}
	for i, want := range []string{"200,30,40,", "127.5,127.5,127.5,", "0,0,0,"} {
		if !strings.HasPrefix(lines[i+1], want) {
			t.Errorf("row %d is %q, want it to begin with %q", i, lines[i+1], want)
		}
		for k, f := range strings.Split(lines[i+1], ",")[3:] {
			if _, decimals, _ := strings.Cut(f, "."); len(decimals) < 5 {
				t.Errorf("row %d, column %d: %q has too few decimals", i, k+3, f)
			}
		}
	}
	// Shirt red under D50, as published conversions of sRGB give it.
	got := readTable(t, out)
	for column, want := range map[string]float64{"L0": 44.10, "a0": 63.91, "b0": 41.73} {
		if math.Abs(got[column][0]-want) > 0.006 {
			t.Errorf("%s = %.4f, want %.2f", column, got[column][0], want)
		}
	}
	if out := mustBatch(t, "", "values", "-source", "srgb", "-paper", "pearl", "-device"); out != "c1,c2,c3,L0,a0,b0,L,a,b,dE00,reach,R,G,B,D1,D2,D3\n" {
		t.Errorf("without colours: %q", out)
	}
}

// Flags may stand anywhere, and what is left out is the usual.
func TestFlagsInAnyOrder(t *testing.T) {
	all := "10,20,30\n240,10,200\n"
	usual := mustBatch(t, all, "values", "-paper", "pearl", "-source", "srgb")
	spelled := mustBatch(t, all, "values", "-screen=srgb", "--white", "screen", "-bpc", "on", "-slip", "none", "-intent", "relative", "-source", "srgb", "-paper=pearl")
	if usual != spelled {
		t.Error("the defaults are not relative, on, screen, none")
	}
	for _, args := range [][]string{{"-json", "x"}, {"x", "-json"}} {
		if code, _, errs := batch("", append([]string{"papers"}, args...)...); code != misuse || !strings.Contains(errs, `"x"`) {
			t.Errorf("papers %v: exit %d, %s", args, code, errs)
		}
	}
}

// Sources of one and four channels have one column a channel.
func TestValuesOfOtherChannels(t *testing.T) {
	out := mustBatch(t, "0\n255\n", "values", "-source", profiles+"default_gray.icc", "-paper", "pearl")
	if !strings.HasPrefix(out, "c1,L0,") {
		t.Errorf("%q", out)
	}
	got := readTable(t, out)
	if got["L0"][0] > 1 || got["L0"][1] < 99 {
		t.Errorf("black and white of a grey space have L* %v", got["L0"])
	}
	ink := [][]float64{{0, 0, 0, 0}, {255, 0, 127.5, 51}}
	got = values(t, ink, "-source", profiles+"FOGRA39L_coated.icc", "-paper", "pearl")
	want := transicc(t, scaled(ink, 100.0/255), "-i", profiles+"FOGRA39L_coated.icc", "-o", "*Lab", "-t1")
	if row, d := worst(got.rows("L0", "a0", "b0"), want); d > labTolerance {
		t.Errorf("row %d is off by %g", row, d)
	}
}

func TestBadLines(t *testing.T) {
	for name, c := range map[string]struct{ in, says string }{
		"word":         {"1,2,3\nred,2,3\n", `line 2: "red" is no number`},
		"too few":      {"r,g,b\n\n1,2\n", "standard input, line 3: a colour has 3 numbers separated by commas, here are 2"},
		"too many":     {"1,2,3,4\n", "line 1: a colour has 3 numbers separated by commas, here are 4"},
		"empty field":  {"1,,3\n", "line 1: "},
		"not a number": {"1,NaN,3\n", "line 1: "},
		"infinite":     {"1,2,3\n# x\n1,inf,3\n", "line 3: "},
		"negative":     {"-1,2,3\n", "line 1: -1 is not between 0 and 255"},
		"too large":    {"1,2,255.001\n", "line 1: 255.001 is not"},
		"underscore":   {"1_0,2,3\n", `line 1: "1_0" is no number`},
		"hexadecimal":  {"0x1p4,2,3\n", `line 1: "0x1p4" is no number`},
		"late header":  {"1,2,3\nr,g,b\n", "line 2: "},
		"comma":        {"1;2;3\n", "here are 1"},
		"long line":    {"1,2,3\n" + strings.Repeat("1", 100_000) + ",2,3\n", "line 2: it has more than"},
		"binary":       {"\x00\x01\x02\n", "line 1: "},
	} {
		code, out, errs := batch(c.in, "values", "-source", "srgb", "-paper", "pearl")
		if code != failed || !strings.Contains(errs, c.says) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: exit %d, %q, want %q", name, code, errs, c.says)
		}
		good := strings.Count(c.in[:strings.Index(c.in+"\n", "\n")], "1,2,3") // lines before the bad one are answered
		if strings.HasPrefix(c.in, "1,2,3\n") && strings.Count(out, "\n") != 1+good {
			t.Errorf("%s: %d rows, want the header and %d", name, strings.Count(out, "\n"), good)
		}
	}
}

// In a pipe each colour is answered before the next is sent.
func TestValuesStream(t *testing.T) {
	in, send := io.Pipe()
	receive, out := io.Pipe()
	code := make(chan int, 1)
	go func() {
		code <- run(context.Background(), []string{"values", "-source", "srgb", "-paper", "pearl"}, streams{in, out, io.Discard})
		out.Close()
	}()
	stop := time.AfterFunc(20*time.Second, func() { receive.CloseWithError(fmt.Errorf("no answer")) })
	defer stop.Stop()
	answers := bufio.NewScanner(receive)
	for i := range 3 {
		fmt.Fprintf(send, "%d,2,3\n", i)
		for answers.Scan() && strings.HasPrefix(answers.Text(), "c1,") {
		}
		if want := fmt.Sprintf("%d,2,3,", i); !strings.HasPrefix(answers.Text(), want) {
			t.Fatalf("answer %q, want %q (%v)", answers.Text(), want, answers.Err())
		}
	}
	send.Close()
	if c := <-code; c != done {
		t.Errorf("exit %d", c)
	}
}

// More colours than are computed at once come out one for one and in order.
func TestManyColours(t *testing.T) {
	var in [][]float64
	for i := range 5000 {
		in = append(in, []float64{float64(i % 256), float64(i / 256), 7.25})
	}
	got := values(t, in, "-source", "srgb", "-paper", profiles+"cmyk.icc")
	if row, d := worst(got.rows("c1", "c2", "c3"), in); d != 0 {
		t.Errorf("row %d is %v", row, got.rows("c1", "c2", "c3")[row])
	}
	few := values(t, in[3000:3003], "-source", "srgb", "-paper", profiles+"cmyk.icc")
	if row, d := worst(got.rows("L", "a", "b")[3000:3003], few.rows("L", "a", "b")); d != 0 {
		t.Errorf("row %d differs by %g when computed alone", 3000+row, d)
	}
}

// What cannot be ends with 1, what makes no sense with 2, each with one line.
func TestExits(t *testing.T) {
	dir := t.TempDir()
	empty, text := filepath.Join(dir, "empty.icc"), filepath.Join(dir, "text.icc")
	for path, content := range map[string]string{empty: "", text: strings.Repeat("text ", 200)} {
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	v := func(args ...string) []string { return append([]string{"values"}, args...) }
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, misuse, "usage"},
		{[]string{"publish"}, misuse, `"publish"`},
		{v(), misuse, "-source"},
		{v("-source", "srgb"), misuse, "-paper"},
		{v("-source", "srgb", "-paper", "pearl", "-intent", "nice"), misuse, "nice"},
		{v("-source", "srgb", "-paper", "pearl", "-bpc", "yes"), misuse, "yes"},
		{v("-source", "srgb", "-paper", "pearl", "-white", "grey"), misuse, "grey"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "often"), misuse, "often"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "none,twice"), misuse, "none"},
		{v("-source", "srgb", "-paper", "pearl", "-second", "absolute"), misuse, "absolute"},
		{v("-source", "srgb", "-paper", "pearl", "-nosuch"), misuse, "nosuch"},
		{v("-source", "srgb", "-paper", "pearl", "extra"), misuse, "extra"},
		{v("-source", "srgb", "-paper"), misuse, "paper"},
		{v("-source", "nosuch", "-paper", "pearl"), failed, "nosuch"},
		{v("-source", "srgb", "-paper", "nosuch"), failed, "nosuch"},
		{v("-source", "srgb", "-paper", empty), failed, empty},
		{v("-source", "srgb", "-paper", text), failed, text},
		{v("-source", "srgb", "-paper", dir), failed, dir},
		{v("-source", text, "-paper", "pearl"), failed, text},
		{v("-source", profiles+"Crayons.icc", "-paper", "pearl"), failed, "Crayons.icc"},
		{v("-source", "srgb", "-paper", profiles+"sRGB.icc"), failed, "sRGB.icc"},
		{v("-source", "srgb", "-paper", "pearl", "-screen", profiles+"cmyk.icc"), failed, "cmyk.icc"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "wrongsource"), misuse, "needs -reads"},
		{v("-source", "srgb", "-paper", "pearl", "-reads", "romm"), misuse, "-reads"},
		{v("-source", "srgb", "-paper", "pearl", "-otherpaper", "cotton", "-slip", "twice"), misuse, "-otherpaper"},
		{v("-source", "srgb", "-paper", "pearl", "-setting", "matte"), misuse, "-setting"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "otherpaper"), misuse, "needs -otherpaper"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "otherpaper", "-otherpaper", profiles+"cmyk.icc"), failed, "4"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "never,twice"), failed, "never"},
		{v("-source", "srgb", "-paper", "pearl", "-slip", "wrongsetting", "-setting", "none"), failed, "none"},
		{v("-source", "srgb", "-paper", profiles+"cmyk.icc", "-slip", "never"), failed, "cmyk.icc"},
		{v("-source", "srgb", "-paper", profiles+"cmyk.icc", "-slip", "twice"), failed, "cmyk.icc"},
		{v("-source", "srgb", "-paper", profiles+"cmyk.icc", "-slip", "wrongsetting"), failed, "ink model"},
		{[]string{"proof", "-paper", "pearl", "-out", "x.png"}, misuse, "one photograph"},
		{[]string{"proof", "x.png", "-paper", "pearl"}, misuse, "-out"},
		{[]string{"proof", "x.png", "-paper", "pearl", "-out", "x.gif"}, misuse, "x.gif"},
		{[]string{"target"}, misuse, "-out"},
		{[]string{"target", "-out", dir, "-patches", "7"}, misuse, "7"},
		{[]string{"build"}, misuse, "-name"},
		{[]string{"build", "-name", "x", "-out", "x.icc", "-copyright", "naïve"}, misuse, "-copyright"},
		{[]string{"build", "-name", "x", "-out", filepath.Join(dir, "x.icc")}, misuse, "-measured"},
		{[]string{"build", "-name", "x", "-out", filepath.Join(dir, "x.icc"), "-measured", empty}, failed, empty},
		{[]string{"build", "-name", "x", "-out", filepath.Join(dir, "x.icc"), "-measured", text}, failed, text},
		{[]string{"verify", "-paper", "pearl", "-measured", filepath.Join(dir, "none")}, failed, "none"},
		{[]string{"rank", "x.png"}, misuse, "-papers"},
		{[]string{"rank", "x.png", "-papers", "pearl,pearl"}, misuse, "twice"},
	} {
		code, out, errs := batch("1,2,3\n", c.args...)
		if code != c.code || !strings.Contains(errs, c.says) {
			t.Errorf("%v: exit %d, %q, want exit %d and %q", c.args, code, errs, c.code, c.says)
		}
		if code == failed && (strings.Count(errs, "\n") != 1 || out != "") {
			t.Errorf("%v: %q, want one line on standard error and nothing else", c.args, errs+out)
		}
	}
	left, _ := os.ReadDir(dir)
	if len(left) != 2 {
		t.Errorf("%d files lie in the folder, want the two that were there", len(left))
	}
	for _, args := range [][]string{{"help"}, {"-h"}, {"values", "-help"}, {"proof", "-h"}} {
		if code, out, _ := batch("", args...); code != done || !strings.Contains(out, "usage") {
			t.Errorf("%v: exit %d, %q", args, code, out)
		}
	}
}

// Every column has a name of its own, whatever the source's channels.
func TestHeaderNamesColumnsApart(t *testing.T) {
	for channels := 1; channels <= 15; channels++ {
		h := header(channels, 15, true)
		names := strings.Split(strings.TrimSuffix(h, "\n"), ",")
		seen := map[string]bool{}
		for _, n := range names {
			if seen[n] {
				t.Errorf("%d channels: two columns are named %s", channels, n)
			}
			seen[n] = true
		}
		if len(names) != channels+11+15 {
			t.Errorf("%d channels: %d columns, want %d", channels, len(names), channels+11+15)
		}
	}
}
