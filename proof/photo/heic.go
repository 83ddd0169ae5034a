package photo

import (
	"context"
	"encoding/binary"
	"errors"
	"runtime"

	"firstsheet/proof/coded"
)

// hevcRecord is what a decoder is told beside the coded picture (14496-15, 8.3.2.1.2).
type hevcRecord struct {
	chroma     coded.Chroma
	bits       int
	lengthSize int    // bytes of the length before each unit
	sets       []byte // parameter sets, each after its length as four bytes
	facts      hevcFacts
}

// Kinds of units (H.265, table 7-1).
const (
	firstNotSlice = 32 // parameter sets follow
	unitSPS       = 33
	unitPPS       = 34
)

// record reads the record of one coded picture.
func (f *heifFile) record(it *heifItem) (hevcRecord, error) {
	const fixed = 23
	data := it.property("hvcC")
	if len(data) < fixed {
		return hevcRecord{}, damaged("HEIC: the decoder's record has %d bytes", len(data))
	}
	r := hevcRecord{chroma: coded.Chroma(data[16] & 3), bits: 8 + int(data[17]&7), lengthSize: int(data[21]&3) + 1}
	if bits := 8 + int(data[18]&7); bits != r.bits && r.chroma != coded.Grey {
		return r, unsupported("HEIC with %d bits of luma and %d of colour", r.bits, bits)
	}
	in := fields{data: data[fixed:]}
	for n := data[fixed-1]; n > 0 && !in.short; n-- {
		kind := in.uint(1) & 63
		for units := in.uint(2); units > 0 && !in.short; units-- {
			size := int(in.uint(2))
			if size > len(in.data) {
				return r, damaged("HEIC: the decoder's record ends early")
			}
			unit := in.data[:size]
			in.data = in.data[size:]
			if kind < firstNotSlice || kind > unitPPS {
				continue
			}
			if kind == unitSPS && r.facts.w == 0 {
				var ok bool
				if r.facts, ok = parseHEVC(unit); !ok {
					return r, damaged("HEIC: the picture's parameters end early")
				}
			}
			r.sets = append(binary.BigEndian.AppendUint32(r.sets, uint32(size)), unit...)
		}
	}
	return r, in.err("hvcC")
}

// units returns what the decoder needs for one picture: parameter sets and slices, each after
// its length as four bytes, and no more than one picture, or few bytes could stand for work without end.
func (f *heifFile) units(it *heifItem, r hevcRecord) ([]byte, error) {
	in := fields{data: f.bytes(it)}
	out := append(make([]byte, 0, len(r.sets)+len(in.data)+8), r.sets...)
	pictures := 0
	for len(in.data) > 0 {
		size := int(in.uint(r.lengthSize))
		if in.short || size > len(in.data) {
			return nil, damaged("HEIC: the coded picture ends early")
		}
		unit := in.data[:size]
		in.data = in.data[size:]
		const header = 2
		if size <= header {
			continue
		}
		kind, layer := unit[0]>>1&63, unit[0]&1<<5|unit[1]>>3
		if kind > unitPPS || layer != 0 {
			continue
		}
		if kind < firstNotSlice && unit[header]&0x80 != 0 { // a picture's first slice
			pictures++
		}
		out = append(binary.BigEndian.AppendUint32(out, uint32(size)), unit...)
	}
	if pictures != 1 {
		return nil, damaged("HEIC: %d coded pictures where one should be", pictures)
	}
	return out, nil
}

// decodeHEIC returns the picture as red, green and blue, or grey, turned.
func (h *heifPicture) decodeHEIC(ctx context.Context, f *heifFile, lim limits) (*Picture, error) {
	if !coded.HEVC {
		return nil, unsupported("HEIC is not read by this build of the program; save it as TIFF, PNG or JPEG")
	}
	if err := tooPlain("HEIC", int64(h.w), int64(h.h), len(f.data)); err != nil {
		return nil, err
	}
	alpha, bits := heifImage{}, h.depth
	item, kind := f.alpha()
	note := ""
	if item != nil {
		m, err := f.image(item, lim)
		if err != nil {
			return nil, err
		}
		if m.w != h.w || m.h != h.h || m.parts[0].kind != "hvc1" {
			note = "The file's transparency has another size or coding than its picture and is not read; the picture is shown opaque."
		} else {
			r, err := f.record(m.parts[0])
			if err != nil {
				return nil, err
			}
			alpha, bits = m, max(bits, r.bits)
		}
	}
	if err := lim.room(h.memory(f, bits, alpha.item != nil), h.w, h.h); err != nil {
		return nil, err
	}
	p := &Picture{W: h.w, H: h.h, Channels: 3, Depth: 8}
	if h.grey {
		p.Channels = 1
	}
	var err error
	if bits > 8 {
		p.Depth = 16
		p.Pix16, p.Alpha, err = composed[uint16](ctx, f, h, alpha, kind)
	} else {
		p.Pix8, p.Alpha, err = composed[uint8](ctx, f, h, alpha, kind)
	}
	if err != nil {
		return nil, err
	}
	p.noteAlpha(seeThrough(p.Alpha))
	if note != "" {
		p.note("%s", note)
	}
	if !h.codes.known() {
		p.note("The file states a way of coding colour that is not known here (number %d); it is read in the usual one.", h.codes.matrix)
	}
	return p.turnedAs(ctx, h.turning)
}

// memory returns how much decoding takes at most.
func (h *heifPicture) memory(f *heifFile, bits int, alpha bool) int64 {
	pixels, bytes, channels := int64(h.w)*int64(h.h), int64(1), int64(3)
	if bits > 8 {
		bytes = 2
	}
	if h.grey {
		channels = 1
	}
	planes, samples := bytes*pixels*h.record.chroma.Samples()/2, bytes*pixels*channels
	decoders := int64(min(runtime.GOMAXPROCS(0), len(h.image.parts))) * h.image.decoder(h.record, len(f.data)/len(h.image.parts))
	opacities := int64(0)
	if alpha {
		opacities = (2*bytes + 1) * pixels
	}
	return int64(len(f.data)) + max(decoders+planes, planes+samples, 2*samples) + opacities
}

// composed returns the samples of the picture, over paper where it has opacities, and these.
func composed[T sample](ctx context.Context, f *heifFile, h *heifPicture, alpha heifImage, kind alphaKind) (pix []T, opacities []uint8, err error) {
	planes, err := assembled[T](ctx, f, h.image)
	if err != nil {
		return nil, nil, err
	}
	code := h.codes.code()
	code.site = h.record.facts.site
	if h.record.chroma == coded.Halfway {
		code.site = chromaSite{left: true} // figure 6-2
	}
	channels := 3
	if h.grey {
		channels = 1
		pix, err = planes.grey(ctx, code)
	} else {
		pix, err = planes.rgb(ctx, code)
	}
	if err != nil || alpha.item == nil {
		return pix, nil, err
	}
	if planes, err = assembled[T](ctx, f, alpha); err != nil {
		return nil, nil, err
	}
	over, err := planes.grey(ctx, fullRange) // as encoders mean it, whatever the coded picture says
	if err != nil {
		return nil, nil, err
	}
	opacities, err = overPaper(ctx, pix, over, h.w, h.h, channels, kind)
	return pix, opacities, err
}

// decoder returns the memory of one decoder for a tile of m.
func (m *heifImage) decoder(r hevcRecord, units int) int64 {
	return coded.Memory(m.codedPixels(), r.chroma, r.bits, units)
}

// codedPixels is how many pixels one tile has at most with what fills its last blocks.
func (m *heifImage) codedPixels() int {
	const block = 64
	return (m.tw + block) * (m.th + block)
}

// assembled decodes the tiles of a picture and lays them side by side, still as they are coded, so
// that colour is interpolated across their seams.
func assembled[T sample](ctx context.Context, f *heifFile, m heifImage) (lumaPlanes[T], error) {
	first, err := f.record(m.parts[0])
	if err != nil {
		return lumaPlanes[T]{}, err
	}
	p := lumaPlanes[T]{w: m.w, h: m.h, bits: first.bits, yStride: m.w, y: make([]T, m.w*m.h)}
	p.across, p.down = first.chroma.Size()
	if first.chroma != coded.Grey {
		p.cStride = (m.w + p.across - 1) / p.across
		n := p.cStride * ((m.h + p.down - 1) / p.down)
		p.cb, p.cr = make([]T, n), make([]T, n)
	}
	if len(m.parts) > 1 && (m.tw%p.across != 0 || m.th%p.down != 0) {
		return p, damaged("HEIC: tiles of %d x %d pixels split a colour sample", m.tw, m.th)
	}
	idle := make(chan *coded.Decoder, len(m.parts))
	defer func() {
		close(idle)
		for d := range idle {
			d.Close()
		}
	}()
	err = parallel(ctx, len(m.parts), func(i int) error {
		r, err := f.record(m.parts[i])
		if err != nil {
			return err
		}
		units, err := f.units(m.parts[i], r)
		if err != nil {
			return err
		}
		if r.chroma != first.chroma || r.bits != first.bits {
			return damaged("HEIC: tiles that are coded differently")
		}
		d, err := anyDecoder(ctx, idle, m, r, len(units))
		if err != nil {
			return err
		}
		defer func() { idle <- d }()
		tile, err := d.Decode(ctx, units)
		if err != nil {
			return refusal(err)
		}
		if tile.Chroma != r.chroma || tile.Bits != r.bits || tile.W != m.tw || tile.H != m.th {
			return damaged("HEIC: a coded picture of %d x %d pixels, %d bits, where the file says %d x %d, %d bits",
				tile.W, tile.H, tile.Bits, m.tw, m.th, r.bits)
		}
		p.paste(tile, i%m.across*m.tw, i/m.across*m.th)
		return nil
	})
	return p, err
}

// anyDecoder returns an idle decoder that has the room, or a new one.
func anyDecoder(ctx context.Context, idle chan *coded.Decoder, m heifImage, r hevcRecord, units int) (*coded.Decoder, error) {
	room := m.decoder(r, units)
	select {
	case d := <-idle:
		if d.Fits(room) {
			return d, nil
		}
		d.Close()
	default:
	}
	d, err := coded.NewDecoder(ctx, m.codedPixels(), room)
	return d, refusal(err)
}

// refusal tells why the decoder refused a picture.
func refusal(err error) error {
	if e, ok := errors.AsType[*coded.Error](err); ok {
		if e.Room {
			return tooLarge("HEIC: %w", e)
		}
		return damaged("HEIC: %w", e)
	}
	return err
}

// paste copies a tile to x0, y0; what sticks out is left away.
func (p *lumaPlanes[T]) paste(tile coded.Picture, x0, y0 int) {
	pastePlane(p.y, p.w, p.h, tile.Planes[0], x0, y0)
	if p.cb == nil {
		return
	}
	rows := len(p.cb) / p.cStride
	pastePlane(p.cb, p.cStride, rows, tile.Planes[1], x0/p.across, y0/p.down)
	pastePlane(p.cr, p.cStride, rows, tile.Planes[2], x0/p.across, y0/p.down)
}

func pastePlane[T sample](dst []T, w, h int, tile coded.Plane, x0, y0 int) {
	for y := range min(tile.H, h-y0) {
		row := dst[(y0+y)*w+x0 : (y0+y+1)*w]
		coded.Row(row[:min(tile.W, len(row))], tile, y)
	}
}

// code is how luma becomes red, green and blue. Where nothing is said MIAF (ISO/IEC
// 23000-22; from memory) means the matrix of BT.601 and the full range.
func (c *colourCodes) code() lumaCode {
	if c == nil {
		return fullRange
	}
	form, ok := lumaForms[c.matrix]
	if !ok {
		form = bt601
	}
	return lumaCode{matrix: form, video: !c.full}
}

// known reports whether the matrix that is named is one of those.
func (c *colourCodes) known() bool {
	if c == nil {
		return true
	}
	_, ok := lumaForms[c.matrix]
	return ok
}

// lumaForms are the matrices by their numbers in H.273, table 4; 2 says nothing. Constant luminance,
// 10, is read as the other form of BT.2020.
var lumaForms = map[byte]lumaForm{0: plain, 1: bt709, 2: bt601, 4: fcc, 5: bt601, 6: bt601, 7: st240, 8: ycgco, 9: bt2020, 10: bt2020}
