package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"

	"firstsheet/proof/jpeg"
	"firstsheet/proof/raster"
)

const (
	iccMarker  = "ICC_PROFILE\x00"
	exifMarker = "Exif\x00\x00"

	jpegProgressive = 0xC2 // frame
)

// jpegHeader is what precedes the first scan, T.81 annex B.
type jpegHeader struct {
	w, h, channels int
	precision      int
	frame          byte // SOF marker
	components     []jpegComponent
	scan           int    // where the first scan begins
	scans          bool   // there are several
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
		// Bytes between segments are passed over.
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
			h.scans = h.frame == jpegProgressive || len(body) > 0 && int(body[0]) < h.channels
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

// readJPEG reads up to the first row.
func readJPEG(ctx context.Context, data memory, lim limits) (decoded, error) {
	h, err := parseJPEGHeader(data)
	if err != nil {
		return decoded{}, err
	}
	facts := readExif(h.exif)
	ratio, quartered := h.quartered()
	lim = lim.forRows(!turned(facts.orientation) && !quartered)
	if err := h.check(len(data), lim); err != nil {
		return decoded{}, err
	}
	if err := h.checkScans(data, scansOfBlocks); err != nil {
		return decoded{}, err
	}
	size := h.memory(facts.orientation) + data.Size()
	if err := lim.admit(size, h.coefficients()+data.Size(), h.w, h.h, h.channels); err != nil {
		return decoded{}, err
	}
	d, err := h.begin(data, jpeg.Options{Raw: quartered})
	if err != nil {
		return decoded{}, jpegFault("JPEG", err)
	}
	p := &Picture{W: d.W, H: d.H, Channels: d.Channels, Depth: 8}
	rest := unread{rest: &jpegRows{d}, stored: d.Channels, size: size}
	if quartered && d.YCbCr {
		defer d.Close()
		if p.Pix8, err = fromQuartered(ctx, d, ratio); err != nil {
			return decoded{}, err
		}
		rest = unread{}
	}
	if h.iccProblem != "" {
		p.note("The embedded colour profile is not used: %s.", h.iccProblem)
	}
	return decoded{Picture: p, icc: h.icc, exif: facts, meta: Metadata{h.exif, h.xmp}, unread: rest}, nil
}

// jpegRows reads rows as they come out of the decoder.
type jpegRows struct{ *jpeg.Decoder }

// next turns inks round: all who write four channels, and Adobe's segment, store 255 for
// none.
func (j *jpegRows) next(ctx context.Context, px raster.Pixels) ([]uint8, error) {
	if err := j.Rows(ctx, px.P8); err != nil {
		return nil, jpegFault("JPEG", err)
	}
	if px.Channels == 4 {
		for i, v := range px.P8 {
			px.P8[i] = ^v
		}
	}
	return nil, nil
}

// quartered returns the ratio of colour differences that have a quarter of luma's columns, as
// some video cameras wrote them. The library interpolates only halved ones.
func (h *jpegHeader) quartered() (ratio image.YCbCrSubsampleRatio, ok bool) {
	if h.channels != 3 || len(h.components) != 3 {
		return 0, false
	}
	luma, cb, cr := h.components[0], h.components[1], h.components[2]
	if cb.h != cr.h || cb.v != cr.v || luma.h != 4*cb.h {
		return 0, false
	}
	switch luma.v {
	case cb.v:
		return image.YCbCrSubsampleRatio411, true
	case 2 * cb.v:
		return image.YCbCrSubsampleRatio410, true
	}
	return 0, false
}

// fromQuartered reads a JPEG of quartered colour, whose differences the library repeats.
func fromQuartered(ctx context.Context, d *jpeg.Decoder, ratio image.YCbCrSubsampleRatio) ([]uint8, error) {
	stored := make([]uint8, 3*d.W*d.H)
	if err := d.Rows(ctx, stored); err != nil {
		return nil, jpegFault("JPEG", err)
	}
	m := image.NewYCbCr(image.Rect(0, 0, d.W, d.H), ratio)
	for y := range d.H {
		for x := range d.W {
			p, c := stored[3*(y*d.W+x):], m.COffset(x, y)
			m.Y[m.YOffset(x, y)], m.Cb[c], m.Cr[c] = p[0], p[1], p[2]
		}
	}
	return fromYCbCr(ctx, m, fullRange)
}

// begin opens and starts what was checked.
func (h *jpegHeader) begin(data []byte, o jpeg.Options) (*jpeg.Decoder, error) {
	d, err := jpeg.Open(data)
	if err != nil {
		return nil, err
	}
	if d.W != h.w || d.H != h.h || d.Channels != h.channels {
		err = damaged("JPEG: two headers, of %d x %d and %d x %d pixels", h.w, h.h, d.W, d.H)
	} else if d.Channels == 4 && !d.Adobe {
		err = unsupported("JPEG: four channels without a word on what they are")
	} else {
		o.Memory = h.coefficients() + jpegBuffers
		err = d.Start(o)
	}
	if err != nil {
		d.Close()
		return nil, err
	}
	return d, nil
}

// jpegFault says what is wrong with a file of that format in the words of this package.
func jpegFault(format string, err error) error {
	e, ok := errors.AsType[*jpeg.Error](err)
	if !ok {
		return err
	}
	said := fmt.Errorf("%s: %s", format, e.Message)
	switch e.Kind {
	case jpeg.Unsupported:
		return &Error{Kind: Unsupported, Err: said}
	case jpeg.TooLarge:
		return &Error{Kind: TooLarge, Err: said}
	case jpeg.Short:
		said = fmt.Errorf("%s: the file ends early: %s", format, e.Message)
	}
	return &Error{Kind: Damaged, Err: said}
}

// check refuses what the decoder cannot do, or should not try.
func (h *jpegHeader) check(size int, lim limits) error {
	switch {
	case h.frame > jpegProgressive:
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
