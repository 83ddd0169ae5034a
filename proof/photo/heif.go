package photo

import (
	"bytes"
	"context"
	"image"
	_ "unsafe" // for go:linkname

	"github.com/gen2brain/avif"
)

// Bytes that a pixel of an AVIF takes at most while it is decoded: the sandbox's memory, what it
// had before it grew, and the samples. Measured: 40 with 8 bits, 56 with more.
const (
	bytesOfAVIF     = 44
	bytesOfDeepAVIF = 60
)

// heifPicture is what the file says of its main picture.
type heifPicture struct {
	format  string // "HEIC" or "AVIF", after what the picture is coded with
	image   heifImage
	w, h    int // before it is turned
	depth   int
	grey    bool
	icc     []byte
	record  hevcRecord   // of HEIC alone
	codes   *colourCodes // nil when the file has none
	turning []box        // "clap", "irot" and "imir", in order
}

// colourCodes are the code points of ITU-T H.273 for primaries, transfer and
// matrix, and whether the numbers take the full range.
type colourCodes struct {
	primaries, transfer, matrix byte
	full                        bool
}

// readHEIF reads pictures in a HEIF file: HEIC, coded by HEVC, and AVIF, by AV1.
//
// Sources: ISO/IEC 23008-12 (HEIF), ISO/IEC 14496-15 (hvcC), AV1 Image File Format.
func readHEIF(ctx context.Context, data memory, lim limits) (decoded, error) {
	f, err := parseHEIF(data)
	if err != nil {
		return decoded{}, err
	}
	h, err := f.picture(lim)
	if err != nil {
		return decoded{}, err
	}
	named, err := h.named()
	if err != nil {
		return decoded{}, err
	}
	var p *Picture
	if h.format == "AVIF" {
		p, err = h.decodeAVIF(ctx, data, lim)
	} else {
		p, err = h.decodeHEIC(ctx, f, lim)
	}
	if err != nil {
		return decoded{}, err
	}
	if f.brand == "avis" || f.brand == "msf1" || f.brand == "hevc" {
		p.note("The file holds a sequence; only its still picture is shown.")
	}
	exif, xmp := f.beside()
	facts := readExif(exif)
	facts.orientation = 1 // the file's own turning counts, 23008-12, A.2.1
	return decoded{Picture: p, format: h.format, icc: h.icc, named: named, exif: facts, meta: Metadata{exif, xmp}}, nil
}

// named is the encoding that the code points name.
func (h *heifPicture) named() (namedSpace, error) {
	const unspecified = 2
	if h.codes == nil || len(h.icc) > 0 || h.codes.primaries == unspecified {
		return namedSpace{}, nil
	}
	s, why := fromCICP([4]byte{h.codes.primaries, h.codes.transfer, 0, 1})
	switch {
	case s != nil:
		return namedSpace{space: s}, nil
	case h.codes.transfer == cicpPQ || h.codes.transfer == cicpHLG:
		return namedSpace{}, highRange(h.format, h.codes.transfer)
	}
	return namedSpace{note: "The file states its colour space by codes that are not known here (" + why + ")."}, nil
}

// decodeAVIF returns the picture as red, green and blue, turned. The library
// converts by the file's own matrix and range.
func (h *heifPicture) decodeAVIF(ctx context.Context, data []byte, lim limits) (*Picture, error) {
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return nil, err
	}
	takes := int64(h.w) * int64(h.h) * bytesOfAVIF
	if h.depth > 8 {
		takes = takes / bytesOfAVIF * bytesOfDeepAVIF
	}
	if err := lim.room(takes+int64(len(data)), h.w, h.h); err != nil {
		return nil, err
	}
	img, err := besides(ctx, "AVIF", func() (image.Image, error) {
		defer collectOften(takes / 2)()
		avifOutside = false
		return avif.Decode(bytes.NewReader(data))
	})
	if err != nil {
		return nil, err
	}
	if b := img.Bounds(); b.Dx() != h.w || b.Dy() != h.h {
		return nil, damaged("AVIF: %d x %d pixels, the header says %d x %d", b.Dx(), b.Dy(), h.w, h.h)
	}
	p, err := fromImage(ctx, img, fullRange, h.grey)
	if err != nil {
		return nil, err
	}
	return p.turnedAs(ctx, h.turning)
}

// avifOutside tells the AVIF library to decode by the system's libavif, where it has found one when the
// program began: outside the sandbox, by another version on each machine. Its own switch is a
// build tag, nodynamic, of which whoever builds this program would have to know.
//
//go:linkname avifOutside github.com/gen2brain/avif.dynamic
var avifOutside bool

// foreign is held by whoever has a picture decoded by such a decoder: one at a time, for
// the sake of memory.
var foreign = make(chan struct{}, 1)

// besides calls a decoder that cannot be stopped. When ctx ends first its error
// comes back at once, while the decoder still runs to its end.
func besides[T any](ctx context.Context, format string, call func() (T, error)) (T, error) {
	type result struct {
		v   T
		err error
	}
	var none T
	select {
	case foreign <- struct{}{}:
	case <-ctx.Done():
		return none, ctx.Err()
	}
	done := make(chan result, 1)
	go func() {
		defer func() { <-foreign }()
		v, err := guarded(format, call)
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.v, r.err
	case <-ctx.Done():
		return none, ctx.Err()
	}
}
