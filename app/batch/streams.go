package main

import (
	"context"
	"fmt"
	"io"
	"sync"

	"firstsheet/proof/aside"
)

// patient hands reading and writing on, and ends with ctx's error when ctx ends first,
// though the other end of a pipe or the keyboard keeps it waiting.
type patient struct {
	ctx context.Context
	in  io.Reader
	out io.Writer
}

func (p patient) Read(b []byte) (int, error) {
	// Of its own, for a reading that is given up goes on.
	own := make([]byte, len(b))
	n, err := p.wait(func() (int, error) { return p.in.Read(own) })
	copy(b, own[:n])
	return n, err
}

func (p patient) Write(b []byte) (int, error) {
	own := append([]byte(nil), b...)
	return p.wait(func() (int, error) { return p.out.Write(own) })
}

func (p patient) wait(do func() (int, error)) (int, error) {
	type result struct {
		n   int
		err error
	}
	done := make(chan result, 1)
	go func() {
		n, err := do()
		done <- result{n, err}
	}()
	select {
	case r := <-done:
		return r.n, r.err
	case <-p.ctx.Done():
		return 0, p.ctx.Err()
	}
}

// telling is standard output. It remembers that something could not be written, so that
// no command has to ask after each line.
type telling struct {
	w io.Writer

	mu  sync.Mutex
	err error
}

func (t *telling) Write(b []byte) (int, error) {
	n, err := t.w.Write(b)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err != nil {
		err = fmt.Errorf("standard output: %w", aside.Bare(err))
		if t.err == nil {
			t.err = err
		}
	}
	return n, err
}

// failure returns the first error.
func (t *telling) failure() error {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.err
}
