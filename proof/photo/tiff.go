package photo

import "context"

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

func readTIFF(ctx context.Context, src source, lim limits) (decoded, error) {
	f, err := parseTIFFHeader(src)
	if err != nil {
		return decoded{}, err
	}
	d, pages, err := f.picture()
	if err != nil {
		return decoded{}, err
	}
	facts := d.exif()
	l, err := d.layout(lim.forRows(!turned(facts.orientation)))
	if err != nil {
		return decoded{}, err
	}
	p := &Picture{W: l.w, H: l.h, Channels: l.outChannels(), Depth: max(8, l.bits)}
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
	return decoded{
		Picture: p, icc: icc, exif: facts, meta: meta,
		unread: unread{rest: newTIFFRows(src, l), stored: p.Channels, size: l.memory(facts.orientation) + held(src), whole: l.whole},
	}, nil
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
