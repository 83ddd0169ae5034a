package photo

import (
	"bytes"
	"context"
	"image"
	"io"

	"github.com/gen2brain/avif"
)

// Limits of the decoders for coded pictures. Both are C libraries that run as
// WebAssembly: what a hostile file breaks in them stays in there, but memory
// grows by copying.
const (
	// maxAVIFPixels: a decoder's 100 bytes for each pixel are 6.4 GB.
	maxAVIFPixels = 64_000_000

	// minHEICSide: of narrower pictures the decoder's binding mistakes the length
	// of a row.
	minHEICSide = 128
)

// heifPicture is what the file says of its main picture.
type heifPicture struct {
	format  string // "HEIC" or "AVIF", after what the picture is coded with
	w, h    int    // before it is turned
	depth   int
	grey    bool
	icc     []byte
	inner   hevcFacts    // what the coded picture itself says, of HEIC alone
	codes   *colourCodes // nil when the file has none
	luma    *colourCodes // how what the decoder gives is to be read, nil likewise
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
func readHEIF(ctx context.Context, data []byte, lim limits) (decoded, error) {
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
		p, err = h.decodeHEIC(ctx, f)
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
	lim.pixels = min(lim.pixels, maxAVIFPixels)
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return nil, err
	}
	img, err := besides(ctx, "AVIF", func() (image.Image, error) { return avif.Decode(bytes.NewReader(data)) })
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

// decodeHEIC returns the picture, which the library has turned already. It gives
// 8 bits, and of a picture with opacities the colours alone.
func (h *heifPicture) decodeHEIC(ctx context.Context, f *heifFile) (*Picture, error) {
	if min(h.w, h.h) < minHEICSide {
		return nil, unsupported("HEIC: a picture of %d x %d pixels; the least is %d a side", h.w, h.h, minHEICSide)
	}
	// The library goes by the first brand alone, where many files have a general one.
	in := io.MultiReader(bytes.NewReader(f.data[:8]), bytes.NewReader([]byte("heic")), bytes.NewReader(f.data[12:]))
	img, err := besides(ctx, "HEIC", func() (image.Image, error) { return decodeHEVC(in) })
	if err != nil {
		return nil, err
	}
	if err := h.fits(img.Bounds()); err != nil {
		return nil, err
	}
	p, err := fromImage(ctx, img, h.luma.code(), h.grey)
	if err != nil {
		return nil, err
	}
	if h.depth > 8 {
		p.note("The file has %d bits a channel, of which 8 are read here; a developed 16-bit TIFF keeps smooth skies smoother.", h.depth)
	}
	if f.alpha() {
		p.note("The file's transparency is not read; the picture is shown opaque.")
	}
	return p, nil
}

// code is how luma becomes red, green and blue. Where nothing is said MIAF (ISO/IEC
// 23000-22; from memory) means the matrix of BT.601 and the full range.
func (c *colourCodes) code() lumaCode {
	if c == nil {
		return fullRange
	}
	code := lumaCode{matrix: bt601, video: !c.full}
	switch c.matrix {
	case 1:
		code.matrix = bt709
	case 9, 10:
		code.matrix = bt2020
	}
	return code
}

// fits compares the size that came out with the size that was said.
func (h *heifPicture) fits(b image.Rectangle) error {
	w, ht := h.w, h.h
	for _, t := range h.turning {
		switch {
		case t.kind == "clap":
			if b.Dx()*b.Dy() <= w*ht {
				return nil
			}
		case t.kind == "irot" && t.body[0]&1 != 0:
			w, ht = ht, w
		}
	}
	if b.Dx() != w || b.Dy() != ht {
		return damaged("%s: %d x %d pixels, the header says %d x %d", h.format, b.Dx(), b.Dy(), w, ht)
	}
	return nil
}

// foreign is held by whoever has a picture decoded in there: one at a time, for
// the sake of memory. The libraries have one runtime each for the whole program.
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
