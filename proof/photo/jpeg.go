package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"image"
	"image/jpeg"
)

const (
	iccMarker  = "ICC_PROFILE\x00"
	exifMarker = "Exif\x00\x00"
)

// jpegHeader is what precedes the first scan, T.81 annex B.
type jpegHeader struct {
	w, h, channels int
	precision      int
	frame          byte // SOF marker
	components     []jpegComponent
	scan           int    // where the first scan begins
	exif           []byte // the first Exif block
	xmp            []byte
	icc            []byte
	iccProblem     string
}

// jpegComponent is a channel as the frame header has it.
type jpegComponent struct {
	id   byte
	h, v int // sampling factors, at least 1
}

// parseJPEGHeader walks the segments up to the first scan.
func parseJPEGHeader(data []byte) (jpegHeader, error) {
	var (
		h      jpegHeader
		chunks = map[byte][]byte{}
		total  byte
	)
	pos := 2 // behind SOI
	for {
		// As the standard library: bytes between segments are passed over.
		for pos < len(data) && data[pos] != 0xFF {
			pos++
		}
		for pos < len(data) && data[pos] == 0xFF {
			pos++
		}
		if pos >= len(data) {
			return h, damaged("JPEG: ends before the first scan, after %d bytes", len(data))
		}
		marker := data[pos]
		pos++
		if marker == 0 || marker == 0x01 || marker >= 0xD0 && marker <= 0xD7 {
			continue // stuffing, TEM, RST: no length follows
		}
		if marker == 0xD9 {
			return h, damaged("JPEG: end marker before the first scan")
		}
		if pos+2 > len(data) {
			return h, damaged("JPEG: ends within segment %#x", marker)
		}
		n := int(binary.BigEndian.Uint16(data[pos:]))
		if n < 2 || pos+n > len(data) {
			return h, damaged("JPEG: segment %#x of %d bytes at %d runs past the end, file %d bytes", marker, n, pos, len(data))
		}
		body := data[pos+2 : pos+n]
		pos += n
		switch {
		case marker == 0xDA:
			if h.frame == 0 {
				return h, damaged("JPEG: a scan before the frame header")
			}
			h.joinICC(chunks, total)
			h.scan = pos - n - 2
			return h, nil
		case marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC:
			if len(body) < 6 {
				return h, damaged("JPEG: frame header of %d bytes", len(body))
			}
			if h.frame != 0 {
				return h, damaged("JPEG: two frame headers")
			}
			h.frame, h.precision = marker, int(body[0])
			h.h, h.w = int(binary.BigEndian.Uint16(body[1:])), int(binary.BigEndian.Uint16(body[3:]))
			h.channels = int(body[5])
			for c := body[6:]; len(c) >= 3; c = c[3:] {
				h.components = append(h.components, jpegComponent{c[0], max(int(c[1]>>4), 1), max(int(c[1]&15), 1)})
			}
		case marker == 0xE1 && h.exif == nil && bytes.HasPrefix(body, []byte(exifMarker)):
			h.exif = body
		case marker == 0xE1 && h.xmp == nil && bytes.HasPrefix(body, []byte(jpegXMPMarker)):
			h.xmp = body[len(jpegXMPMarker):]
		case marker == 0xE2 && bytes.HasPrefix(body, []byte(iccMarker)) && len(body) >= len(iccMarker)+2:
			// ICC.1:2022, B.4: number of this chunk, from 1, and how many.
			number, of := body[len(iccMarker)], body[len(iccMarker)+1]
			part := body[len(iccMarker)+2:]
			switch before, doubled := chunks[number]; {
			case number == 0 || number > of || total != 0 && of != total:
				h.iccProblem = "its parts are numbered wrongly"
			case doubled && !bytes.Equal(before, part):
				h.iccProblem = "one of its parts is there twice"
			default:
				chunks[number], total = part, of
			}
		}
	}
}

// joinICC puts the parts of the profile together, in order of their numbers.
func (h *jpegHeader) joinICC(chunks map[byte][]byte, total byte) {
	if h.iccProblem != "" || total == 0 {
		return
	}
	if len(chunks) != int(total) {
		h.iccProblem = "some of its parts are missing"
		return
	}
	for i := 1; i <= int(total); i++ {
		h.icc = append(h.icc, chunks[byte(i)]...)
	}
}

func readJPEG(ctx context.Context, data []byte, lim limits) (decoded, error) {
	h, err := parseJPEGHeader(data)
	if err != nil {
		return decoded{}, err
	}
	if err := h.check(len(data), lim); err != nil {
		return decoded{}, err
	}
	if err := h.checkScans(data, scansOfBlocks); err != nil {
		return decoded{}, err
	}
	facts := readExif(h.exif)
	size := h.memory(facts.orientation)
	if err := lim.room(size+int64(len(data)), h.w, h.h); err != nil {
		return decoded{}, err
	}
	img, err := guarded("JPEG", func() (image.Image, error) {
		return jpeg.Decode(ctxReader{ctx, bytes.NewReader(data)})
	})
	if err != nil {
		return decoded{}, err
	}
	collect(size)
	p, err := fromImage(ctx, img, fullRange, false)
	if err != nil {
		return decoded{}, err
	}
	if h.iccProblem != "" {
		p.note("The embedded colour profile is not used: %s.", h.iccProblem)
	}
	return decoded{Picture: p, icc: h.icc, exif: facts, meta: Metadata{h.exif, h.xmp}}, nil
}

// check refuses what the decoder cannot do, or should not try.
func (h *jpegHeader) check(size int, lim limits) error {
	switch {
	case h.frame > 0xC2:
		return unsupported("JPEG: lossless, hierarchical or arithmetic coding (frame %#x)", h.frame)
	case h.precision != 8:
		return unsupported("JPEG: %d bits a sample", h.precision)
	case h.h == 0:
		return unsupported("JPEG: the height is not in the header")
	}
	if err := lim.check(int64(h.w), int64(h.h)); err != nil {
		return err
	}
	if int64(h.w)*int64(h.h) > int64(size)*jpegMaxPixels+ratioSlack {
		return damaged("JPEG: %d x %d pixels cannot be in %d bytes", h.w, h.h, size)
	}
	return nil
}
