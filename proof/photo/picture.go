package photo

import (
	"fmt"
	"image"

	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Picture is a picture file's samples, upright, with what the file says about
// their colour. Nothing is converted: numbers are those of the file.
type Picture struct {
	Path   string
	Format string // "JPEG", "PNG", "TIFF", "WebP", "HEIC" or "AVIF"; empty when made in memory

	W, H     int
	Channels int // 1 grey, 3 RGB, 4 CMYK (0 = no ink), 5 to 15 other inks
	Depth    int // 8 or 16

	// Pix8 or Pix16 holds W*H*Channels samples, interleaved, rows top to bottom,
	// according to Depth; the other is nil.
	Pix8  []uint8
	Pix16 []uint16

	// Alpha is W*H opacities, nil when the picture is opaque. The samples are
	// laid over bare paper already: over white, which for CMYK is no ink.
	// What was faintly visible in 16 bits is at least 1 here.
	Alpha []uint8

	// ICC is the embedded profile, nil when there is none or it could not be
	// used (Notes tells). Its colour space fits Channels; nothing else about it is
	// checked here.
	ICC []byte

	// Space is set when the file names an encoding without a profile: PNG chunks,
	// code points of HEIC and AVIF, or a camera's Exif marks. Nil beside an ICC profile and for CMYK.
	Space *space.Space

	// Metadata is what else the file says, for a file that is made from this one.
	Metadata Metadata

	// Notes are plain sentences about this file for the person who opened it.
	Notes []string
}

// note adds a remark.
func (p *Picture) note(format string, args ...any) {
	p.Notes = append(p.Notes, fmt.Sprintf(format, args...))
}

// Bounds is the picture's rectangle with its origin at 0, 0.
func (p *Picture) Bounds() image.Rectangle { return image.Rect(0, 0, p.W, p.H) }

// Pixels returns the picture's samples, sharing memory.
func (p *Picture) Pixels() raster.Pixels {
	return raster.Pixels{W: p.W, H: p.H, Channels: p.Channels, P8: p.Pix8, P16: p.Pix16}
}

// At returns the samples of pixel x, y as numbers 0 to 1, in a new slice of
// length Channels. It panics outside the picture.
func (p *Picture) At(x, y int) []float64 {
	if !(image.Point{X: x, Y: y}.In(p.Bounds())) {
		panic(fmt.Sprintf("photo: pixel %d, %d lies outside %d x %d", x, y, p.W, p.H))
	}
	return p.append(make([]float64, 0, p.Channels), (y*p.W+x)*p.Channels, p.Channels)
}

// AppendRow appends the W*Channels samples of row y, 0 to 1, to dst. It panics
// outside the picture. Many goroutines may read one Picture.
func (p *Picture) AppendRow(dst []float64, y int) []float64 {
	if y < 0 || y >= p.H {
		panic(fmt.Sprintf("photo: row %d lies outside %d rows", y, p.H))
	}
	return p.append(dst, y*p.W*p.Channels, p.W*p.Channels)
}

func (p *Picture) append(dst []float64, from, n int) []float64 {
	if p.Depth == 16 {
		for _, v := range p.Pix16[from : from+n] {
			dst = append(dst, float64(v)/65535)
		}
		return dst
	}
	for _, v := range p.Pix8[from : from+n] {
		dst = append(dst, float64(v)/255)
	}
	return dst
}

// RGB returns the picture with three channels: itself when it has three, a copy
// with equal red, green and blue when it is grey, and nil for inks. A grey
// profile does not fit the copy and is dropped from it.
func (p *Picture) RGB() *Picture {
	switch p.Channels {
	case 3:
		return p
	case 1:
		q := *p
		px := p.Pixels().RGB()
		q.Channels, q.ICC = 3, nil
		q.Pix8, q.Pix16 = px.P8, px.P16
		return &q
	}
	return nil
}

// check reports fields that contradict each other, such as a sample slice of
// the wrong length.
func (p *Picture) check() error {
	n := int64(p.W) * int64(p.H) * int64(p.Channels)
	switch {
	case p.W <= 0 || p.H <= 0:
		return fmt.Errorf("%d x %d pixels", p.W, p.H)
	case p.Channels != 1 && p.Channels != 3 && p.Channels != 4 && !inks(p.Channels):
		return fmt.Errorf("%d channels", p.Channels)
	case p.Depth == 8 && (int64(len(p.Pix8)) != n || p.Pix16 != nil):
		return fmt.Errorf("%d samples of 8 bits, want %d", len(p.Pix8), n)
	case p.Depth == 16 && (int64(len(p.Pix16)) != n || p.Pix8 != nil):
		return fmt.Errorf("%d samples of 16 bits, want %d", len(p.Pix16), n)
	case p.Depth != 8 && p.Depth != 16:
		return fmt.Errorf("%d bits a sample", p.Depth)
	case p.Alpha != nil && len(p.Alpha) != p.W*p.H:
		return fmt.Errorf("%d opacities, want %d", len(p.Alpha), p.W*p.H)
	}
	return nil
}
