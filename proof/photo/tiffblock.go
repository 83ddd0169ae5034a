package photo

import (
	"bufio"
	"context"
	"fmt"
	"io"

	"firstsheet/proof/jpeg"

	"github.com/klauspost/compress/zlib"
	"golang.org/x/image/tiff/lzw"
)

// tiffBlock is a tile or strip that is unpacked row by row.
type tiffBlock struct {
	number, plane int
	x0, y0, cols  int // its corner in the picture, and how many of its columns lie there
	y, end        int // the picture's row that comes next, and the one behind its last

	in   ctxReader     // of its bytes
	rest io.ReadCloser // nil before the first row and after the last
	row  []byte
}

const (
	// blockBuffer is how much of a block is read from the file at a time.
	blockBuffer = 32 << 10
	// blockBuffers is what unpacking a block takes beside its rows: that, and a decoder with its
	// window.
	blockBuffers = 128 << 10
)

// read hands over the rows up to the picture's row y1, in turn, each before y says the next.
// They may be changed and are another's afterwards. Surplus is ignored, as all readers do; too few
// bytes are damage.
func (b *tiffBlock) read(ctx context.Context, t *tiffRows, y1 int, use func(row []byte)) error {
	_, err := guarded("TIFF", func() (none struct{}, err error) {
		b.in.ctx = ctx
		if b.rest == nil {
			if err := b.begin(t); err != nil {
				return none, err
			}
		}
		for ; b.y < min(y1, b.end); b.y++ {
			if _, err := io.ReadFull(b.rest, b.row); err != nil {
				return none, fmt.Errorf("row %d of %d: %w", b.y-b.y0+1, b.end-b.y0, err)
			}
			if t.predictor {
				undoPredictor(b.row, t.stored(), t.bits, t.order)
			}
			use(b.row)
		}
		return none, nil
	})
	if err != nil || b.y == b.end {
		b.close()
	}
	return err
}

func (b *tiffBlock) begin(t *tiffRows) (err error) {
	b.row = make([]byte, t.rowBytes())
	offset, n := int64(t.offsets[b.number]), int64(t.counts[b.number])
	if t.compression == tiffJPEG {
		raw, err := piece(t.src, offset, n)
		if err == nil {
			b.rest, err = t.jpegReader(&b.in, raw, b.end-b.y)
		}
		return err
	}
	b.in.r = io.NewSectionReader(t.src, offset, n)
	b.rest, err = t.reader(bufio.NewReaderSize(&b.in, int(min(n, blockBuffer))))
	return err
}

func (b *tiffBlock) close() {
	if b.rest != nil {
		b.rest.Close()
	}
	b.rest, b.row = nil, nil
}

// reader undoes a compression by rows.
func (l *tiffLayout) reader(raw *bufio.Reader) (io.ReadCloser, error) {
	switch l.compression {
	case tiffNone:
		return io.NopCloser(raw), nil
	case tiffLZW:
		return lzw.NewReader(raw, lzw.MSB, 8), nil
	case tiffDeflate, tiffOldDeflate:
		return zlib.NewReader(raw)
	case tiffPackBits:
		return io.NopCloser(&packBits{r: raw}), nil
	}
	return nil, unsupported("TIFF: compression %d", l.compression)
}

// packBits undoes PackBits, TIFF 6.0 section 9.
type packBits struct {
	r    *bufio.Reader
	copy int  // bytes of a run still to be taken as they are
	same int  // times that again is still to be repeated
	byte byte // what is repeated
}

func (p *packBits) Read(b []byte) (int, error) {
	for p.copy == 0 && p.same == 0 {
		n, err := p.r.ReadByte()
		if err != nil {
			return 0, err
		}
		switch n := int(int8(n)); {
		case n >= 0:
			p.copy = n + 1
		case n > -128:
			if p.byte, err = p.r.ReadByte(); err != nil {
				return 0, unexpected(err)
			}
			p.same = 1 - n
		} // -128: no operation
	}
	if p.same > 0 {
		n := min(p.same, len(b))
		for i := range n {
			b[i] = p.byte
		}
		p.same -= n
		return n, nil
	}
	n, err := p.r.Read(b[:min(p.copy, len(b))])
	p.copy -= n
	return n, unexpected(err)
}

// unexpected is the end of a file where more was announced.
func unexpected(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// jpegReader begins a block that is a JPEG stream, whose tables may be kept
// apart (TIFF Technical Note 2). Its rows are read under the context of in.
func (l *tiffLayout) jpegReader(in *ctxReader, raw []byte, rows int) (io.ReadCloser, error) {
	stream := raw
	// Tables are a stream of their own, with a start and an end mark.
	if t := l.jpegTables; len(t) > 4 && len(raw) > 2 {
		stream = append(append(make([]byte, 0, len(t)+len(raw)), t[:len(t)-2]...), raw[2:]...)
	}
	if len(stream) < 3 || string(stream[:3]) != "\xff\xd8\xff" {
		return nil, damaged("TIFF JPEG: a block of %d bytes is no JPEG", len(raw))
	}
	h, err := parseJPEGHeader(stream)
	if err != nil {
		return nil, err
	}
	if h.w != l.bw || h.h < rows || h.h > l.bh || h.channels != l.channels || l.rowBytes() != int64(h.w*h.channels) {
		return nil, damaged("TIFF JPEG: a block of %d x %d pixels and %d channels, want %d x %d and %d", h.w, h.h, h.channels, l.bw, rows, l.channels)
	}
	if err := h.check(len(stream), limits{pixels: int64(l.bw) * int64(l.bh)}); err != nil {
		return nil, err
	}
	if err := h.checkScans(stream, scansOfTIFF); err != nil {
		return nil, err
	}
	if h.channels == 4 {
		return nil, unsupported("TIFF JPEG: inks")
	}
	// With photometric RGB the three components are red, green and blue themselves; the
	// decoder cannot know.
	d, err := h.begin(stream, jpeg.Options{Raw: l.photometric == tiffRGB})
	if err != nil {
		return nil, jpegFault("TIFF JPEG", err)
	}
	return &jpegBlock{Decoder: d, in: in, wanted: rows, spare: h.h - rows}, nil
}

// jpegBlock reads a JPEG as other packed blocks are read: row by row.
type jpegBlock struct {
	*jpeg.Decoder
	in     *ctxReader
	wanted int // rows
	spare  int // rows that stick out of the picture: they too must be there
}

// Read reads a row, for which b has room.
func (j *jpegBlock) Read(b []byte) (int, error) {
	rows := b
	if j.wanted--; j.wanted == 0 && j.spare > 0 {
		rows = make([]byte, (1+j.spare)*len(b))
	}
	if err := j.Rows(j.in.ctx, rows); err != nil {
		return 0, jpegFault("TIFF JPEG", err)
	}
	return copy(b, rows), nil
}

func (j *jpegBlock) Close() error {
	j.Decoder.Close()
	return nil
}
