//go:build noheic

package coded

import (
	"context"
	"errors"
)

// HEVC tells whether this build of the program decodes HEVC.
const HEVC = false

// Memory returns how many bytes decoding takes at most.
func Memory(pixels int, c Chroma, bits, units int) int64 { return 0 }

// Decoder stands where the program was built without one.
type Decoder struct{}

// NewDecoder fails.
func NewDecoder(context.Context, int, int64) (*Decoder, error) {
	return nil, errors.New("coded: built without HEVC")
}

// Fits reports false.
func (*Decoder) Fits(int64) bool { return false }

// Close does nothing.
func (*Decoder) Close() error { return nil }

// Decode fails.
func (*Decoder) Decode(context.Context, []byte) (Picture, error) {
	return Picture{}, errors.New("coded: built without HEVC")
}
