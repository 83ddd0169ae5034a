package photo

import (
	"cmp"
	"context"
	"encoding/binary"
	"math"
	"slices"

	"firstsheet/proof/coded"
)

// picture reads what the main picture's properties say and refuses what cannot
// be decoded, before anything is.
func (f *heifFile) picture(lim limits) (*heifPicture, error) {
	main, err := f.image(f.items[f.primary], lim)
	if err != nil {
		return nil, err
	}
	h := &heifPicture{image: main, w: main.w, h: main.h}
	switch first := main.parts[0]; first.kind {
	case "hvc1":
		h.format = "HEIC"
		h.record, err = f.record(first)
		h.grey, h.depth = h.record.chroma == coded.Grey, h.record.bits
	case "av01":
		h.format = "AVIF"
		err = h.av1(first.property("av1C"))
	default:
		return nil, unsupported("HEIF with a picture of kind %q; save it as TIFF, PNG or JPEG", first.kind)
	}
	if err != nil {
		return nil, err
	}
	if err := h.colours(); err != nil {
		return nil, err
	}
	for _, b := range main.item.props {
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

// heifImage is a picture in the file, coded as a whole or in tiles of equal size.
type heifImage struct {
	item   *heifItem
	w, h   int
	parts  []*heifItem // the tiles, row by row, or the item itself
	across int         // tiles in a row
	tw, th int         // size of a tile
}

// image reads the sizes of a picture and how it is made of tiles: together no
// more than a row and a column of tiles beyond it.
func (f *heifFile) image(it *heifItem, lim limits) (heifImage, error) {
	m := heifImage{item: it, parts: []*heifItem{it}, across: 1}
	w, ht, err := it.size()
	if err != nil {
		return m, err
	}
	if err := lim.check(w, ht); err != nil {
		return m, err
	}
	m.w, m.h, m.tw, m.th = int(w), int(ht), int(w), int(ht)
	if it.kind != "grid" {
		return m, nil
	}
	return m, f.grid(&m, lim)
}

// grid reads the tiles of m (23008-12, 6.6.2.3).
func (f *heifFile) grid(m *heifImage, lim limits) error {
	in := fields{data: f.bytes(m.item)}
	wideNumbers := in.uint(2)&1 != 0 // version, flags
	down := int(in.uint(1)) + 1
	m.across = int(in.uint(1)) + 1
	w, ht := in.uint(wide(wideNumbers)), in.uint(wide(wideNumbers))
	if err := in.err("grid"); err != nil {
		return err
	}
	if w != uint64(m.w) || ht != uint64(m.h) {
		return damaged("tiles for %d x %d pixels in a picture of %d x %d", w, ht, m.w, m.h)
	}
	ids := m.item.refs["dimg"]
	if len(ids) != m.across*down {
		return damaged("%d tiles of %d by %d", len(ids), m.across, down)
	}
	m.parts = nil
	for i, id := range ids {
		tile := f.items[id]
		if tile == nil {
			return damaged("tile %d is missing", i+1)
		}
		tw, th, err := tile.size()
		if err != nil {
			return err
		}
		if err := lim.check(tw, th); err != nil {
			return err
		}
		if i == 0 {
			m.tw, m.th = int(tw), int(th)
		}
		if int(tw) != m.tw || int(th) != m.th || tile.kind != f.items[ids[0]].kind {
			return damaged("tiles of different sizes or kinds")
		}
		m.parts = append(m.parts, tile)
	}
	tw, th := int64(m.tw), int64(m.th)
	if n := int64(len(ids)); n > 1 && n*tw*th > (int64(m.w)+tw)*(int64(m.h)+th) {
		return damaged("%d tiles of %d x %d pixels for a picture of %d x %d", n, tw, th, m.w, m.h)
	}
	if m.across*m.tw < m.w || down*m.th < m.h {
		return damaged("%d by %d tiles of %d x %d pixels do not fill %d x %d", m.across, down, tw, th, m.w, m.h)
	}
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
func (h *heifPicture) colours() error {
	icc, codes, err := h.image.item.colour()
	if err != nil {
		return err
	}
	tileICC, tileCodes, err := h.image.parts[0].colour()
	if err != nil {
		return err
	}
	h.icc = icc
	if icc == nil {
		h.icc = tileICC
	}
	h.codes = cmp.Or(codes, tileCodes, h.record.facts.codes)
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
