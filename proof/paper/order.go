package paper

import (
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// orderFile holds the IDs of the papers in the person's own order, as a JSON array.
// Those it does not name come behind it, in the order of [byName].
const orderFile = "order.json"

// sorted puts papers into their order: the person's own, and without one as they come.
// Papers of one group stand together, where the first of them stands.
func sorted(papers []Paper, order []string) {
	place := func(id string) int {
		if i := slices.Index(order, id); i >= 0 {
			return i
		}
		return math.MaxInt
	}
	slices.SortStableFunc(papers, func(a, b Paper) int { return compare(place(a.ID), place(b.ID)) })
	first := map[string]int{}
	for i, p := range papers {
		if _, ok := first[groupOf(p)]; !ok {
			first[groupOf(p)] = i
		}
	}
	slices.SortStableFunc(papers, func(a, b Paper) int { return compare(first[groupOf(a)], first[groupOf(b)]) })
}

func compare(a, b int) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// groupOf is the group of a paper, in whatever letters it is written.
func groupOf(p Paper) string { return strings.ToLower(strings.TrimSpace(p.Card.Group)) }

// order reads the person's own order; a file that is no such list counts as none and
// is told.
func (l *Library) order() ([]string, error) {
	path := filepath.Join(l.dir, orderFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var ids []string
	if err == nil {
		err = json.Unmarshal(data, &ids)
	}
	if err != nil {
		return nil, &FileError{path, BadCard, err}
	}
	return ids, nil
}

// Move puts a paper steps further down the list, up for negative ones, and keeps the
// list in that order. Within its group it passes single papers; at the group's end the
// whole group passes the next one. The error is an *UnknownError or a *FileError.
func (l *Library) Move(id string, steps int) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	papers, _ := l.list()
	if !slices.ContainsFunc(papers, func(p Paper) bool { return p.ID == id }) {
		return &UnknownError{id}
	}
	if l.dir == "" {
		return &FileError{"the folder of papers", NotWritable, l.dirErr}
	}
	way := compare(steps, 0)
	for range min(max(steps, -steps), len(papers)) {
		papers = passed(papers, id, way)
	}
	ids := make([]string, len(papers))
	for i, p := range papers {
		ids[i] = p.ID
	}
	return l.writeJSON(filepath.Join(l.dir, orderFile), ids)
}

// passed returns the papers after one step of the paper with that ID.
func passed(papers []Paper, id string, way int) []Paper {
	i := slices.IndexFunc(papers, func(p Paper) bool { return p.ID == id })
	j := i + way
	if j < 0 || j >= len(papers) {
		return papers
	}
	if groupOf(papers[i]) == groupOf(papers[j]) {
		papers[i], papers[j] = papers[j], papers[i]
		return papers
	}
	from, to := block(papers, min(i, j)), block(papers, max(i, j))
	out := append([]Paper{}, papers[:from[0]]...)
	out = append(out, papers[to[0]:to[1]]...)
	out = append(out, papers[from[0]:from[1]]...)
	return append(out, papers[to[1]:]...)
}

// block returns where the group around a paper begins and ends.
func block(papers []Paper, at int) [2]int {
	from, to := at, at+1
	for from > 0 && groupOf(papers[from-1]) == groupOf(papers[at]) {
		from--
	}
	for to < len(papers) && groupOf(papers[to]) == groupOf(papers[at]) {
		to++
	}
	return [2]int{from, to}
}
