package session

import (
	"image"
	"sync"

	"firstsheet/proof/paper"
)

// Store keeps what is too bulky for State, under keys that State names. It may
// be used from many goroutines; what it hands out is not to be changed.
type Store struct {
	mu      sync.Mutex
	next    int
	pics    map[int]*Picture // the open one, and what was observed of its prints
	papers  []Paper
	unfit   []paper.Problem
	buffers [MaxSheets]*image.RGBA
	spare   []*image.RGBA
}

// NewStore returns an empty store.
func NewStore() *Store { return &Store{pics: map[int]*Picture{}} }

// NewKey returns a key that no picture has.
func (st *Store) NewKey() int {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.next++
	return st.next
}

// Put stores a picture under its key and forgets all others.
func (st *Store) Put(p *Picture) {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.pics = map[int]*Picture{p.Info.Key: p}
}

// Observe stores an observation of a print of the open picture, under its key.
func (st *Store) Observe(p *Picture) {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.pics[p.Info.Key] = p
}

// Picture returns the picture under key, or nil.
func (st *Store) Picture(key int) *Picture {
	st.mu.Lock()
	defer st.mu.Unlock()
	return st.pics[key]
}

// SetPapers replaces the papers' list.
func (st *Store) SetPapers(p []Paper) {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.papers = p
}

// takeShelf takes papers and unusable files anew.
func (st *Store) takeShelf(s Shelf) {
	st.SetPapers(s.Papers())
	unfit := s.Unusable()
	st.mu.Lock()
	defer st.mu.Unlock()
	st.unfit = unfit
}

// Unusable lists the files in the papers' folder that can't be used.
func (st *Store) Unusable() []paper.Problem {
	st.mu.Lock()
	defer st.mu.Unlock()
	return st.unfit
}

// Papers returns the papers' list.
func (st *Store) Papers() []Paper {
	st.mu.Lock()
	defer st.mu.Unlock()
	return st.papers
}

// Paper returns the paper with an ID.
func (st *Store) Paper(id string) (Paper, bool) {
	for _, p := range st.Papers() {
		if p.ID == id {
			return p, true
		}
	}
	return Paper{}, false
}

// Next returns the paper after id in the list, going round.
func (st *Store) Next(id string) string {
	p := st.Papers()
	for i := range p {
		if p[i].ID == id {
			return p[(i+1)%len(p)].ID
		}
	}
	if len(p) > 0 {
		return p[0].ID
	}
	return id
}

// First returns the first papers of the list.
func (st *Store) First() (r [MaxSheets]string) {
	for i, p := range st.Papers() {
		if i < MaxSheets {
			r[i] = p.ID
		}
	}
	return r
}

// Buffer returns sheet n's finished picture, cell-sized, or nil. It is valid
// until the next frame is swapped in, which happens on the same goroutine that
// draws.
func (st *Store) Buffer(n int) *image.RGBA {
	st.mu.Lock()
	defer st.mu.Unlock()
	return st.buffers[n]
}

// room returns a buffer of w by h whose content is undefined.
func (st *Store) room(w, h int) *image.RGBA {
	st.mu.Lock()
	defer st.mu.Unlock()
	for i, b := range st.spare {
		if b.Rect.Dx() == w && b.Rect.Dy() == h {
			st.spare = append(st.spare[:i], st.spare[i+1:]...)
			return b
		}
	}
	st.spare = nil // the size has changed: the old ones are of no use
	return image.NewRGBA(image.Rect(0, 0, w, h))
}

// swap puts new buffers on the desk and keeps the old ones for reuse.
func (st *Store) swap(b [MaxSheets]*image.RGBA) {
	st.mu.Lock()
	defer st.mu.Unlock()
	for _, old := range st.buffers {
		if old != nil && len(st.spare) < 2*MaxSheets {
			st.spare = append(st.spare, old)
		}
	}
	st.buffers = b
}
