package photo

import (
	"bufio"
	"context"
	"io"
	"sync"

	"github.com/klauspost/compress/zlib"
)

// ahead unpacks a zlib stream in a goroutine of its own, some way before it is read, so that
// unpacking and what is made of it go on side by side.
type ahead struct {
	ctx context.Context // whoever reads sets it

	unpacker io.ReadCloser
	stop     context.CancelFunc
	group    sync.WaitGroup
	full     chan unpacked
	free     chan []byte
	now      unpacked
	left     []byte // of it
}

// unpacked is some of the stream, and what came behind it.
type unpacked struct {
	bytes    []byte
	err      error
	panicked any // raised where it is read
}

// Pieces of what is unpacked: one is read of while others are filled.
const (
	aheadPieces = 3
	aheadBytes  = 256 << 10
)

// unpackAhead begins. packed is read until it is closed.
func unpackAhead(packed io.Reader) (*ahead, error) {
	ctx, stop := context.WithCancel(context.Background())
	unpacker, err := zlib.NewReader(bufio.NewReaderSize(&ctxReader{ctx, packed}, pngBuffer))
	if err != nil {
		stop()
		return nil, err
	}
	a := &ahead{unpacker: unpacker, stop: stop, full: make(chan unpacked, aheadPieces), free: make(chan []byte, aheadPieces)}
	for range aheadPieces {
		a.free <- make([]byte, aheadBytes)
	}
	a.group.Go(func() {
		for p := (unpacked{}); p.err == nil && p.panicked == nil; {
			select {
			case b := <-a.free:
				p = fill(b, unpacker)
				a.full <- p // there is room for all
			case <-ctx.Done():
				return
			}
		}
	})
	return a, nil
}

// fill reads until b is full or nothing more comes.
func fill(b []byte, r io.Reader) (p unpacked) {
	n := 0
	defer func() {
		p.panicked, p.bytes = recover(), b[:n]
	}()
	for n < len(b) && p.err == nil {
		var more int
		more, p.err = r.Read(b[n:])
		n += more
	}
	return p
}

// Read waits for what comes next, or the context's end.
func (a *ahead) Read(b []byte) (int, error) {
	for len(a.left) == 0 {
		if a.now.err != nil {
			return 0, a.now.err
		}
		if a.now.bytes != nil {
			a.free <- a.now.bytes[:aheadBytes]
		}
		select {
		case a.now = <-a.full:
		case <-a.ctx.Done():
			return 0, a.ctx.Err()
		}
		if a.now.panicked != nil {
			panic(a.now.panicked)
		}
		a.left = a.now.bytes
	}
	n := copy(b, a.left)
	a.left = a.left[n:]
	return n, a.ctx.Err()
}

// Close ends the goroutine. Nothing is read any more.
func (a *ahead) Close() {
	a.stop()
	a.group.Wait()
	a.unpacker.Close()
}
