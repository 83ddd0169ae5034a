package paper

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"time"

	"firstsheet/proof/aside"
)

// Reading is the outcome of one verification of a paper's profile: how far a page
// printed that day was from it, in ΔE00.
type Reading struct {
	// Date is the day of the reading, as 2006-01-02.
	Date    string  `json:"date"`
	Patches int     `json:"patches"`
	Mean    float64 `json:"mean"`
	P95     float64 `json:"p95"`
	Max     float64 `json:"max"`
	// Condition is the measuring condition, "" where the file did not say.
	Condition string `json:"measuring_condition,omitempty"`
	// Words says what has moved, in sentences.
	Words []string `json:"words,omitempty"`
}

// maxReadings is one a week for four years; older ones make room.
const maxReadings = 200

const readingsEnding = ".readings.json"

// besides returns the file beside a paper's profile that has an ending. The caller
// holds mu or asks for a paper of its own.
func (l *Library) besides(p Paper, ending string) string {
	if p.Builtin {
		return filepath.Join(l.dir, p.ID+".builtin"+ending)
	}
	return p.Path + ending
}

// Readings returns what verifications of a paper were kept, the oldest first. The
// error is an *UnknownError, or a *FileError where the file cannot be read.
func (l *Library) Readings(id string) ([]Reading, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	p, err := l.find(id)
	if err != nil || l.dir == "" {
		return nil, err
	}
	return readReadings(l.besides(p, readingsEnding))
}

func readReadings(path string) ([]Reading, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, &FileError{path, NotReadable, aside.Bare(err)}
	case !info.Mode().IsRegular() || info.Size() > 16*maxCardBytes:
		return nil, &FileError{path, BadCard, errors.New("it is no small ordinary file")}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &FileError{path, NotReadable, aside.Bare(err)}
	}
	var list []Reading
	if err := json.Unmarshal(data, &list); err != nil {
		return nil, &FileError{path, BadCard, err}
	}
	return list, nil
}

// AddReading keeps a verification of a paper beside its card. A file of readings
// that cannot be read is left as it is, and the error says so.
func (l *Library) AddReading(id string, r Reading) error {
	if _, err := time.Parse(time.DateOnly, r.Date); err != nil {
		return fmt.Errorf("paper: the reading's date is %q, not a day such as 2006-01-02", r.Date)
	}
	for _, v := range []float64{r.Mean, r.P95, r.Max} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			return fmt.Errorf("paper: the reading holds %g, which is no ΔE00", v)
		}
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
	path := l.besides(p, readingsEnding)
	list, err := readReadings(path)
	if err != nil {
		return err
	}
	list = append(list, r)
	list = list[max(len(list)-maxReadings, 0):]
	return l.writeJSON(path, list)
}
