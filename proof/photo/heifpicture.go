package photo

import (
	"cmp"
	"context"
	"encoding/binary"
	"math"
	"slices"
)

// picture reads what the main picture's properties say and refuses what cannot
// be decoded, before anything is.
func (f *heifFile) picture(lim limits) (*heifPicture, error) {
	main := f.items[f.primary]
	coded, tiles := main, int64(1)
	if main.kind == "grid" {
		parts := main.refs["dimg"]
		if len(parts) == 0 || f.items[parts[0]] == nil {
			return nil, damaged("a picture of tiles without tiles")
		}
		coded, tiles = f.items[parts[0]], int64(len(parts))
	}
	h := &heifPicture{}
	var err error
	switch coded.kind {
	case "hvc1":
		h.format = "HEIC"
		err = h.hevc(coded.property("hvcC"))
	case "av01":
		h.format = "AVIF"
		err = h.av1(coded.property("av1C"))
	default:
		return nil, unsupported("HEIF with a picture of kind %q; save it as TIFF, PNG or JPEG", coded.kind)
	}
	if err != nil {
		return nil, err
	}
	if err := h.sizes(lim, main, coded, tiles); err != nil {
		return nil, err
	}
	if err := h.colours(main, coded); err != nil {
		return nil, err
	}
	for _, b := range main.props {
		least := map[string]int{"clap": 32, "irot": 1, "imir": 1}[b.kind]
		if len(b.body) < least {
			return nil, damaged("box %q of %d bytes", b.kind, len(b.body))
		}
		if least > 0 {
			h.turning = append(h.turning, b)
		}
	}
	return h, nil
}

// sizes reads the main picture's size and bounds that of its tiles: together no
// more than a row and a column of tiles beyond it.
func (h *heifPicture) sizes(lim limits, main, coded *heifItem, tiles int64) error {
	w, ht, err := main.size()
	if err != nil {
		return err
	}
	if err := lim.check(w, ht); err != nil {
		return err
	}
	tw, th, err := coded.size()
	if err != nil {
		return err
	}
	if err := lim.check(tw, th); err != nil {
		return err
	}
	if h.format == "HEIC" && (h.inner.w != tw || h.inner.h != th) {
		return damaged("HEIC: a coded picture of %d x %d pixels where the file says %d x %d", h.inner.w, h.inner.h, tw, th)
	}
	if tiles > 1 && tiles*tw*th > (w+tw)*(ht+th) {
		return damaged("%d tiles of %d x %d pixels for a picture of %d x %d", tiles, tw, th, w, ht)
	}
	h.w, h.h = int(w), int(ht)
	return nil
}

// size reads the property ispe (23008-12, 6.5.3).
func (it *heifItem) size() (w, h int64, err error) {
	in := fields{data: it.property("ispe")}
	in.version()
	w, h = int64(in.uint(4)), int64(in.uint(4))
	return w, h, in.err("ispe")
}

// colours takes what is said of colour: of the picture as a whole, then of its
// tiles, then in the coded picture.
func (h *heifPicture) colours(main, coded *heifItem) error {
	icc, codes, err := main.colour()
	if err != nil {
		return err
	}
	tileICC, tileCodes, err := coded.colour()
	if err != nil {
		return err
	}
	h.icc = icc
	if icc == nil {
		h.icc = tileICC
	}
	tileCodes = cmp.Or(tileCodes, h.inner.codes)
	h.codes = cmp.Or(codes, tileCodes)
	h.luma = h.codes
	if main != coded && tileCodes != nil {
		// The library goes by the tiles and stretches them to the full range.
		h.luma = &colourCodes{matrix: tileCodes.matrix, full: true}
	}
	return nil
}

// colour reads the colr properties; the first of each kind counts (14496-12, 12.1.5).
func (it *heifItem) colour() (icc []byte, codes *colourCodes, err error) {
	for _, b := range it.props {
		if b.kind != "colr" {
			continue
		}
		in := fields{data: b.body}
		switch kind := fourCC(in.uint(4)); {
		case (kind == "prof" || kind == "rICC") && icc == nil:
			if len(in.data) > MaxICCBytes {
				return nil, nil, tooLarge("the embedded profile has %d bytes; at most %d are read", len(in.data), MaxICCBytes)
			}
			icc = in.data
		case kind == "nclx" && codes == nil:
			codes = &colourCodes{byte(in.uint(2)), byte(in.uint(2)), byte(in.uint(2)), in.uint(1)&0x80 != 0}
		}
		if err := in.err("colr"); err != nil {
			return nil, nil, err
		}
	}
	return icc, codes, nil
}

// hevc reads the decoder's configuration (14496-15, 8.3.2.1.2).
func (h *heifPicture) hevc(record []byte) error {
	const fixed = 23
	if len(record) < fixed {
		return damaged("HEIC: the decoder's record has %d bytes", len(record))
	}
	h.grey = record[16]&3 == 0
	h.depth = 8 + int(max(record[17]&7, record[18]&7))
	in := fields{data: record[fixed:]}
	for n := record[fixed-1]; n > 0 && !in.short; n-- {
		const sps = 33
		kind := in.uint(1) & 63
		for units := in.uint(2); units > 0 && !in.short; units-- {
			size := int(in.uint(2))
			if size > len(in.data) {
				return damaged("HEIC: the decoder's record ends early")
			}
			if kind == sps && h.inner.w == 0 {
				var ok bool
				if h.inner, ok = parseHEVC(in.data[:size]); !ok {
					return damaged("HEIC: the picture's parameters end early")
				}
			}
			in.data = in.data[size:]
		}
	}
	return in.err("hvcC")
}

// av1 reads the decoder's configuration (AV1 in ISOBMFF, 2.3.3).
func (h *heifPicture) av1(record []byte) error {
	if len(record) < 4 {
		return damaged("AVIF: the decoder's record has %d bytes", len(record))
	}
	b := record[2]
	h.grey = b&0x10 != 0
	h.depth = 8
	if b&0x40 != 0 {
		h.depth = 10 + int(b>>5&1)*2
	}
	return nil
}

// turnedAs crops, turns and mirrors, one after the other (23008-12, 6.5.9 to 6.5.12).
func (p *Picture) turnedAs(ctx context.Context, how []box) (*Picture, error) {
	var err error
	for _, b := range how {
		switch b.kind {
		case "clap":
			err = p.aperture(b.body)
		case "irot": // quarter turns anticlockwise
			p, err = p.upright(ctx, [4]int{1, 8, 3, 6}[b.body[0]&3])
		case "imir": // 0 exchanges top and bottom, 1 left and right
			p, err = p.upright(ctx, [2]int{4, 2}[b.body[0]&1])
		}
		if err != nil {
			return nil, err
		}
	}
	return p, nil
}

// aperture crops to a clean aperture (14496-12, 12.1.4): width, height and the
// shift of its centre from the picture's, each a fraction.
func (p *Picture) aperture(body []byte) error {
	var v [4]float64
	for i := range v {
		n, d := binary.BigEndian.Uint32(body[8*i:]), binary.BigEndian.Uint32(body[8*i+4:])
		v[i] = float64(int32(n)) / float64(int32(d))
	}
	x, y := v[2]+(float64(p.W)-v[0])/2, v[3]+(float64(p.H)-v[1])/2
	whole := func(v float64) bool { return v == math.Trunc(v) }
	if !whole(x) || !whole(y) || !whole(v[0]) || !whole(v[1]) || x < 0 || y < 0 || v[0] < 1 || v[1] < 1 ||
		x+v[0] > float64(p.W) || y+v[1] > float64(p.H) {
		p.note("The file's own crop cannot be followed to whole pixels; the picture is shown uncropped.")
		return nil
	}
	p.crop(int(x), int(y), int(v[0]), int(v[1]))
	return nil
}

// crop keeps w by h pixels from x, y.
func (p *Picture) crop(x, y, w, h int) {
	p.Pix8 = cropped(p.Pix8, p.W, p.Channels, x, y, w, h)
	p.Pix16 = cropped(p.Pix16, p.W, p.Channels, x, y, w, h)
	p.Alpha = cropped(p.Alpha, p.W, 1, x, y, w, h)
	p.W, p.H = w, h
}

func cropped[T sample](pix []T, stride, n, x, y, w, h int) []T {
	if pix == nil {
		return nil
	}
	out := make([]T, 0, w*h*n)
	for row := y; row < y+h; row++ {
		from := (row*stride + x) * n
		out = append(out, pix[from:from+w*n]...)
	}
	return slices.Clip(out)
}
