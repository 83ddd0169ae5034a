package photo

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"io"
)

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngHeader is what the chunks say besides the pixels.
type pngHeader struct {
	w, h       uint32
	depth      byte
	colourType byte
	animated   bool
	interlaced bool
	keyed      bool  // a colour or palette entries are transparent
	data       int64 // bytes in IDAT chunks

	icc        []byte
	iccProblem string
	exif, xmp  []byte
	colour     pngColour
}

// PNG colour types, PNG 11.2.1.
const (
	pngGrey      = 0
	pngRGB       = 2
	pngPalette   = 3
	pngGreyAlpha = 4
	pngRGBA      = 6
)

// parsePNGHeader walks all chunks; checksums are left to the decoder.
func parsePNGHeader(data []byte) (pngHeader, error) {
	var h pngHeader
	pos := len(pngSignature)
	seenPixels := false
	for first := true; pos+8 <= len(data); first = false {
		n := int64(binary.BigEndian.Uint32(data[pos:]))
		kind := string(data[pos+4 : pos+8])
		pos += 8
		if n > int64(len(data)-pos)-4 {
			return h, damaged("PNG: chunk %q of %d bytes runs past the end, file %d bytes", kind, n, len(data))
		}
		body := data[pos : pos+int(n)]
		pos += int(n) + 4
		if first != (kind == "IHDR") {
			return h, damaged("PNG: chunk %q where the header should be, or a second header", kind)
		}
		if err := h.chunk(kind, body, seenPixels); err != nil {
			return h, err
		}
		switch kind {
		case "IDAT":
			seenPixels = true
			h.data += n
		case "IEND":
			if !seenPixels {
				return h, damaged("PNG: no pixels")
			}
			return h, nil
		}
	}
	return h, damaged("PNG: the end mark is missing, file %d bytes", len(data))
}

// chunk takes what one chunk says. Colour chunks count only before the pixels,
// PNG 5.6.
func (h *pngHeader) chunk(kind string, body []byte, seenPixels bool) error {
	switch kind {
	case "IHDR":
		if len(body) != 13 {
			return damaged("PNG: header of %d bytes, want 13", len(body))
		}
		h.w, h.h = binary.BigEndian.Uint32(body), binary.BigEndian.Uint32(body[4:])
		h.depth, h.colourType, h.interlaced = body[8], body[9], body[12] != 0
	case "tRNS":
		h.keyed = true
	case "eXIf":
		if h.exif == nil {
			h.exif = body
		}
	case "iTXt":
		if text, ok := bytes.CutPrefix(body, []byte(pngXMPKeyword+"\x00\x00\x00\x00\x00")); ok && h.xmp == nil {
			h.xmp = text // as all programs write it: not compressed, no language
		}
	case "acTL":
		h.animated = true
	}
	if seenPixels {
		return nil
	}
	if kind == "iCCP" && h.icc == nil {
		return h.inflateICC(body)
	}
	h.colour.chunk(kind, body)
	return nil
}

// inflateICC unpacks an iCCP chunk: a name, a zero, the method 0 and a zlib
// stream (PNG 11.3.2.3).
func (h *pngHeader) inflateICC(body []byte) error {
	end := bytes.IndexByte(body, 0)
	if end < 0 || end > 79 || len(body) < end+2 || body[end+1] != 0 {
		h.iccProblem = "its chunk is damaged"
		return nil
	}
	z, err := zlib.NewReader(bytes.NewReader(body[end+2:]))
	if err != nil {
		h.iccProblem = "its compressed data are damaged"
		return nil
	}
	icc, err := io.ReadAll(io.LimitReader(z, MaxICCBytes+1))
	if len(icc) > MaxICCBytes {
		return tooLarge("the embedded profile unpacks to more than %d bytes", MaxICCBytes)
	}
	// A wrong checksum at the end of the stream does not matter when the profile
	// is complete by its own header, which setICC looks at.
	if err != nil && !errors.Is(err, zlib.ErrChecksum) {
		h.iccProblem = "its compressed data are damaged"
		return nil
	}
	h.icc = icc
	return nil
}

func readPNG(ctx context.Context, data []byte, lim limits) (decoded, error) {
	h, err := parsePNGHeader(data)
	if err != nil {
		return decoded{}, err
	}
	if err := h.check(lim); err != nil {
		return decoded{}, err
	}
	facts := readExif(h.exif)
	size := h.memory(facts.orientation)
	if err := lim.room(size+int64(len(data)), int(h.w), int(h.h)); err != nil {
		return decoded{}, err
	}
	named, err := h.colour.space(h.icc != nil)
	if err != nil {
		return decoded{}, err
	}
	var p *Picture
	if h.byRows() {
		p, err = readPNGRows(ctx, data, &h)
	} else {
		p, err = h.decode(ctx, data, size)
	}
	if err != nil {
		return decoded{}, err
	}
	if h.animated {
		p.note("The file is an animation; only its still picture is shown.")
	}
	if h.iccProblem != "" {
		p.note("The embedded colour profile is not used: %s.", h.iccProblem)
	}
	return decoded{Picture: p, icc: h.icc, named: named, exif: facts, meta: Metadata{h.exif, h.xmp}}, nil
}

// decode reads the picture through the standard library, which makes size bytes of it.
func (h *pngHeader) decode(ctx context.Context, data []byte, size int64) (*Picture, error) {
	img, err := guarded("PNG", func() (image.Image, error) {
		return png.Decode(ctxReader{ctx, bytes.NewReader(data)})
	})
	if err != nil {
		return nil, err
	}
	collect(size)
	return fromImage(ctx, img, fullRange, h.colourType == pngGrey || h.colourType == pngGreyAlpha)
}

// memory returns how much decoding takes at most beside the file: what the standard
// library decodes to, twice while passes are put together, or it and the samples; by
// rows these alone.
func (h *pngHeader) memory(orientation int) int64 {
	pixels, bytes := int64(h.w)*int64(h.h), int64(1)
	if h.depth == 16 {
		bytes = 2
	}
	channels, of, alpha := int64(1), int64(1), h.keyed || h.colourType == pngGreyAlpha || h.colourType == pngRGBA
	switch {
	case h.colourType == pngPalette:
		channels = 3
	case h.colourType == pngRGB || h.colourType == pngRGBA:
		channels, of = 3, 4
	case alpha:
		of = 4
	}
	image, samples := of*bytes*pixels, channels*bytes*pixels
	whole := samples
	if alpha {
		whole += (bytes + 1) * pixels
	}
	if h.byRows() {
		image = 0
	}
	passes := image
	if h.interlaced {
		passes += image
	}
	return max(passes, image+whole, turnedTimes(orientation)*samples+pixels)
}

// check compares the promised size with the limits and with the data.
func (h *pngHeader) check(lim limits) error {
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return err
	}
	perPixel := int64(h.depth)
	switch h.colourType {
	case pngGrey, pngPalette:
	case pngRGB:
		perPixel *= 3
	case pngGreyAlpha:
		perPixel *= 2
	case pngRGBA:
		perPixel *= 4
	default:
		return damaged("PNG: colour type %d", h.colourType)
	}
	if h.depth > 16 {
		return damaged("PNG: %d bits a sample", h.depth)
	}
	raw := (int64(h.w)*perPixel + 7) / 8 * int64(h.h)
	if raw > h.data*deflateMaxRatio+ratioSlack {
		return damaged("PNG: %d x %d pixels cannot be in %d compressed bytes", h.w, h.h, h.data)
	}
	return nil
}
