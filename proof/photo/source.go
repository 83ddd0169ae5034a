package photo

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
)

// source is the bytes of a picture file: in memory, or on disk where they are read by and by.
type source interface {
	io.ReaderAt
	Size() int64
}

// memory is a file that was read whole.
type memory []byte

func (m memory) Size() int64 { return int64(len(m)) }

func (m memory) ReadAt(b []byte, offset int64) (int, error) {
	return bytes.NewReader(m).ReadAt(b, offset)
}

// piece returns n bytes of a file at offset, which lie within it. Those of one in memory are shared.
func piece(s source, offset, n int64) ([]byte, error) {
	if m, ok := s.(memory); ok {
		return m[offset : offset+n : offset+n], nil
	}
	b := make([]byte, n)
	_, err := s.ReadAt(b, offset)
	if err == io.EOF {
		err = nil // of the last bytes
	}
	return b, err
}

// held returns how many bytes of a file lie in memory.
func held(s source) int64 {
	if m, ok := s.(memory); ok {
		return m.Size()
	}
	return 0
}

// disk is a file that stays open while it is read. Whoever saves the picture anew meanwhile puts
// another file in its place, or is found out by unchanged.
type disk struct {
	*os.File
	found os.FileInfo // when it was opened
}

// openFile opens an ordinary file of at most so many bytes.
func openFile(path string, most int64) (*disk, error) {
	// Asked before opening: to open a pipe would wait for its other end.
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		return nil, &Error{Kind: NotReadable, Err: errors.New("a folder")}
	}
	if !info.Mode().IsRegular() {
		return nil, &Error{Kind: NotReadable, Err: errors.New("not an ordinary file")}
	}
	if info.Size() > most {
		return nil, tooLarge("the file has %d bytes; at most %d are read", info.Size(), most)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	return &disk{f, info}, nil
}

func (d *disk) Size() int64 { return d.found.Size() }

// ReadAt tells what keeps a file from being read apart from damage to what is in it.
func (d *disk) ReadAt(b []byte, offset int64) (int, error) {
	n, err := d.File.ReadAt(b, offset)
	if err != nil && err != io.EOF {
		err = &Error{Kind: readKind(err), Err: err}
	}
	if err == io.EOF && offset+int64(n) < d.Size() {
		err = errChanged
	}
	return n, err
}

var errChanged error = &Error{Kind: NotReadable, Err: errors.New("it was changed while it was read")}

// unchanged returns an error when the file was written to since it was opened.
func (d *disk) unchanged() error {
	now, err := d.Stat()
	switch {
	case err != nil:
		return &Error{Kind: NotReadable, Err: err}
	case now.Size() != d.found.Size() || !now.ModTime().Equal(d.found.ModTime()):
		return errChanged
	}
	return nil
}

// ctxReader fails once its context has ended, which is how decoders that know
// nothing of contexts are stopped.
type ctxReader struct {
	ctx context.Context
	r   io.Reader
}

func (c *ctxReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}
