package photo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"sort"
)

// tiffSpec is a TIFF to be built by hand, any layout that the reader claims.
type tiffSpec struct {
	order          binary.ByteOrder
	w, h           int
	bits, samples  int
	photometric    int
	compression    int
	predictor      bool
	separate       bool
	tileW, tileH   int // 0: strips
	rows           int // a strip; 0: all
	extra          []uint32
	data           []uint16 // w*h*samples, interleaved
	packed         []byte   // the only strip as it is stored, instead of data
	tables         []byte   // JPEG tables
	more           map[uint16][]uint32
	icc            []byte
	orientation    uint32
	noCounts       bool
	secondPicture  bool
	thumbnailFirst bool
}

func (s tiffSpec) bytes() []byte {
	out := []byte("II")
	if s.order == binary.BigEndian {
		out = []byte("MM")
	}
	u16 := func(b []byte, v uint16) []byte { b = append(b, 0, 0); s.order.PutUint16(b[len(b)-2:], v); return b }
	u32 := func(b []byte, v uint32) []byte {
		b = append(b, 0, 0, 0, 0)
		s.order.PutUint32(b[len(b)-4:], v)
		return b
	}
	out = u32(u16(out, 42), 0)

	bw, bh := s.w, s.rows
	if bh == 0 {
		bh = s.h
	}
	if s.tileW > 0 {
		bw, bh = s.tileW, s.tileH
	}
	planes, n := 1, s.samples
	if s.separate {
		planes, n = s.samples, 1
	}
	var offsets, counts []uint32
	for plane := range planes {
		for y0 := 0; y0 < s.h; y0 += bh {
			for x0 := 0; x0 < s.w; x0 += bw {
				var raw []byte
				for y := y0; y < y0+bh; y++ {
					if y >= s.h && s.tileW == 0 {
						break
					}
					row := make([]uint16, bw*n)
					for x := range bw {
						if y >= s.h || x0+x >= s.w || s.packed != nil {
							continue // padding
						}
						for c := range n {
							row[x*n+c] = s.data[(y*s.w+x0+x)*s.samples+plane+c]
						}
					}
					if s.predictor {
						for i := len(row) - 1; i >= n; i-- {
							row[i] -= row[i-n]
						}
					}
					raw = append(raw, packRow(row, s.bits, s.order)...)
				}
				packed := compress(raw, s.compression)
				if s.packed != nil {
					packed = s.packed
				}
				offsets, counts = append(offsets, uint32(len(out))), append(counts, uint32(len(packed)))
				out = append(out, packed...)
			}
		}
	}

	tags := map[uint16][]uint32{
		tagWidth: {uint32(s.w)}, tagLength: {uint32(s.h)},
		tagCompression: {uint32(s.compression)}, tagPhotometric: {uint32(s.photometric)},
		tagSamplesPerPixel: {uint32(s.samples)},
	}
	for range s.samples {
		tags[tagBits] = append(tags[tagBits], uint32(s.bits))
	}
	if s.separate {
		tags[tagPlanar] = []uint32{2}
	}
	if s.predictor {
		tags[tagPredictor] = []uint32{2}
	}
	if s.extra != nil {
		tags[tagExtraSamples] = s.extra
	}
	if s.orientation != 0 {
		tags[tagOrientation] = []uint32{s.orientation}
	}
	offsetsTag, countsTag := uint16(tagStripOffsets), uint16(tagStripCounts)
	if s.tileW > 0 {
		offsetsTag, countsTag = tagTileOffsets, tagTileCounts
		tags[tagTileWidth], tags[tagTileLength] = []uint32{uint32(s.tileW)}, []uint32{uint32(s.tileH)}
	} else {
		tags[tagRowsPerStrip] = []uint32{uint32(bh)}
	}
	tags[offsetsTag] = offsets
	if !s.noCounts {
		tags[countsTag] = counts
	}
	for k, v := range s.more {
		tags[k] = v
	}

	dir := func(tags map[uint16][]uint32, icc []byte, more bool) {
		var keys []int
		for k := range tags {
			keys = append(keys, int(k))
		}
		binaries := map[int][]byte{tagICC: icc, tagJPEGTables: s.tables}
		for k, v := range binaries {
			if v != nil {
				keys = append(keys, k)
			}
		}
		sort.Ints(keys)
		at := uint32(len(out))
		end := at + 2 + 12*uint32(len(keys)) + 4
		var tail []byte
		out = u16(out, uint16(len(keys)))
		for _, k := range keys {
			typ, count, b := uint16(tiffLong), 0, []byte(nil)
			if v := binaries[k]; v != nil {
				typ, count, b = tiffUndefined, len(v), v
			} else {
				count = len(tags[uint16(k)])
				for _, v := range tags[uint16(k)] {
					// Long and short by turns, as writers do.
					if k%2 == 0 && v < 1<<16 && k != tagStripOffsets && k != tagTileOffsets {
						typ, b = tiffShort, u16(b, uint16(v))
					} else {
						b = u32(b, v)
					}
				}
			}
			out = u32(u16(u16(out, uint16(k)), typ), uint32(count))
			if len(b) <= 4 {
				out = append(out, append(b, make([]byte, 4-len(b))...)...)
				continue
			}
			out = u32(out, end+uint32(len(tail)))
			tail = append(tail, b...)
		}
		next := uint32(0)
		if more {
			next = end + uint32(len(tail))
		}
		out = append(u32(out, next), tail...)
	}
	s.order.PutUint32(out[4:], uint32(len(out)))
	if s.thumbnailFirst {
		small := map[uint16][]uint32{tagSubfileType: {1}, tagWidth: {1}, tagLength: {1}, offsetsTag: {8}}
		dir(small, nil, true)
	}
	dir(tags, s.icc, s.secondPicture)
	if s.secondPicture {
		dir(tags, nil, false)
	}
	return out
}

func compress(raw []byte, how int) []byte {
	switch how {
	case tiffNone:
		return raw
	case tiffLZW:
		return lzwEncode(raw)
	case tiffDeflate, tiffOldDeflate:
		var z bytes.Buffer
		w := zlib.NewWriter(&z)
		w.Write(raw)
		w.Close()
		return z.Bytes()
	case tiffPackBits:
		// A repeat of three, a no-operation, then copies.
		var out []byte
		for i := 0; i < len(raw); {
			if i+2 < len(raw) && raw[i] == raw[i+1] && raw[i] == raw[i+2] {
				out = append(out, 0xFE, raw[i], 0x80)
				i += 3
				continue
			}
			n := min(100, len(raw)-i)
			out = append(append(out, byte(n-1)), raw[i:i+n]...)
			i += n
		}
		return out
	}
	return raw
}

// lzwEncode writes each byte as a code of nine bits and clears the table before
// codes grow (TIFF 6.0, section 13).
func lzwEncode(raw []byte) []byte {
	var out []byte
	acc, bits := uint32(0), 0
	put := func(code uint32) {
		acc, bits = acc<<9|code, bits+9
		for bits >= 8 {
			out = append(out, byte(acc>>(bits-8)))
			bits -= 8
		}
	}
	for i, b := range raw {
		if i%200 == 0 {
			put(256)
		}
		put(uint32(b))
	}
	put(257)
	return append(out, byte(acc<<(8-bits)))
}
