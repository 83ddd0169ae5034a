package photo

import (
	"encoding/binary"
	"runtime"
	"slices"
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
	separate    bool       // one plane a sample, instead of interleaved
	palette     [][3]uint8 // nil where there is none
	jpegTables  []byte

	// Blocks are tiles, or strips as wide as the picture.
	bw, bh          int
	across, down    int
	offsets, counts []uint32
	whole           bool // so many lie beside each other that all of them one by one take less
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
	if l.photometric == tiffWhiteIsZero && l.alpha >= 0 && l.alphaKind == alphaAssociated {
		return unsupported("TIFF: multiplied alpha on white-is-zero grey")
	}
	if l.photometric != tiffPalette {
		return nil
	}
	if l.bits == 16 {
		return unsupported("TIFF: palette with 16 bits")
	}
	colors, err := d.ints(tagColorMap, 3*256)
	if err != nil {
		return err
	}
	if len(colors) != 3<<l.bits {
		return damaged("TIFF: palette with %d values, want %d", len(colors), 3<<l.bits)
	}
	l.palette = tiffPaletteOf(colors)
	return nil
}

// tiffPaletteOf returns red, green and blue of each index. Palettes hold 16 bits a value, all
// reds first; the pictures have 8, and so has what comes back.
func tiffPaletteOf(colors []uint32) [][3]uint8 {
	shift := 0 // palettes with 8-bit values exist, against the specification
	if slices.Max(colors) > 255 {
		shift = 8
	}
	n := len(colors) / 3
	out := make([][3]uint8, n)
	for i := range colors {
		out[i%n][i/n] = uint8(colors[i] >> shift)
	}
	return out
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
	if l.offsets, err = d.ints(offsetsTag, int(d.file.src.Size())); err != nil {
		return err
	}
	if l.counts, err = d.ints(countsTag, int(d.file.src.Size())); err != nil {
		return err
	}
	if len(l.counts) == 0 && n == 1 && len(l.offsets) == 1 && l.compression == tiffNone && int64(l.offsets[0]) <= d.file.src.Size() {
		// Single strips without a size were allowed before TIFF 6.0.
		l.counts = []uint32{uint32(d.file.src.Size()) - l.offsets[0]}
	}
	if len(l.offsets) < n || len(l.counts) < n {
		return damaged("TIFF: %d offsets and %d sizes for %d blocks", len(l.offsets), len(l.counts), n)
	}
	l.offsets, l.counts = l.offsets[:n], l.counts[:n]
	for i := range n {
		if end := int64(l.offsets[i]) + int64(l.counts[i]); end > d.file.src.Size() {
			return damaged("TIFF: block %d of %d ends at %d, file %d bytes", i, n, end, int(d.file.src.Size()))
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
	stored := min(together, d.file.src.Size()) // blocks may overlap
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
		return damaged("TIFF: its %d blocks have %d bytes together, of a file of %d", len(l.counts), together, int(d.file.src.Size()))
	}
	if sum := l.unpacked(); sum > blocksShare*need+blocksSlack {
		return damaged("TIFF: its %d blocks unpack to %d MB, and the picture has %d", len(l.counts), sum>>20, need>>20)
	}
	exif := d.exif()
	whole, byRows := l.memory(exif.orientation)+held(d.file.src), l.opened()+held(d.file.src)
	if lim.admit(whole, byRows, l.w, l.h, l.pixelBytes()) == nil {
		return nil
	}
	l.whole = true
	return lim.room(whole, l.w, l.h)
}

// unpacked returns how many bytes all blocks together unpack to.
func (l *tiffLayout) unpacked() int64 {
	rows := int64(0)
	for y := 0; y < l.h; y += l.bh {
		rows += int64(min(l.bh, l.h-y))
	}
	sum := int64(l.across) * rows * l.rowBytes()
	if l.separate {
		sum *= int64(l.samples)
	}
	return sum
}

// stored is how many samples of a pixel stand together in a block.
func (l *tiffLayout) stored() int {
	if l.separate {
		return 1
	}
	return l.samples
}

// rowBytes is how many bytes a row of a block has.
func (l *tiffLayout) rowBytes() int64 { return (int64(l.bw)*int64(l.stored()*l.bits) + 7) / 8 }

// planes are those that matter; the first one where none are separate.
func (l *tiffLayout) planes() []int {
	if !l.separate {
		return []int{0}
	}
	out := make([]int, l.channels)
	for i := range out {
		out[i] = i
	}
	if l.alpha >= 0 {
		out = append(out, l.alpha)
	}
	return out
}

// outChannels is how many channels come out.
func (l *tiffLayout) outChannels() int {
	if l.palette != nil {
		return 3
	}
	return l.channels
}

// pixelBytes is how many bytes a pixel takes while it is read, opacities among them.
func (l *tiffLayout) pixelBytes() int {
	n := (l.bits + 7) / 8
	if l.alpha >= 0 {
		return n*l.outChannels() + n + 1
	}
	return n * l.outChannels()
}

// memory returns how much reading takes at most beside the file: samples and opacities;
// rows of blocks are unpacked one at a time.
func (l *tiffLayout) memory(orientation int) int64 {
	pixels := int64(l.w) * int64(l.h)
	samples := int64(l.outChannels()*((l.bits+7)/8)) * pixels
	return max(int64(l.pixelBytes())*pixels, turnedTimes(orientation)*samples+pixels) + l.packed(int64(runtime.GOMAXPROCS(0)))
}

// opened returns how much the blocks take that lie beside each other, of which rows are left.
func (l *tiffLayout) opened() int64 {
	blocks := int64(len(l.planes()) * l.across)
	return blocks*(blockBuffers+l.rowBytes()) + l.packed(blocks)
}

// packed returns how much so many blocks of JPEG take before they are rows: as they are stored,
// and their coefficients.
func (l *tiffLayout) packed(blocks int64) int64 {
	if l.compression != tiffJPEG {
		return 0
	}
	unpacked := int64(l.bw) * int64(l.bh) * int64(l.channels)
	return min(blocks, int64(len(l.counts))) * (int64(slices.Max(l.counts)) + 2*unpacked)
}
