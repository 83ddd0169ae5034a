package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"

	"golang.org/x/image/webp"
)

// webpHeader is what the container's chunks say.
type webpHeader struct {
	w, h           int
	animated       bool
	lossless       bool
	icc, exif, xmp []byte
}

// parseWebPHeader walks the chunks of the RIFF container. Their sizes are padded
// to even numbers, which the reader of golang.org/x/image also does.
//
// Source: WebP container specification; RFC 6386, 9.1 for the frame header.
func parseWebPHeader(data []byte) (webpHeader, error) {
	var h webpHeader
	if len(data) < 20 {
		return h, damaged("WebP: ends within the header, %d bytes", len(data))
	}
	size := int64(binary.LittleEndian.Uint32(data[4:])) + 8
	if size > int64(len(data)) {
		return h, damaged("WebP: %d of %d bytes are there", len(data), size)
	}
	data = data[:size]
	for pos := 12; pos+8 <= len(data); {
		kind := string(data[pos : pos+4])
		n := int64(binary.LittleEndian.Uint32(data[pos+4:]))
		pos += 8
		if n > int64(len(data)-pos) {
			return h, damaged("WebP: chunk %q of %d bytes runs past the end, file %d bytes", kind, n, len(data))
		}
		body := data[pos : pos+int(n)]
		pos += int(n + n&1)
		switch {
		case kind == "VP8X" && len(body) >= 10 && h.w == 0:
			h.animated = body[0]&2 != 0
			h.w = 1 + (int(body[4]) | int(body[5])<<8 | int(body[6])<<16)
			h.h = 1 + (int(body[7]) | int(body[8])<<8 | int(body[9])<<16)
		case kind == "VP8 " && len(body) >= 10 && h.w == 0:
			h.w = int(binary.LittleEndian.Uint16(body[6:])) & 0x3FFF
			h.h = int(binary.LittleEndian.Uint16(body[8:])) & 0x3FFF
		case kind == "VP8L" && len(body) >= 5 && h.w != 0:
			h.lossless = true
		case kind == "VP8L" && len(body) >= 5:
			h.lossless = true
			bits := binary.LittleEndian.Uint32(body[1:])
			h.w, h.h = 1+int(bits&0x3FFF), 1+int(bits>>14&0x3FFF)
		case kind == "ICCP" && h.icc == nil:
			h.icc = body
		case kind == "EXIF" && h.exif == nil:
			h.exif = body
		case kind == "XMP " && h.xmp == nil:
			h.xmp = body
		}
	}
	if h.w == 0 {
		return h, damaged("WebP: no picture in it")
	}
	return h, nil
}

// memory returns how much decoding takes at most beside the file. The lossless decoder
// holds two pictures of four channels while it undoes an indexing of colours.
func (h *webpHeader) memory(orientation int) int64 {
	pixels := int64(h.w) * int64(h.h)
	planes, samples := 5*pixels/2, 3*pixels // with opacity
	if h.lossless {
		return max(8*pixels, 4*pixels+samples+2*pixels, turnedTimes(orientation)*samples+pixels)
	}
	return planes + max(samples+pixels, (turnedTimes(orientation)-1)*samples)
}

func readWebP(ctx context.Context, data memory, lim limits) (decoded, error) {
	h, err := parseWebPHeader(data)
	if err != nil {
		return decoded{}, err
	}
	if h.animated {
		return decoded{}, unsupported("WebP: an animation; save the picture you mean as PNG")
	}
	if len(h.icc) > MaxICCBytes {
		return decoded{}, tooLarge("the embedded profile has %d bytes; at most %d are read", len(h.icc), MaxICCBytes)
	}
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return decoded{}, err
	}
	if err := tooPlain("WebP", int64(h.w), int64(h.h), len(data)); err != nil {
		return decoded{}, err
	}
	facts := readExif(h.exif)
	size := h.memory(facts.orientation)
	if err := lim.room(size+int64(len(data)), h.w, h.h); err != nil {
		return decoded{}, err
	}
	img, err := guarded("WebP", func() (image.Image, error) {
		return webp.Decode(&ctxReader{ctx, bytes.NewReader(data)})
	})
	if err != nil {
		return decoded{}, err
	}
	if b := img.Bounds(); b.Dx() != h.w || b.Dy() != h.h {
		return decoded{}, damaged("WebP: %d x %d pixels, the header says %d x %d", b.Dx(), b.Dy(), h.w, h.h)
	}
	collect(size)
	p, err := fromImage(ctx, img, videoRange, false)
	if err != nil {
		return decoded{}, err
	}
	return decoded{Picture: p, icc: h.icc, exif: facts, meta: Metadata{h.exif, h.xmp}}, nil
}
