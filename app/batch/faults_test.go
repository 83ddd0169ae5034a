package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/paper/papertest"
)

// full is a disk without room, as /dev/full is.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

// empty fails when a folder holds anything, hidden files too.
func empty(t *testing.T, what, dir string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		t.Errorf("%s leaves %s", what, e.Name())
	}
}

// Where standard output can't be written, the job ends with 1 and no file appears.
func TestNoOutputWhereStandardOutputIsFull(t *testing.T) {
	small := photos + "small_rec709_v4_16.png"
	for _, args := range [][]string{
		{"papers", "-write", "OUT/papers"},
		{"papers"},
		{"-help"},
		{"papers", "-help"},
		{"proof", small, "-paper", "pearl", "-out", "OUT/a.png", "-figures", "OUT/a.json"},
		{"rank", small, "-papers", "pearl", "-json", "OUT/a.json"},
		{"target", "-patches", "100", "-out", "OUT/chart"},
		{"check", "-out", "OUT/a.png"},
		{"print", small, "-paper", "pearl", "-long", "40mm", "-out", "OUT/a.tif", "-record", "OUT/a.json"},
	} {
		dir := t.TempDir()
		var line []string
		for _, a := range args {
			line = append(line, strings.Replace(a, "OUT", dir, 1))
		}
		var errs bytes.Buffer
		code := run(context.Background(), line, streams{strings.NewReader(""), full{}, &errs})
		if code != failed || strings.Count(errs.String(), "\n") != 1 || !strings.Contains(errs.String(), "standard output: no space left") {
			t.Errorf("%v: exit %d, %q", args, code, errs.String())
		}
		empty(t, args[0], dir)
	}
}

// Numbers on the command line are finite.
func TestFlagsRefuseWhatIsNoFiniteNumber(t *testing.T) {
	for _, v := range []string{"NaN", "inf", "-Inf"} {
		for _, args := range [][]string{
			{"build", "-measured", "x", "-name", "x", "-out", "x.icc", "-ink", v},
			{"build", "-measured", "x", "-name", "x", "-out", "x.icc", "-scale", v},
			{"causes", "-sigma", v}, {"check", "-out", "x.png", "-ppi", v}, {"target", "-out", "x", "-margin", v},
			{"print", "x", "-out", "x.tif", "-ppi", v},
		} {
			code, _, errs := batch("", args...)
			if name := args[len(args)-2]; code != misuse || !strings.Contains(errs, name+" is ") || !strings.Contains(errs, "no finite number") {
				t.Errorf("%v: exit %d, %q", args, code, errs)
			}
		}
	}
}

// program builds the command and returns its path.
func program(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "batch")
	if out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return path
}

// ended waits for a program that must end by itself after a signal.
func ended(t *testing.T, cmd *exec.Cmd) (code int) {
	t.Helper()
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	select {
	case err := <-done:
		if e, ok := errors.AsType[*exec.ExitError](err); ok {
			return e.ExitCode()
		}
		return 0
	case <-time.After(20 * time.Second):
		_ = cmd.Process.Kill()
		<-done
		t.Errorf("%v is deaf to the signal", cmd.Args[1:])
		return -1
	}
}

// What waits for input, for the reader of its output, or computes, ends when it is asked
// to, with 1 and nothing left behind.
func TestSignalsEndEverything(t *testing.T) {
	batch := program(t)
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
		dir := t.TempDir()
		for what, c := range map[string]struct {
			args  []string
			ready string // what it tells before it waits
		}{
			"waiting for input": {[]string{"values", "-source", "srgb", "-paper", "pearl"}, ""},
			"computing": {[]string{"proof", photos + "flower.png", "-paper", "pearl", "-out", filepath.Join(dir, "a.png"),
				"-figures", filepath.Join(dir, "a.json")}, ".firstsheet"},
		} {
			cmd := exec.Command(batch, c.args...)
			in, err := cmd.StdinPipe()
			if err != nil {
				t.Fatal(err)
			}
			var errs bytes.Buffer
			cmd.Stderr = &errs
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			for range 100 { // until it is at work
				time.Sleep(20 * time.Millisecond)
				if list, _ := os.ReadDir(dir); c.ready == "" && len(list) == 0 || len(list) > 0 {
					break
				}
			}
			time.Sleep(150 * time.Millisecond)
			if err := cmd.Process.Signal(sig); err != nil {
				t.Fatal(err)
			}
			if code := ended(t, cmd); code != failed || !strings.Contains(errs.String(), "stopped") {
				t.Errorf("%s, %v: exit %d, %q", what, sig, code, errs.String())
			}
			in.Close()
			empty(t, what, dir)
		}
	}
	// The reader of its output waits, too.
	cmd := exec.Command(batch, "values", "-source", "srgb", "-paper", "pearl")
	cmd.Stdin = strings.NewReader(strings.Repeat("1,2,3\n", 50_000))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := bufio.NewReaderSize(out, 16).ReadString('\n'); err != nil {
		t.Fatal(err)
	}
	time.Sleep(300 * time.Millisecond)
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	// Wait would close the pipe, and with it end the program.
	gone := make(chan error, 1)
	go func() {
		_, err := cmd.Process.Wait()
		gone <- err
	}()
	select {
	case <-gone:
	case <-time.After(20 * time.Second):
		_ = cmd.Process.Kill()
		t.Error("waiting for the reader of its output, it is deaf")
	}
	out.Close()
}

// A pipe whose reader has gone: the end with 1, and nothing is left of the files.
func TestAClosedPipeLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command(program(t), "proof", photos+"small_rec709_v4_16.png", "-paper", "pearl", "-out", filepath.Join(dir, "a.png"))
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	read.Close()
	cmd.Stdout = write
	err = cmd.Run()
	write.Close()
	if e, ok := errors.AsType[*exec.ExitError](err); !ok || e.ExitCode() != failed {
		t.Errorf("%v, want exit 1", err)
	}
	empty(t, "a closed pipe", dir)
}

// One paper of the library that computes what is no number is listed with what is wrong;
// it ends neither the list nor a ranking.
func TestOnePaperThatIsNotFinite(t *testing.T) {
	library := t.TempDir()
	bad := filepath.Join(library, "infinite.icc")
	if err := os.WriteFile(bad, papertest.Infinite(t, cie.D50), 0o600); err != nil {
		t.Fatal(err)
	}
	var list struct {
		Papers   []struct{ ID string }
		Problems []struct{ Path, Reason string }
	}
	if err := json.Unmarshal([]byte(mustBatch(t, "", "papers", "-json", "-library", library)), &list); err != nil {
		t.Fatal(err)
	}
	if len(list.Papers) < 4 || len(list.Problems) != 1 || list.Problems[0].Path != bad || !strings.Contains(list.Problems[0].Reason, "not finite") {
		t.Errorf("%+v", list)
	}
	for _, ref := range []string{"infinite", bad} {
		out := filepath.Join(t.TempDir(), "rank.json")
		text := mustBatch(t, "", "rank", photos+"small_rec709_v4_16.png", "-papers", "pearl,"+ref, "-library", library, "-json", out)
		if !strings.Contains(text, "left out: Infinite") || !strings.Contains(text, "not finite") || !strings.Contains(text, "1. Pearl") {
			t.Errorf("%s", text)
		}
	}
	broken := filepath.Join(t.TempDir(), "broken.icc")
	if err := os.WriteFile(broken, papertest.Infinite(t, cie.XYZ{X: 1, Y: 400, Z: 1}), 0o600); err != nil {
		t.Fatal(err)
	}
	if text := mustBatch(t, "", "rank", photos+"small_rec709_v4_16.png", "-papers", broken+",pearl"); !strings.Contains(text, "left out: "+broken+": ") || !strings.Contains(text, "no white can have") {
		t.Errorf("%s", text)
	}
	// Two names of one output, one of them through a link.
	dir := t.TempDir()
	if err := os.Symlink(".", filepath.Join(dir, "d")); err != nil {
		t.Fatal(err)
	}
	code, _, errs := batch("", "proof", photos+"small_rec709_v4_16.png", "-paper", "pearl", "-out", filepath.Join(dir, "a.png"), "-reach", dir+"/d/a.png")
	if code != failed || !strings.Contains(errs, "two outputs cannot be one file") {
		t.Errorf("exit %d, %q", code, errs)
	}
}
