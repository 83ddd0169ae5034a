package jpeg

/*
#include <stdlib.h>

#include "jpeg.h"
*/
import "C"

import (
	"context"
	"fmt"
	"runtime"
	"unsafe"
)

// Decoder reads one picture. It belongs to one goroutine at a time and must be closed.
type Decoder struct {
	W, H int
	// Channels is 1 grey, 3 RGB, 4 CMYK: as stored, which with Adobe's segment is 255 for no ink.
	Channels int
	// Adobe says that the file has Adobe's segment.
	Adobe bool
	// YCbCr says that three components are luma and colour differences.
	YCbCr bool
	// Scans says that the file has several scans. All are read, and their coefficients held
	// with two bytes each, before the first row comes out.
	Scans bool

	c    *C.fs_decoder
	data runtime.Pinner
	left int // rows
}

// Open reads what precedes the first scan. data is used until Close and must not change.
func Open(data []byte) (*Decoder, error) {
	if len(data) == 0 {
		return nil, &Error{Short, "no data"}
	}
	d := &Decoder{c: (*C.fs_decoder)(C.calloc(1, C.sizeof_fs_decoder))}
	if d.c == nil {
		return nil, &Error{TooLarge, "out of memory"}
	}
	d.data.Pin(&data[0])
	if err := d.failure(C.fs_decode_open(d.c, (*C.uint8_t)(&data[0]), C.size_t(len(data)))); err != nil {
		d.Close()
		return nil, err
	}
	d.W, d.H, d.Channels = int(d.c.jpeg.image_width), int(d.c.jpeg.image_height), int(d.c.jpeg.num_components)
	d.YCbCr = d.c.jpeg.jpeg_color_space == C.JCS_YCbCr
	d.Adobe, d.Scans = d.c.adobe != 0, C.jpeg_has_multiple_scans(&d.c.jpeg) != 0
	return d, nil
}

func (d *Decoder) failure(kind C.fs_kind) error { return failure(kind, &d.c.errors.text[0]) }

// Options says what comes out.
type Options struct {
	// Raw takes three components as they are stored for red, green and blue, whatever the
	// file says. Reduced ones are enlarged as they are otherwise.
	Raw bool
	// Memory is the most that the library may hold, in bytes; 0 for no limit.
	Memory int64
}

// mostLong is the largest of C's long, of 32 bits on Windows.
const mostLong = int64(^C.ulong(0) >> 1)

// Start begins the picture.
func (d *Decoder) Start(o Options) error {
	raw := 0
	if o.Raw {
		raw = 1
	}
	if err := d.failure(C.fs_decode_start(d.c, C.int(raw), C.long(min(o.Memory, mostLong)))); err != nil {
		return err
	}
	d.left = d.H
	if out := int(d.c.jpeg.output_components); out != d.Channels {
		return &Error{Unsupported, fmt.Sprintf("%d components come out as %d", d.Channels, out)}
	}
	return nil
}

// rowsAtOnce is how many rows are decoded between two looks at the context: a few
// milliseconds of a wide picture.
const rowsAtOnce = 64

// Rows decodes the next len(dst) / (W*Channels) rows, interleaved samples of 8 bits. It
// returns an *[Error], or the context's error between some rows, also while the
// scans are read. It panics when fewer rows are left, or dst holds no whole rows.
func (d *Decoder) Rows(ctx context.Context, dst []byte) error {
	stride := d.W * d.Channels
	rows := len(dst) / stride
	if rows*stride != len(dst) || rows > d.left {
		panic(fmt.Sprintf("jpeg: %d bytes for rows of %d, of which %d are left", len(dst), stride, d.left))
	}
	for d.c.whole == 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := d.failure(C.fs_decode_scans(d.c)); err != nil {
			return err
		}
	}
	for rows > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := min(rows, rowsAtOnce)
		if err := d.failure(C.fs_decode_rows(d.c, (*C.uint8_t)(unsafe.SliceData(dst)), C.int(n))); err != nil {
			return err
		}
		dst, rows, d.left = dst[n*stride:], rows-n, d.left-n
	}
	if d.left == 0 {
		d.left = -1 // once
		return d.failure(C.fs_decode_end(d.c))
	}
	return nil
}

// Close releases the decoder. It may be called more than once.
func (d *Decoder) Close() {
	if d.c == nil {
		return
	}
	C.fs_decode_close(d.c)
	C.free(unsafe.Pointer(d.c))
	d.c = nil
	d.data.Unpin()
}
