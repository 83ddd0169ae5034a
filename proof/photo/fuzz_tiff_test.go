package photo

import (
	"context"
	"encoding/binary"
	"testing"
)

// FuzzTIFFShape reads TIFFs of any shape: sizes, samples, tiles and strips, compression,
// what stands where by turns, over bytes that are what they like. It requires what
// FuzzOpen does; its inputs get past the directory far more often.
//
//	go test -run '^$' -fuzz FuzzTIFFShape -fuzzminimizetime 0 ./proof/photo
func FuzzTIFFShape(f *testing.F) {
	f.Add(uint16(3), uint16(2), byte(8), byte(3), byte(2), uint16(1), byte(0), uint16(0), uint16(0), uint32(1), []byte("abcdefghijklmnopqr"))
	f.Add(uint16(20), uint16(20), byte(16), byte(4), byte(5), uint16(5), byte(3), uint16(16), uint16(16), uint32(0), lzwEncode(make([]byte, 2048)))
	f.Add(uint16(40), uint16(9), byte(8), byte(1), byte(3), uint16(8), byte(7), uint16(0), uint16(0), uint32(4), compress(make([]byte, 160), tiffDeflate))
	f.Add(uint16(33), uint16(5), byte(1), byte(1), byte(0), uint16(32773), byte(4), uint16(0), uint16(0), uint32(9), []byte{0xfe, 7, 0x80, 3, 1, 2, 3, 4})
	f.Add(uint16(16), uint16(16), byte(8), byte(3), byte(6), uint16(7), byte(0), uint16(16), uint16(16), uint32(0), flatJPEG(2, [][]byte{{1, 2, 3, 4}, {5, 6, 7, 8}, {9, 10, 11, 12}}))
	f.Fuzz(func(t *testing.T, w, h uint16, bits, samples, photometric byte, compression uint16, flags byte, tileW, tileH uint16, rows uint32, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		var order binary.ByteOrder = binary.LittleEndian
		if flags&1 != 0 {
			order = binary.BigEndian
		}
		d, count := make([]uint32, 0, 256), 1
		if bw, bh := int(tileW), int(tileH); bw > 0 && bh > 0 {
			count = (int(w) + bw - 1) / bw * ((int(h) + bh - 1) / bh)
		} else if rows > 0 {
			count = (int(h) + int(min(rows, 1<<16)) - 1) / int(min(rows, 1<<16))
		}
		if flags&8 != 0 {
			count *= int(samples)
		}
		count = min(count, 4096)
		// Blocks share the data, or each has a piece.
		offsets, counts := d, make([]uint32, 0, count)
		for i := range count {
			from, n := 0, len(data)
			if flags&16 != 0 && count > 0 {
				from, n = i*len(data)/count, len(data)/count
			}
			offsets, counts = append(offsets, uint32(8+from)), append(counts, uint32(n))
		}
		tags := map[uint16][]uint32{
			tagWidth: {uint32(w)}, tagLength: {uint32(h)}, tagCompression: {uint32(compression)}, tagPhotometric: {uint32(photometric)},
			tagSamplesPerPixel: {uint32(samples)}, tagBits: {uint32(bits)}, tagRowsPerStrip: {rows},
			tagStripOffsets: offsets, tagStripCounts: counts, tagOrientation: {uint32(flags >> 5)},
		}
		if tileW > 0 {
			tags[tagTileWidth], tags[tagTileLength] = []uint32{uint32(tileW)}, []uint32{uint32(tileH)}
			tags[tagTileOffsets], tags[tagTileCounts] = offsets, counts
		}
		if flags&2 != 0 {
			tags[tagPredictor] = []uint32{2}
		}
		if flags&4 != 0 {
			tags[tagExtraSamples] = []uint32{uint32(flags>>5)&1 + 1}
		}
		if flags&8 != 0 {
			tags[tagPlanar] = []uint32{2}
		}
		if photometric == tiffPalette && bits <= 8 {
			tags[tagColorMap] = make([]uint32, 3<<bits)
		}
		file := tiffOf(order, data, tags)
		lim := limits{pixels: 1 << 14, file: 1 << 20}
		const most = 64 << 20
		if grown := allocated(func() { tryOpen(t, "fuzz", file, lim) }); grown > most+64*uint64(len(file)) {
			t.Errorf("%d bytes of input took %d bytes", len(file), grown)
		}
	})
}

// tiffOf is a TIFF of one directory, behind the data.
func tiffOf(order binary.ByteOrder, data []byte, tags map[uint16][]uint32) []byte {
	s := tiffSpec{order: order, w: 1, h: 1, samples: 1, bits: 8, photometric: 1, compression: tiffNone, packed: data, more: tags}
	return s.bytes()
}

// A target that refuses everything would find nothing: its own seeds open.
func TestTIFFShapesAreRead(t *testing.T) {
	file := tiffOf(binary.LittleEndian, []byte("abcdefghijklmnopqr"), map[uint16][]uint32{
		tagWidth: {3}, tagLength: {2}, tagSamplesPerPixel: {3}, tagBits: {8}, tagPhotometric: {2},
		tagStripOffsets: {8}, tagStripCounts: {18}, tagRowsPerStrip: {2},
	})
	p, err := decode(context.Background(), "shape", file, defaultLimits())
	if err != nil || p.W != 3 || p.H != 2 || string(p.Pix8) != "abcdefghijklmnopqr" {
		t.Errorf("%+v, %v", p, err)
	}
}
