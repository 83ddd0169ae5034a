package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"strings"

	"github.com/klauspost/compress/zlib"
)

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngHeader is what the chunks say besides the pixels.
type pngHeader struct {
	w, h       uint32
	depth      byte
	colourType byte
	animated   bool
	interlaced bool
	data       int64 // bytes in IDAT chunks

	palette []byte // red, green and blue of each entry
	keyed   []byte // opacities of the palette's entries, or the colour that is transparent; nil when none
	method  byte   // of compression and of filters, which are 0

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

// pngSaying are the chunks that are looked at.
const pngSaying = "IHDR PLTE tRNS eXIf iTXt acTL iCCP sRGB gAMA cHRM cICP"

// parsePNGHeader walks all chunks; checksums are left to who reads the pixels.
func parsePNGHeader(src source) (pngHeader, error) {
	var h pngHeader
	size := src.Size()
	pos := int64(len(pngSignature))
	seenPixels := false
	head := make([]byte, 8)
	for first := true; pos+8 <= size; first = false {
		if _, err := src.ReadAt(head, pos); err != nil && err != io.EOF {
			return h, err
		}
		n, kind := int64(binary.BigEndian.Uint32(head)), string(head[4:])
		pos += 8
		if n > size-pos-4 {
			return h, damaged("PNG: chunk %q of %d bytes runs past the end, file %d bytes", kind, n, size)
		}
		if first != (kind == "IHDR") {
			return h, damaged("PNG: chunk %q where the header should be, or a second header", kind)
		}
		if strings.Contains(pngSaying, kind) {
			if err := h.chunkAt(src, kind, pos, n, seenPixels); err != nil {
				return h, err
			}
		}
		pos += n + 4
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
	return h, damaged("PNG: the end mark is missing, file %d bytes", size)
}

// chunkAt reads a chunk that says something.
func (h *pngHeader) chunkAt(src source, kind string, pos, n int64, seenPixels bool) error {
	if n > maxChunk {
		if kind == "iCCP" {
			return tooLarge("the embedded profile has %d bytes; at most %d are read", n, MaxICCBytes)
		}
		return nil
	}
	body, err := piece(src, pos, n)
	if err != nil {
		return err
	}
	return h.chunk(kind, body, seenPixels)
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
		h.depth, h.colourType, h.method, h.interlaced = body[8], body[9], body[10]|body[11], body[12] != 0
		if body[12] > 1 {
			return damaged("PNG: interlacing %d", body[12])
		}
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
	switch {
	case kind == "PLTE":
		h.palette = body
	case kind == "tRNS":
		h.keyed = body
	case kind == "iCCP" && h.icc == nil:
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

func readPNG(ctx context.Context, src source, lim limits) (decoded, error) {
	h, err := parsePNGHeader(src)
	if err != nil {
		return decoded{}, err
	}
	facts := readExif(h.exif)
	lim = lim.forRows(!h.interlaced && !turned(facts.orientation))
	if err := h.check(lim); err != nil {
		return decoded{}, err
	}
	l := h.layout()
	size := l.memory(facts.orientation) + held(src)
	if err := lim.admit(size, 2*l.rowBytes(l.w)+held(src), l.w, l.h, l.pixelBytes()); err != nil {
		return decoded{}, err
	}
	named, err := h.colour.space(h.icc != nil)
	if err != nil {
		return decoded{}, err
	}
	p := &Picture{W: l.w, H: l.h, Channels: l.channels, Depth: l.outDepth()}
	if h.animated {
		p.note("The file is an animation; only its still picture is shown.")
	}
	if h.iccProblem != "" {
		p.note("The embedded colour profile is not used: %s.", h.iccProblem)
	}
	return decoded{
		Picture: p, icc: h.icc, named: named, exif: facts, meta: Metadata{h.exif, h.xmp},
		unread: unread{rest: newPNGRows(src, l), stored: l.channels, size: size, whole: h.interlaced},
	}, nil
}

// check compares the promised size with the limits and with the data, and refuses what no PNG
// is.
func (h *pngHeader) check(lim limits) error {
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return err
	}
	depths, known := map[byte]string{pngGrey: "\x01\x02\x04\x08\x10", pngPalette: "\x01\x02\x04\x08", pngRGB: "\x08\x10", pngGreyAlpha: "\x08\x10", pngRGBA: "\x08\x10"}[h.colourType]
	switch {
	case !known:
		return damaged("PNG: colour type %d", h.colourType)
	case h.depth > 16:
		return damaged("PNG: %d bits a sample", h.depth)
	case strings.IndexByte(depths, h.depth) < 0:
		return unsupported("PNG: %d bits a sample of colour type %d", h.depth, h.colourType)
	case h.method != 0:
		return unsupported("PNG: a compression or filters of another kind")
	}
	if err := h.checkPalette(); err != nil {
		return err
	}
	if raw := h.layout().rowBytes(int(h.w)) * int64(h.h); raw > h.data*deflateMaxRatio+ratioSlack {
		return damaged("PNG: %d x %d pixels cannot be in %d compressed bytes", h.w, h.h, h.data)
	}
	return nil
}

// checkPalette looks at the palette and at what is transparent (PNG 11.2.2 and 11.3.1.1).
func (h *pngHeader) checkPalette() error {
	entries := len(h.palette) / 3
	switch {
	case h.colourType == pngPalette && (entries == 0 || len(h.palette)%3 != 0 || entries > 1<<h.depth):
		return damaged("PNG: a palette of %d bytes for %d bits", len(h.palette), h.depth)
	case h.keyed == nil:
		return nil
	}
	if most, ok := map[byte]int{pngGrey: 2, pngRGB: 6, pngPalette: 256}[h.colourType]; !ok || len(h.keyed) > most || h.colourType != pngPalette && len(h.keyed) < most {
		return damaged("PNG: %d bytes on what is transparent, colour type %d", len(h.keyed), h.colourType)
	}
	return nil
}
