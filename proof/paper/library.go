package paper

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/words"
)

// Library is the built-in papers together with a person's own: profiles in one
// folder, each with a card beside it. It may be used from several goroutines at
// once, and several programs may use one folder.
type Library struct {
	dir     string
	dirErr  error
	builtin []Paper

	mu   sync.Mutex
	seen map[string]seen // by file name
}

// seen is a file of the folder as it was last read.
type seen struct {
	size    int64
	time    time.Time
	profile *proof.Profile
	err     error
}

// Problem is a file in the folder that cannot be used.
type Problem struct {
	Path string
	Err  error
}

// Open returns the library in a folder; "" stands for the usual one,
// firstsheet/papers among the user's settings. The folder is created when the first
// paper is added. Where a user has no settings folder the library holds the
// built-in papers only.
func Open(dir string) *Library {
	l := &Library{dir: dir, builtin: All(), seen: map[string]seen{}}
	if dir == "" {
		config, err := os.UserConfigDir()
		if err != nil {
			l.dirErr = err
			return l
		}
		l.dir = filepath.Join(config, "firstsheet", "papers")
	}
	return l
}

// Dir returns the folder, "" when there is none.
func (l *Library) Dir() string { return l.dir }

const cardEnding = ".card.json"

// isProfile tells a profile by its ending; asides start with a dot.
func isProfile(name string) bool {
	ending := strings.ToLower(filepath.Ext(name))
	return (ending == ".icc" || ending == ".icm") && !strings.HasPrefix(name, ".")
}

func stem(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

// Add copies the profile in a file into the folder, named by its description, and
// returns it as a paper.
//
// The error is a *FileError, a *proof.ProfileError when the file holds no profile
// that can serve as a paper, or a *DuplicateError naming the paper that has the
// same profile. Nothing is left in the folder then.
func (l *Library) Add(path string) (Paper, error) {
	data, err := readFile(path)
	if err != nil {
		return Paper{}, err
	}
	return l.AddBytes(path, data)
}

// AddBytes is [Library.Add] for a profile in memory. name stands for the path in
// errors.
func (l *Library) AddBytes(name string, data []byte) (Paper, error) {
	if len(data) == 0 {
		return Paper{}, &FileError{name, Empty, errors.New("it has 0 bytes")}
	}
	profile, err := proof.NewProfile("", bytes.Clone(data))
	if err == nil {
		err = profile.CheckPaper()
	}
	if err == nil {
		// What Little CMS refuses would fail on the desk, where it is too late.
		err = try(profile)
	}
	if err != nil {
		return Paper{}, naming(name, err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.dir == "" {
		return Paper{}, &FileError{"the folder of papers", NotWritable, l.dirErr}
	}
	if err := os.MkdirAll(l.dir, 0o755); err != nil {
		return Paper{}, &FileError{l.dir, NotWritable, aside.Bare(err)}
	}
	aside.Sweep(l.dir)
	// Another program may add at the same moment: no file is ever replaced, and the
	// list is read again after each clash.
	for range 1000 {
		papers, _ := l.list()
		for _, p := range papers {
			if p.Profile.ID() == profile.ID() {
				return Paper{}, &DuplicateError{p}
			}
		}
		final := filepath.Join(l.dir, freeName(profile.Name(), papers, l.dir)+".icc")
		switch err := aside.New(final, aside.Holding(profile.Data())); {
		case errors.Is(err, fs.ErrExist):
			continue
		case err != nil:
			return Paper{}, &FileError{l.dir, NotWritable, aside.Bare(err)}
		}
		// Whoever linked the same profile under another name meanwhile sees this one
		// too; the shorter name stays, and of equally long ones the first.
		papers, _ = l.list()
		for _, p := range papers {
			first := len(p.Path) < len(final) || len(p.Path) == len(final) && p.Path < final
			if p.Profile.ID() == profile.ID() && p.Path != final && first {
				os.Remove(final)
				return Paper{}, &DuplicateError{p}
			}
		}
		for _, p := range papers {
			if p.Path == final {
				return p, nil
			}
		}
		return Paper{}, &FileError{final, NotFound, errors.New("another program has taken it away")}
	}
	return Paper{}, &FileError{l.dir, NotWritable, errors.New("no free name is left")}
}

// SetCard keeps what is known of a paper, also of a built-in one.
func (l *Library) SetCard(id string, c Card) error {
	if err := c.Check(); err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil {
		return err
	}
	if l.dir == "" {
		return &FileError{"the folder of papers", NotWritable, l.dirErr}
	}
	path := l.besides(p, cardEnding)
	return l.writeJSON(path, c)
}

// writeJSON writes what is known of a paper, complete or not at all. The caller
// holds mu.
func (l *Library) writeJSON(path string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(l.dir, 0o755); err != nil {
		return &FileError{l.dir, NotWritable, aside.Bare(err)}
	}
	if err := aside.Write(path, aside.Holding(append(data, '\n'))); err != nil {
		return &FileError{path, NotWritable, aside.Bare(err)}
	}
	return nil
}

// find returns the paper with an ID. The caller holds mu.
func (l *Library) find(id string) (Paper, error) {
	papers, _ := l.list()
	for _, p := range papers {
		if p.ID == id {
			return p, nil
		}
	}
	return Paper{}, &UnknownError{id}
}

// Resolve returns the paper that ref names: the ID of a built-in or an added one,
// or the path of a profile that need not be in the library. Its ID is then the path.
//
// The error is an *UnknownError, a *FileError or a *proof.ProfileError.
func (l *Library) Resolve(ref string) (Paper, error) {
	for _, p := range l.builtin { // without looking into the folder
		if p.ID == ref {
			return l.withOwnCard(p), nil
		}
	}
	l.mu.Lock()
	p, err := l.find(ref)
	l.mu.Unlock()
	if err == nil {
		return p, nil
	}
	profile, err := ReadProfile(ref)
	if err == nil {
		err = naming(ref, profile.CheckPaper())
	}
	if fe, ok := errors.AsType[*FileError](err); ok && fe.Kind == NotFound && !strings.ContainsAny(ref, `./\`) {
		return Paper{}, &UnknownError{ref}
	}
	if err != nil {
		return Paper{}, err
	}
	return Paper{ID: ref, Name: profile.Name(), Profile: profile, Path: ref}, nil
}

// withOwnCard puts a person's card in place of the one that a built-in paper comes
// with. A broken one is told by List.
func (l *Library) withOwnCard(p Paper) Paper {
	if l.dir != "" {
		if c, err := readCard(filepath.Join(l.dir, p.ID+".builtin"+cardEnding)); err == nil {
			p.Card = c
			if c.Name != "" {
				p.call(c.Name)
			}
		}
	}
	return p
}

// maxCardBytes is far more than a card that passes Check can have.
const maxCardBytes = 256 << 10

func readCard(path string) (Card, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Card{}, err
	}
	if !info.Mode().IsRegular() || info.Size() > maxCardBytes {
		return Card{}, &FileError{path, BadCard, errors.New("it is no small ordinary file")}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return Card{}, &FileError{path, BadCard, aside.Bare(err)}
	}
	var c Card
	if err := json.Unmarshal(data, &c); err != nil {
		return Card{}, &FileError{path, BadCard, words.Unfit(err)}
	}
	if err := c.Check(); err != nil {
		return Card{}, &FileError{path, BadCard, err}
	}
	return c, nil
}

// try makes the transforms that the paper will be used with, and asks for a few colours.
func try(p *proof.Profile) error {
	probe, err := newProbe(p)
	if err != nil {
		return err
	}
	defer probe.close()
	for _, l := range []float64{0, 50, 100} {
		if _, err := probe.look(l); err != nil {
			return err
		}
	}
	const steps = 8
	numbers := make([]float64, 0, (steps+1)*probe.channels)
	for i := range steps + 1 {
		for range probe.channels {
			numbers = append(numbers, float64(i)/steps)
		}
	}
	_, err = probe.looks(numbers)
	return err
}
