package coded

import "fmt"

// Chroma is how far the planes of colour differences are reduced, by the numbers of
// H.265, 6.2.
type Chroma uint8

const (
	Grey    Chroma = iota // luma alone
	Halved                // 4:2:0, half as wide and half as high
	Halfway               // 4:2:2, half as wide
	Full                  // 4:4:4
)

// Picture is what was coded.
type Picture struct {
	W, H   int // of luma, in pixels
	Chroma Chroma
	Bits   int // of every sample, 8 to 16
	// Planes are Y, Cb and Cr, the latter two empty when the picture is grey.
	Planes [3]Plane
}

// Plane is one channel, row by row from above.
type Plane struct {
	W, H   int
	stride int // in bytes
	bytes  int // of a sample
	pix    []byte
}

// Sample is what a plane's numbers go into: uint8 for 8 bits, uint16 for more.
type Sample interface{ uint8 | uint16 }

// Row copies the beginning of row y, as coded, into dst, which is at most W long. Numbers of
// more than 8 bits do not go into uint8: they lose their upper ones.
func Row[T Sample](dst []T, p Plane, y int) {
	row := p.pix[y*p.stride:][:len(dst)*p.bytes]
	if p.bytes == 1 {
		if d, ok := any(dst).([]uint8); ok {
			copy(d, row)
			return
		}
		for x, v := range row {
			dst[x] = T(v)
		}
		return
	}
	for x := range dst {
		dst[x] = T(uint16(row[2*x]) | uint16(row[2*x+1])<<8)
	}
}

// Error says why a picture was not decoded.
type Error struct {
	// Room: it needs more memory than was allowed. Otherwise it is damaged.
	Room bool
	// Code is libde265's, 0 when it gave up without one.
	Code int
	Err  error
}

func (e *Error) Error() string {
	switch {
	case e.Room:
		return "coded: the picture needs more memory than it may have"
	case e.Err != nil:
		return fmt.Sprintf("coded: the decoder gave up: %v", e.Err)
	}
	return fmt.Sprintf("coded: the coded picture is damaged (libde265's code %d)", e.Code)
}

func (e *Error) Unwrap() error { return e.Err }

// Size returns how many pixels one colour difference is wide and high.
func (c Chroma) Size() (across, down int) {
	switch c {
	case Halved:
		return 2, 2
	case Halfway:
		return 2, 1
	}
	return 1, 1
}

// Samples returns how many samples two pixels have.
func (c Chroma) Samples() int64 { return [...]int64{2, 3, 4, 6}[c&3] }

// reduced returns the size of the planes of colour differences.
func (c Chroma) reduced(w, h int) (int, int) {
	if c == Grey {
		return 0, 0
	}
	across, down := c.Size()
	return (w + across - 1) / across, (h + down - 1) / down
}
