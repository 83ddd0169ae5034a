// Package printrun prints many photographs through one job ticket: each gets its print
// file and its own ticket beside it. A failure is reported and the others are done; what
// is already right is passed over, so that a run that was stopped can be taken up again.
package printrun

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

// Run is what a run needs to know.
type Run struct {
	// Ticket holds every choice; the ending of its file's name is the format of all.
	Ticket ticket.Ticket
	// ProfileID is that of the paper's profile as it is now.
	ProfileID string
	// Dir is the folder for prints and tickets, which is made where it is missing.
	Dir string
	// Jobs is how many photographs are worked on at once, at least 1.
	Jobs int
	// Engine computes, and Open opens a photograph and prepares its print.
	Engine printfile.Engine
	Open   func(ctx context.Context, path string, job printfile.Job) (*printfile.Print, error)
	// Untagged is what a photograph's numbers are where its file does not say so, as in a
	// set-up; "" for sRGB, which is an assumption then. Open sees to it.
	Untagged string
	// Keep names files that must not be overwritten, beside the photographs.
	Keep []string
}

// Result is how one photograph went.
type Result struct {
	Path string
	// Out is its print file.
	Out string
	// Kept says that it was right already.
	Kept bool
	Err  error
	// Done of Total photographs are finished, this one among them.
	Done, Total int
}

// Do prints the photographs and reports each as it is finished, from one goroutine at a
// time. It returns ctx's error when it was stopped, and an error that counts those that
// failed.
func (r Run) Do(ctx context.Context, photographs []string, report func(Result)) error {
	if info, err := os.Stat(r.Dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s: it is no folder", r.Dir)
	}
	if err := os.MkdirAll(r.Dir, 0o777); err != nil {
		return err
	}
	s := &state{Run: r, total: len(photographs), report: report, names: map[string]string{}}
	next := make(chan string)
	var group sync.WaitGroup
	for range min(max(r.Jobs, 1), len(photographs)) {
		group.Go(func() {
			for path := range next {
				s.finish(s.one(ctx, path))
				runtime.GC() // a picture's memory is free before the next one is opened
			}
		})
	}
	for _, p := range photographs {
		if ctx.Err() != nil {
			break
		}
		next <- p
	}
	close(next)
	group.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	if len(s.failed) > 0 {
		return fmt.Errorf("%d of %d photographs could not be printed: %s", len(s.failed), s.total, strings.Join(s.failed, ", "))
	}
	return nil
}

// state is a run under way.
type state struct {
	Run
	total  int
	report func(Result)

	mu     sync.Mutex
	names  map[string]string // which photograph writes a file
	done   int
	failed []string
}

func (s *state) finish(r Result) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if errors.Is(r.Err, context.Canceled) {
		return
	}
	s.done++
	r.Done, r.Total = s.done, s.total
	if r.Err != nil {
		s.failed = append(s.failed, r.Path)
	}
	s.report(r)
}

// one prints one photograph, unless that was done before.
func (s *state) one(ctx context.Context, path string) (r Result) {
	ext := strings.ToLower(filepath.Ext(s.Ticket.File.Name))
	if ext == "" {
		ext = ".tif"
	}
	stem := filepath.Join(s.Dir, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)))
	r = Result{Path: path, Out: stem + ext}
	record := stem + ".ticket.json"
	fail := func(err error) Result {
		r.Err = err
		return r
	}
	if err := s.claim(r.Out, path); err != nil {
		return fail(err)
	}
	hash, err := ticket.Hash(ctx, path)
	if err != nil {
		return fail(err)
	}
	if r.Kept = s.right(ctx, r.Out, record, hash); r.Kept {
		return r
	}
	p, err := s.Open(ctx, path, s.Ticket.Job)
	if err != nil {
		return fail(err)
	}
	defer p.Close()
	keep := append([]string{path}, s.Keep...)
	if err := p.Write(ctx, r.Out, keep, nil); err != nil {
		return fail(err)
	}
	t, err := ticket.New(ctx, s.Engine, p, r.Out, hash, nil, time.Now())
	if err != nil {
		return fail(err)
	}
	// The ticket comes last: where it is, the file is complete.
	return fail(t.Write(ctx, record, append(keep, r.Out)))
}

// claim refuses two photographs of one name.
func (s *state) claim(out, path string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if other, taken := s.names[out]; taken {
		return fmt.Errorf("%s would overwrite the print of %s; give it another name", path, other)
	}
	s.names[out] = path
	return nil
}

// right reports whether a print and its ticket are there, unchanged, and were made from
// the same picture by the same job with the same profile.
func (s *state) right(ctx context.Context, out, record, hash string) bool {
	t, err := ticket.Open(record)
	if err != nil || t.Picture.SHA256 != hash || t.Paper.ProfileID != s.ProfileID {
		return false
	}
	job := s.Ticket.Job
	if job.Sharpen.Finish == printfile.FinishOfPaper {
		t.Job.Sharpen.Finish = job.Sharpen.Finish // it was found out from the paper's card
	}
	if t.Job.Setup.Source == s.Untagged {
		t.Job.Setup.Source = job.Setup.Source // it was said for the run, not in the ticket
	}
	if t.Job != job || s.Untagged != "" && t.Picture.Origin == setup.Assumed.String() {
		return false
	}
	now, err := ticket.Hash(ctx, out)
	return err == nil && now == t.File.SHA256
}

// Photographs returns the files named, and those in the folders named that look like
// pictures, in the order of their names.
func Photographs(named []string) ([]string, error) {
	var out []string
	for _, a := range named {
		info, err := os.Stat(a)
		if err != nil || !info.IsDir() {
			out = append(out, a) // what is wrong with it is said in its turn
			continue
		}
		entries, err := os.ReadDir(a)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			ext := strings.ToLower(filepath.Ext(e.Name()))
			if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") && slices.Contains([]string{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".hif", ".avif"}, ext) {
				out = append(out, filepath.Join(a, e.Name()))
			}
		}
	}
	if len(out) == 0 {
		return nil, errors.New("no photographs in the folders named")
	}
	return out, nil
}
