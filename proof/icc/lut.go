package icc

import "encoding/binary"

// DecodeLut16 reads a lut16Type element (mft2) as [EncodeLut16] writes it; its
// matrix is passed over. It is meant for checking tables without a colour engine.
// The errors are *FormatError.
func DecodeLut16(b []byte) (Lut, error) {
	if len(b) < 52 || string(b[:4]) != "mft2" {
		return Lut{}, damaged("%d bytes are no 16-bit table", len(b))
	}
	in, out, grid := int(b[8]), int(b[9]), int(b[10])
	entriesIn, entriesOut := int(binary.BigEndian.Uint16(b[48:])), int(binary.BigEndian.Uint16(b[50:]))
	nodes := out
	for range in {
		nodes *= grid
		if nodes > MaxSize {
			return Lut{}, damaged("a table of more than %d values", MaxSize)
		}
	}
	if want := 52 + 2*(in*entriesIn+nodes+out*entriesOut); len(b) < want {
		return Lut{}, damaged("a 16-bit table of %d bytes that needs %d", len(b), want)
	}
	at := 52
	take := func(n int) []uint16 {
		v := make([]uint16, n)
		for i := range v {
			v[i] = binary.BigEndian.Uint16(b[at+2*i:])
		}
		at += 2 * n
		return v
	}
	l := Lut{Grid: grid}
	for range in {
		l.In = append(l.In, take(entriesIn))
	}
	l.Nodes = take(nodes)
	for range out {
		l.Out = append(l.Out, take(entriesOut))
	}
	if err := l.check(); err != nil {
		return Lut{}, damaged("%v", err)
	}
	return l, nil
}
