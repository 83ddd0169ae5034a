package paper

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"firstsheet/proof/aside"
	"firstsheet/proof/cie"
	"firstsheet/proof/words"
)

// Reading is what was measured of one page printed by a paper's profile, and how far
// it was from the profile, in ΔE00. The readings of a paper are a series by date, each
// alone.
type Reading struct {
	// ID names the reading among those of its paper.
	ID string `json:"-"`
	// Date is the day on which it was measured, as 2006-01-02.
	Date string `json:"date"`
	// Noted is when it was noted, RFC 3339 in UTC; it orders the readings of one day.
	// Old files have none.
	Noted   string  `json:"noted,omitempty"`
	Patches int     `json:"patches"`
	Mean    float64 `json:"mean"`
	P95     float64 `json:"p95"`
	Max     float64 `json:"max"`
	// Condition is the measuring condition, "" where the file did not say.
	Condition string `json:"measuring_condition,omitempty"`
	// Words says what has moved, in sentences.
	Words []string `json:"words,omitempty"`
	// Merged is of how many readings of that day this one is the mean; 0 for one
	// alone.
	Merged int `json:"merged,omitempty"`
	// Measured holds every patch; files of old have none.
	Measured []Measured `json:"measured,omitempty"`
}

// Measured is one patch of a reading.
type Measured struct {
	Place  string    `json:"place"`
	Device []float64 `json:"device"` // what was printed, 0 to 1, in channel order
	Lab    cie.Lab   `json:"lab"`    // absolute, D50
}

const (
	// readingsEnding is that of the folder with a paper's readings: each is a file of
	// its own, so that several programs may note some at once and none is lost.
	readingsEnding = ".readings"
	// oldReadings is the one file, a JSON array, that held them before.
	oldReadings = ".readings.json"
	// maxReadingBytes is more than a reading of the largest chart needs.
	maxReadingBytes = 8 << 20
)

// besides returns the file beside a paper's profile that has an ending. The caller
// holds mu or asks for a paper of its own.
func (l *Library) besides(p Paper, ending string) string {
	if p.Builtin {
		return filepath.Join(l.dir, p.ID+".builtin"+ending)
	}
	return p.Path + ending
}

// Readings returns what was read of a paper, the oldest first. The error is an
// *UnknownError, or where files cannot be read a *FileError for the first of them; the
// other readings are returned all the same.
func (l *Library) Readings(id string) ([]Reading, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil || l.dir == "" {
		return nil, err
	}
	list, err := readOldReadings(l.besides(p, oldReadings))
	dir := l.besides(p, readingsEnding)
	entries, e := os.ReadDir(dir)
	if e != nil && !errors.Is(e, fs.ErrNotExist) && err == nil {
		err = &FileError{dir, NotReadable, aside.Bare(e)}
	}
	for _, entry := range entries {
		if !isReading(entry.Name()) {
			continue
		}
		var r Reading
		if e := readJSON(filepath.Join(dir, entry.Name()), &r); e != nil {
			if err == nil {
				err = e
			}
			continue
		}
		r.ID = stem(entry.Name())
		list = append(list, r)
	}
	slices.SortStableFunc(list, func(a, b Reading) int {
		if c := strings.Compare(a.Date, b.Date); c != 0 {
			return c
		}
		return strings.Compare(a.Noted, b.Noted)
	})
	return list, err
}

// isReading tells a reading's file by its name; asides start with a dot.
func isReading(name string) bool {
	return filepath.Ext(name) == ".json" && !strings.HasPrefix(name, ".")
}

// readOldReadings reads the array that held all readings before.
func readOldReadings(path string) (list []Reading, err error) {
	if err := readJSON(path, &list); err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = nil
		}
		return nil, err
	}
	for i := range list {
		list[i].ID = fmt.Sprintf("%s%d", oldID, i)
	}
	return list, nil
}

// oldID begins the IDs of readings in the old array.
const oldID = "old-"

// readJSON reads a small file of the library. The error is a *FileError.
func readJSON(path string, v any) error {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return &FileError{path, NotReadable, aside.Bare(err)}
	case !info.Mode().IsRegular() || info.Size() > maxReadingBytes:
		return &FileError{path, BadCard, errors.New("it is no small ordinary file")}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return &FileError{path, NotReadable, aside.Bare(err)}
	}
	if err := json.Unmarshal(data, v); err != nil {
		return &FileError{path, BadCard, words.Unfit(err)}
	}
	return nil
}

// AddReading notes a reading of a paper beside the others and returns its ID. Several
// programs may do so at once.
func (l *Library) AddReading(id string, r Reading) (string, error) {
	if _, err := time.Parse(time.DateOnly, r.Date); err != nil {
		return "", fmt.Errorf("paper: the reading's date is %q, not a day such as 2006-01-02", r.Date)
	}
	for _, v := range []float64{r.Mean, r.P95, r.Max} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			return "", fmt.Errorf("paper: the reading holds %g, which is no ΔE00", v)
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil {
		return "", err
	}
	if l.dir == "" {
		return "", &FileError{"the folder of papers", NotWritable, l.dirErr}
	}
	if r.Noted == "" {
		r.Noted = time.Now().UTC().Format("2006-01-02T15:04:05.000000Z")
	}
	data, err := json.Marshal(r)
	if err != nil {
		return "", err
	}
	if len(data) > maxReadingBytes {
		return "", fmt.Errorf("paper: the reading takes %d bytes, at most %d are kept", len(data), maxReadingBytes)
	}
	dir := l.besides(p, readingsEnding)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", &FileError{dir, NotWritable, aside.Bare(err)}
	}
	aside.Sweep(dir)
	for {
		name := fmt.Sprintf("%s-%08x", r.Date, rand.Uint32())
		switch err := aside.New(filepath.Join(dir, name+".json"), aside.Holding(append(data, '\n'))); {
		case errors.Is(err, fs.ErrExist):
			continue
		case err != nil:
			return "", &FileError{dir, NotWritable, aside.Bare(err)}
		}
		return name, nil
	}
}

// RemoveReading takes a reading of a paper away. It returns the reading, so that it can
// be noted again. The error is an *UnknownError or a *FileError.
func (l *Library) RemoveReading(id, reading string) (Reading, error) {
	list, err := l.Readings(id)
	at := slices.IndexFunc(list, func(r Reading) bool { return r.ID == reading })
	if at < 0 {
		if err == nil {
			err = &UnknownError{reading}
		}
		return Reading{}, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil {
		return Reading{}, err
	}
	if strings.HasPrefix(reading, oldID) {
		return list[at], l.dropOld(p, reading)
	}
	path := filepath.Join(l.besides(p, readingsEnding), reading+".json")
	if err := os.Remove(path); err != nil {
		return Reading{}, &FileError{path, NotWritable, aside.Bare(err)}
	}
	return list[at], nil
}

// dropOld takes a reading out of the old array.
func (l *Library) dropOld(p Paper, reading string) error {
	path := l.besides(p, oldReadings)
	list, err := readOldReadings(path)
	if err != nil {
		return err
	}
	return l.writeJSON(path, slices.DeleteFunc(list, func(r Reading) bool { return r.ID == reading }))
}
