package jpeg

/*
#include <stdlib.h>

#include "jpeg.h"
*/
import "C"

import (
	"fmt"
	"unsafe"
)

// Shape is a picture to be encoded.
type Shape struct {
	W, H     int
	Channels int // 1 grey, 3 RGB
	Quality  int // 1 to 100
	// Padded says that pixels of three channels come with a fourth byte that counts for nothing.
	Padded bool
	// Interval is how many blocks of 8 x 8 pixels lie between two restart marks, at most
	// 65535; 0 for no marks.
	Interval int
}

func (s Shape) c() C.fs_shape {
	c := C.fs_shape{w: C.int(s.W), h: C.int(s.H), channels: C.int(s.Channels), quality: C.int(s.Quality), interval: C.int(s.Interval)}
	if s.Padded {
		c.padded = 1
	}
	return c
}

// pixelBytes is how many bytes a pixel has that is to be encoded.
func (s Shape) pixelBytes() int {
	if s.Padded {
		return 4
	}
	return s.Channels
}

// Encode returns a whole file of interleaved samples of 8 bits, without a JFIF segment:
// baseline, with the typical Huffman codes of T.81, annex K, and colour differences of full
// resolution. It panics when the number of samples does not fit.
func Encode(s Shape, pixels []byte) ([]byte, error) {
	if len(pixels) != s.W*s.H*s.pixelBytes() || len(pixels) == 0 || s.Padded && s.Channels != 3 {
		panic(fmt.Sprintf("jpeg: %d samples for %d x %d pixels of %d channels", len(pixels), s.W, s.H, s.Channels))
	}
	return encode(s, &pixels[0], nil)
}

// EncodeCoefficients is [Encode] for a picture that has been transformed and quantised:
// component by component, row of blocks by row of blocks, each block from left to right and
// top to bottom. Blocks cover the picture; the last ones may stick out. What a picture of 8
// bits cannot have, beyond 1023 and for the mean 2047, makes a broken file (T.81, F.1.2).
func EncodeCoefficients(s Shape, coefficients []int16) ([]byte, error) {
	if n := s.Channels * ((s.W + 7) / 8) * ((s.H + 7) / 8) * 64; len(coefficients) != n || n == 0 {
		panic(fmt.Sprintf("jpeg: %d coefficients for %d x %d pixels of %d channels", len(coefficients), s.W, s.H, s.Channels))
	}
	return encode(s, nil, &coefficients[0])
}

func encode(s Shape, pixels *byte, coefficients *int16) ([]byte, error) {
	var (
		out  *C.uint8_t
		size C.ulong
		text [C.JMSG_LENGTH_MAX]C.char
	)
	err := failure(C.fs_encode(s.c(), (*C.uint8_t)(pixels), (*C.int16_t)(coefficients), &out, &size, &text[0]), &text[0])
	defer C.free(unsafe.Pointer(out))
	if err != nil {
		return nil, err
	}
	return C.GoBytes(unsafe.Pointer(out), C.int(size)), nil
}

// Steps returns the quantisation tables of luma and of the colour differences, each from
// left to right and top to bottom: at quality 50 those of T.81, annex K, at 100 all 1.
func Steps(quality int) (steps [2][64]uint16, err error) {
	var text [C.JMSG_LENGTH_MAX]C.char
	kind := C.fs_steps(C.int(quality), (*[64]C.uint16_t)(unsafe.Pointer(&steps[0])), &text[0])
	return steps, failure(kind, &text[0])
}
