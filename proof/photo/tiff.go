package photo

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"runtime"

	"firstsheet/proof/jpeg"

	"golang.org/x/image/tiff/lzw"
)

// Tags of TIFF 6.0 and its supplements.
const (
	tagSubfileType     = 254
	tagWidth           = 256
	tagLength          = 257
	tagBits            = 258
	tagCompression     = 259
	tagPhotometric     = 262
	tagFillOrder       = 266
	tagStripOffsets    = 273
	tagSamplesPerPixel = 277
	tagRowsPerStrip    = 278
	tagStripCounts     = 279
	tagXResolution     = 282
	tagYResolution     = 283
	tagPlanar          = 284
	tagResolutionUnit  = 296
	tagPredictor       = 317
	tagColorMap        = 320
	tagTileWidth       = 322
	tagTileLength      = 323
	tagTileOffsets     = 324
	tagTileCounts      = 325
	tagInkSet          = 332
	tagExtraSamples    = 338
	tagSampleFormat    = 339
	tagJPEGTables      = 347
	tagICC             = 34675
	tagDNGVersion      = 50706
)

// tiffFloat is the sample format of floating-point numbers.
const tiffFloat = 3

const (
	tiffNone       = 1
	tiffLZW        = 5
	tiffOldJPEG    = 6
	tiffJPEG       = 7
	tiffDeflate    = 8
	tiffOldDeflate = 32946
	tiffPackBits   = 32773
)

const (
	tiffWhiteIsZero = 0
	tiffBlackIsZero = 1
	tiffRGB         = 2
	tiffPalette     = 3
	tiffCMYK        = 5
	tiffYCbCr       = 6
	tiffLab         = 8
	tiffICCLab      = 9  // supplement of 2002
	tiffITULab      = 10 // supplement of 2002
	tiffCFA         = 32803
	tiffLinearRaw   = 34892
)

// tiffLayout is how the samples of one TIFF picture lie in the file.
type tiffLayout struct {
	order       binary.ByteOrder
	w, h        int
	bits        int // 1, 2, 4, 8 or 16 a sample
	samples     int // stored for each pixel, additional ones included
	channels    int // of them, colour; 1 for a palette's index
	alpha       int // index of the sample that is opacity, -1 when none
	alphaKind   alphaKind
	photometric uint32
	compression uint32
	predictor   bool
	separate    bool // one plane a sample, instead of interleaved
	colorMap    []uint32
	jpegTables  []byte

	// Blocks are tiles, or strips as wide as the picture.
	bw, bh          int
	across, down    int
	offsets, counts []uint32
}

func readTIFF(ctx context.Context, data []byte, lim limits) (decoded, error) {
	f, err := parseTIFFHeader(data)
	if err != nil {
		return decoded{}, err
	}
	d, pages, err := f.picture()
	if err != nil {
		return decoded{}, err
	}
	l, err := d.layout(lim)
	if err != nil {
		return decoded{}, err
	}
	var p *Picture
	if l.bits == 16 {
		p, err = readTIFFSamples[uint16](ctx, data, l)
	} else {
		p, err = readTIFFSamples[uint8](ctx, data, l)
	}
	if err != nil {
		return decoded{}, err
	}
	if pages > 1 {
		p.note("The file holds %d pictures; the first is shown.", pages)
	}
	if extra := l.samples - l.channels; l.alpha < 0 && extra > 0 {
		p.note("The file has %d additional channel(s), saved selections perhaps; they are left aside.", extra)
	}
	// A profile behind the end means that the file was cut, and without it the
	// colours would be wrong.
	icc, err := d.bytes(tagICC)
	if err != nil {
		return decoded{}, err
	}
	if len(icc) > MaxICCBytes {
		return decoded{}, tooLarge("the embedded profile has %d bytes; at most %d are read", len(icc), MaxICCBytes)
	}
	var meta Metadata
	if dirs := d.carried(true); !dirs.empty() {
		meta.Exif = dirs.block()
	}
	if meta.XMP, err = d.bytes(tagXMP); err != nil || len(meta.XMP) == 0 {
		meta.XMP = nil // the picture is there all the same
	}
	return decoded{Picture: p, icc: icc, exif: d.exif(), meta: meta}, nil
}

// picture returns the first directory that is a full picture, not a thumbnail of
// one, and how many such there are.
func (f *tiffFile) picture() (first *tiffDir, pages int, err error) {
	seen := map[uint32]bool{}
	for offset := f.first; offset != 0 && !seen[offset] && len(seen) < maxDirs; {
		seen[offset] = true
		d, err := f.dir(offset)
		if err != nil {
			if first == nil {
				return nil, 0, err
			}
			break // what follows the picture does not matter
		}
		offset = d.next
		if d.raw() {
			return nil, 0, advice(cameraRaw)
		}
		if kind, err := d.int(tagSubfileType, 0); err == nil && kind&5 != 0 {
			continue // a reduced picture, or a mask
		}
		if !d.has(tagWidth) || !d.has(tagLength) {
			continue
		}
		if first == nil {
			first = d
		}
		pages++
	}
	if first == nil {
		return nil, 0, damaged("TIFF: no picture in it")
	}
	return first, pages, nil
}

// layout reads and checks all that is needed to find the samples.
func (d *tiffDir) layout(lim limits) (*tiffLayout, error) {
	l := &tiffLayout{order: d.file.order, alpha: -1}
	var err error
	get := func(tag uint16, otherwise uint32) uint32 {
		v, e := d.int(tag, otherwise)
		if err == nil {
			err = e
		}
		return v
	}
	w, h := get(tagWidth, 0), get(tagLength, 0)
	l.compression = get(tagCompression, tiffNone)
	l.photometric = get(tagPhotometric, tiffBlackIsZero)
	samples := get(tagSamplesPerPixel, 1)
	planar := get(tagPlanar, 1)
	predictor := get(tagPredictor, 1)
	fill := get(tagFillOrder, 1)
	inkSet := get(tagInkSet, 1)
	if err != nil {
		return nil, err
	}
	if err := lim.check(int64(w), int64(h)); err != nil {
		return nil, err
	}
	l.w, l.h, l.separate = int(w), int(h), planar == 2

	switch l.photometric {
	case tiffWhiteIsZero, tiffBlackIsZero, tiffPalette:
		l.channels = 1
	case tiffRGB:
		l.channels = 3
	case tiffYCbCr:
		if l.compression != tiffJPEG {
			return nil, unsupported("TIFF: YCbCr without JPEG")
		}
		l.channels = 3
	case tiffCMYK:
		l.channels = 4
		if inkSet != 1 {
			// Which inks they are, only a profile can tell.
			if l.channels = int(get(tagNumberOfInks, samples)); err != nil || !inks(l.channels) {
				return nil, unsupported("TIFF: %d inks other than CMYK", l.channels)
			}
		}
	case tiffLab, tiffICCLab, tiffITULab:
		return nil, advice(labs)
	default:
		return nil, unsupported("TIFF: colour model %d; save it as RGB, grey or CMYK", l.photometric)
	}
	// 64 is far above what any picture carries besides its colour.
	if samples < uint32(l.channels) || samples > 64 {
		return nil, damaged("TIFF: %d samples a pixel, colour model %d", samples, l.photometric)
	}
	l.samples = int(samples)
	if err := l.checkSamples(d); err != nil {
		return nil, err
	}

	switch predictor {
	case 1:
	case 2:
		// It changes nothing that is not compressed, and the writers of such
		// files agree.
		l.predictor = l.compression == tiffLZW || l.compression == tiffDeflate || l.compression == tiffOldDeflate
		if l.predictor && l.bits < 8 {
			return nil, unsupported("TIFF: predictor with %d bits a sample", l.bits)
		}
	default:
		return nil, unsupported("TIFF: predictor %d", predictor)
	}
	if fill != 1 {
		return nil, unsupported("TIFF: reversed bits in bytes (fill order %d)", fill)
	}
	if err := l.blocks(d); err != nil {
		return nil, err
	}
	return l, l.checkCompression(d, lim)
}

// checkSamples reads sizes and meanings of the samples.
func (l *tiffLayout) checkSamples(d *tiffDir) error {
	bits, err := d.ints(tagBits, 64)
	if err != nil {
		return err
	}
	if bits == nil {
		bits = []uint32{1}
	}
	for _, b := range bits {
		if b != bits[0] {
			return unsupported("TIFF: samples of unequal size %v", bits)
		}
	}
	if len(bits) == 0 {
		return damaged("TIFF: no sample size")
	}
	format, err := d.ints(tagSampleFormat, 64)
	if err != nil {
		return err
	}
	for _, v := range format {
		// 4 is "undefined", which writers use for plain numbers.
		if v != 1 && v != 4 {
			if v == tiffFloat {
				return advice(floats)
			}
			return unsupported("TIFF: samples of format %d; save it with 16 bits", v)
		}
	}
	l.bits = int(bits[0])
	switch l.bits {
	case 8, 16:
	case 1, 2, 4:
		if l.samples != 1 {
			return unsupported("TIFF: %d samples of %d bits", l.samples, l.bits)
		}
	default:
		return unsupported("TIFF: %d bits a sample; save it with 16 or 8", l.bits)
	}
	extra, err := d.ints(tagExtraSamples, 64)
	if err != nil {
		return err
	}
	for i, v := range extra {
		if at := l.channels + i; l.channels <= 4 && at < l.samples && l.alpha < 0 && (v == 1 || v == 2) {
			l.alpha = at
			if v == 1 {
				l.alphaKind = alphaAssociated
			}
		}
	}
	if l.photometric != tiffPalette {
		return nil
	}
	if l.bits == 16 {
		return unsupported("TIFF: palette with 16 bits")
	}
	if l.colorMap, err = d.ints(tagColorMap, 3*256); err != nil {
		return err
	}
	if len(l.colorMap) != 3<<l.bits {
		return damaged("TIFF: palette with %d values, want %d", len(l.colorMap), 3<<l.bits)
	}
	return nil
}

// blocks finds the tiles or strips and compares them with the file.
func (l *tiffLayout) blocks(d *tiffDir) error {
	offsetsTag, countsTag := uint16(tagStripOffsets), uint16(tagStripCounts)
	l.bw, l.bh = l.w, l.h
	if d.has(tagTileWidth) || d.has(tagTileOffsets) {
		offsetsTag, countsTag = tagTileOffsets, tagTileCounts
		tw, err := d.int(tagTileWidth, 0)
		if err != nil {
			return err
		}
		th, err := d.int(tagTileLength, 0)
		if err != nil {
			return err
		}
		// Tiles in use have 64 to 1024 pixels a side; one may stick out of a
		// small picture.
		if tw < 8 || th < 8 || tw > 1<<15 || th > 1<<15 || int64(tw)*int64(th) > 4*int64(l.w)*int64(l.h)+1<<22 {
			return damaged("TIFF: tiles of %d x %d in %d x %d pixels", tw, th, l.w, l.h)
		}
		l.bw, l.bh = int(tw), int(th)
	} else {
		rows, err := d.int(tagRowsPerStrip, uint32(l.h))
		if err != nil {
			return err
		}
		if rows == 0 {
			return damaged("TIFF: strips of 0 rows")
		}
		if rows < uint32(l.h) {
			l.bh = int(rows)
		}
	}
	l.across, l.down = (l.w+l.bw-1)/l.bw, (l.h+l.bh-1)/l.bh
	n := l.across * l.down
	if l.separate {
		n *= l.samples
	}
	var err error
	if l.offsets, err = d.ints(offsetsTag, len(d.file.data)); err != nil {
		return err
	}
	if l.counts, err = d.ints(countsTag, len(d.file.data)); err != nil {
		return err
	}
	if len(l.counts) == 0 && n == 1 && len(l.offsets) == 1 && l.compression == tiffNone && int64(l.offsets[0]) <= int64(len(d.file.data)) {
		// Single strips without a size were allowed before TIFF 6.0.
		l.counts = []uint32{uint32(len(d.file.data)) - l.offsets[0]}
	}
	if len(l.offsets) < n || len(l.counts) < n {
		return damaged("TIFF: %d offsets and %d sizes for %d blocks", len(l.offsets), len(l.counts), n)
	}
	l.offsets, l.counts = l.offsets[:n], l.counts[:n]
	for i := range n {
		if end := int64(l.offsets[i]) + int64(l.counts[i]); end > int64(len(d.file.data)) {
			return damaged("TIFF: block %d of %d ends at %d, file %d bytes", i, n, end, len(d.file.data))
		}
	}
	return nil
}

// checkCompression refuses what is not read, and promises that the compressed
// bytes cannot keep.
func (l *tiffLayout) checkCompression(d *tiffDir, lim limits) error {
	ratio := int64(1)
	switch l.compression {
	case tiffNone:
	case tiffLZW:
		ratio = lzwMaxRatio
	case tiffDeflate, tiffOldDeflate:
		ratio = deflateMaxRatio
	case tiffPackBits:
		ratio = packBitsMaxRatio
	case tiffJPEG:
		if l.bits != 8 || l.separate || l.samples != l.channels || l.channels == 4 || l.photometric == tiffPalette {
			return unsupported("TIFF: JPEG with %d samples of %d bits, colour model %d; save it with LZW or ZIP", l.samples, l.bits, l.photometric)
		}
		ratio = jpegMaxPixels * int64(l.samples)
		var err error
		if l.jpegTables, err = d.bytes(tagJPEGTables); err != nil {
			return err
		}
		if len(l.jpegTables) > maxTables {
			return damaged("TIFF: JPEG tables of %d bytes, at most %d make sense", len(l.jpegTables), maxTables)
		}
	case tiffOldJPEG:
		return unsupported("TIFF: JPEG of the old kind (compression 6)")
	default:
		return unsupported("TIFF: compression %d; save it with LZW or ZIP", l.compression)
	}
	together := int64(0)
	for _, c := range l.counts {
		together += int64(c)
	}
	stored := min(together, int64(len(d.file.data))) // blocks may overlap
	need := int64(l.h) * ((int64(l.w)*int64(l.samples)*int64(l.bits) + 7) / 8)
	if need > stored*ratio+ratioSlack {
		return damaged("TIFF: %d x %d pixels of %d samples cannot be in %d bytes", l.w, l.h, l.samples, stored)
	}
	// Additional channels count too: 4 bytes are four of 8 bits.
	if need > 4*lim.pixels {
		return tooLarge("%d x %d pixels of %d samples; at most %d bytes are opened", l.w, l.h, l.samples, 4*lim.pixels)
	}
	// Blocks that share bytes, or stick out of the picture, add up.
	if most := max(blocksShare*stored, need+blocksSlack); together > most {
		return damaged("TIFF: its %d blocks have %d bytes together, of a file of %d", len(l.counts), together, len(d.file.data))
	}
	if sum := l.unpacked(); sum > blocksShare*need+blocksSlack {
		return damaged("TIFF: its %d blocks unpack to %d MB, and the picture has %d", len(l.counts), sum>>20, need>>20)
	}
	exif := d.exif()
	return lim.room(l.memory(exif.orientation)+int64(len(d.file.data)), l.w, l.h)
}

// unpacked returns how many bytes all blocks together unpack to.
func (l *tiffLayout) unpacked() int64 {
	n := int64(l.samples)
	if l.separate {
		n = 1
	}
	rows := int64(0)
	for y := 0; y < l.h; y += l.bh {
		rows += int64(min(l.bh, l.h-y))
	}
	sum := int64(l.across) * rows * ((int64(l.bw)*n*int64(l.bits) + 7) / 8)
	if l.separate {
		sum *= int64(l.samples)
	}
	return sum
}

// memory returns how much reading takes at most beside the file: samples and opacities;
// rows are unpacked one at a time, blocks of JPEG whole.
func (l *tiffLayout) memory(orientation int) int64 {
	pixels, bytes := int64(l.w)*int64(l.h), int64((l.bits+7)/8)
	samples, channels := int64(l.channels)*bytes*pixels, int64(l.channels)
	whole := samples
	if l.photometric == tiffPalette {
		channels = 3
		whole += channels * bytes * pixels
	}
	if l.alpha >= 0 {
		whole += (bytes + 1) * pixels
	}
	if l.compression == tiffJPEG {
		block := int64(l.bw) * int64(l.bh)
		whole += min(int64(runtime.GOMAXPROCS(0)), int64(len(l.counts))) * 3 * channels * block
	}
	return max(whole, turnedTimes(orientation)*channels*bytes*pixels+pixels)
}

// readTIFFSamples lays the samples of all blocks out into a Picture.
func readTIFFSamples[T sample](ctx context.Context, data []byte, l *tiffLayout) (*Picture, error) {
	pix := make([]T, l.w*l.h*l.channels)
	var alpha []T
	if l.alpha >= 0 {
		alpha = make([]T, l.w*l.h)
	}
	perPlane := l.across * l.down
	err := parallel(ctx, len(l.offsets), func(i int) error {
		plane, at := i/perPlane, i%perPlane
		if l.separate && plane >= l.channels && plane != l.alpha {
			return nil
		}
		raw := data[l.offsets[i]:][:l.counts[i]]
		return readBlock(ctx, raw, l, plane, at%l.across*l.bw, at/l.across*l.bh, pix, alpha)
	})
	if err != nil {
		return nil, err
	}
	return finishTIFF(ctx, l, pix, alpha)
}

// unpack hands over the rows of a block, rowBytes each, which may be changed and are
// another's afterwards. Surplus is ignored, as all readers do; too few bytes are damage.
func unpack(ctx context.Context, raw []byte, l *tiffLayout, rowBytes, rows int, use func(r int, row []byte)) error {
	if l.compression == tiffJPEG {
		buf := make([]byte, rowBytes*l.bh)
		if err := unpackJPEG(ctx, buf, raw, l, rowBytes, rows); err != nil {
			return err
		}
		for r := range rows {
			use(r, buf[r*rowBytes:(r+1)*rowBytes])
		}
		return nil
	}
	_, err := guarded("TIFF", func() (int, error) {
		in, err := l.reader(ctxReader{ctx, bytes.NewReader(raw)})
		if err != nil {
			return 0, err
		}
		defer in.Close()
		row := make([]byte, rowBytes)
		for r := range rows {
			if _, err := io.ReadFull(in, row); err != nil {
				return 0, fmt.Errorf("row %d of %d: %w", r+1, rows, err)
			}
			use(r, row)
		}
		return 0, nil
	})
	return err
}

// reader undoes a compression by rows.
func (l *tiffLayout) reader(raw io.Reader) (io.ReadCloser, error) {
	switch l.compression {
	case tiffNone:
		return io.NopCloser(raw), nil
	case tiffLZW:
		return lzw.NewReader(bufio.NewReader(raw), lzw.MSB, 8), nil
	case tiffDeflate, tiffOldDeflate:
		return zlib.NewReader(bufio.NewReader(raw))
	case tiffPackBits:
		return io.NopCloser(&packBits{r: bufio.NewReader(raw)}), nil
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

// unpackJPEG decodes a block that is a JPEG stream, whose tables may be kept
// apart (TIFF Technical Note 2).
func unpackJPEG(ctx context.Context, dst, raw []byte, l *tiffLayout, rowBytes, rows int) error {
	stream := raw
	// Tables are a stream of their own, with a start and an end mark.
	if t := l.jpegTables; len(t) > 4 && len(raw) > 2 {
		stream = append(append(make([]byte, 0, len(t)+len(raw)), t[:len(t)-2]...), raw[2:]...)
	}
	if len(stream) < 3 || string(stream[:3]) != "\xff\xd8\xff" {
		return damaged("TIFF JPEG: a block of %d bytes is no JPEG", len(raw))
	}
	h, err := parseJPEGHeader(stream)
	if err != nil {
		return err
	}
	if h.w != l.bw || h.h < rows || h.h > l.bh || h.channels != l.channels || rowBytes != h.w*h.channels {
		return damaged("TIFF JPEG: a block of %d x %d pixels and %d channels, want %d x %d and %d", h.w, h.h, h.channels, l.bw, rows, l.channels)
	}
	if err := h.check(len(stream), limits{pixels: int64(l.bw) * int64(l.bh)}); err != nil {
		return err
	}
	if err := h.checkScans(stream, scansOfTIFF); err != nil {
		return err
	}
	if h.channels == 4 {
		return unsupported("TIFF JPEG: inks")
	}
	// With photometric RGB the three components are red, green and blue themselves; the
	// decoder cannot know.
	d, err := h.begin(stream, jpeg.Options{Raw: l.photometric == tiffRGB})
	if err != nil {
		return jpegFault("TIFF JPEG", err)
	}
	defer d.Close()
	if err := d.Rows(ctx, dst[:rowBytes*h.h]); err != nil {
		return jpegFault("TIFF JPEG", err)
	}
	return nil
}

// finishTIFF gives the raw samples their meaning: palettes are looked up, white
// that is zero is turned round, alpha is laid over bare paper.
func finishTIFF[T sample](ctx context.Context, l *tiffLayout, pix, alpha []T) (*Picture, error) {
	p := &Picture{W: l.w, H: l.h, Channels: l.channels, Depth: 8}
	if l.bits == 16 {
		p.Depth = 16
	}
	switch l.photometric {
	case tiffPalette:
		var err error
		if pix, err = lookUp(ctx, l, pix); err != nil {
			return nil, err
		}
		p.Channels = 3
	case tiffWhiteIsZero:
		err := bands(ctx, l.h, func(y0, y1 int) {
			for i := y0 * l.w; i < y1*l.w; i++ {
				pix[i] = ^pix[i]
			}
		})
		if err != nil {
			return nil, err
		}
		if l.alphaKind == alphaAssociated && alpha != nil {
			return nil, unsupported("TIFF: multiplied alpha on white-is-zero grey")
		}
	}
	if alpha != nil {
		var err error
		if p.Alpha, err = overPaper(ctx, pix, alpha, p.W, p.H, p.Channels, l.alphaKind); err != nil {
			return nil, err
		}
		p.noteAlpha()
	}
	switch v := any(pix).(type) {
	case []uint8:
		p.Pix8 = v
	case []uint16:
		p.Pix16 = v
	}
	return p, p.check()
}

// lookUp turns palette indices into RGB. Palettes hold 16 bits a value, all reds
// first; the pictures have 8, and so has what comes back.
func lookUp[T sample](ctx context.Context, l *tiffLayout, index []T) ([]T, error) {
	n := 1 << l.bits
	table := make([]T, 3*n)
	shift := 0 // palettes with 8-bit values exist, against the specification
	for _, v := range l.colorMap {
		if v > 255 {
			shift = 8
		}
	}
	for i := range n {
		for c := range 3 {
			table[3*i+c] = T(l.colorMap[c*n+i] >> shift)
		}
	}
	out := make([]T, 3*len(index))
	err := bands(ctx, l.h, func(y0, y1 int) {
		for i := y0 * l.w; i < y1*l.w; i++ {
			copy(out[3*i:3*i+3], table[3*int(index[i]):])
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
