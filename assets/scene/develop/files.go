package main

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"

	"firstsheet/proof/space"
)

// dither returns a fixed noise of triangular spread, -1 to 1, for pixel i of channel c.
// It keeps the sky from breaking into bands when it is rounded.
func dither(i, c int) float64 {
	mix := func(v uint32) float64 {
		v ^= v >> 16
		v *= 0x7feb352d
		v ^= v >> 15
		v *= 0x846ca68b
		v ^= v >> 16
		return float64(v) / (1 << 32)
	}
	k := uint32(i*3+c) * 2
	return mix(k) - mix(k+1)
}

// jpegFile encodes p as an 8-bit JPEG with the space's profile embedded as ICC.1 Annex B
// lays down: APP2 segments behind the application header.
func jpegFile(p *picture, s space.Space, quality int) ([]byte, error) {
	img := image.NewYCbCr(image.Rect(0, 0, p.w, p.h), image.YCbCrSubsampleRatio444)
	for i := range p.w * p.h {
		var e [3]float64
		for c := range e {
			e[c] = 255 * s.Encode(float64(p.rgb[c][i]))
		}
		// the JFIF matrix, on unrounded values
		y := 0.299*e[0] + 0.587*e[1] + 0.114*e[2]
		row, x := i/p.w, i%p.w
		img.Y[row*img.YStride+x] = byteOf(y + 0.5*dither(i, 0))
		img.Cb[row*img.CStride+x] = byteOf(128 + (e[2]-y)*0.564334 + 0.5*dither(i, 1))
		img.Cr[row*img.CStride+x] = byteOf(128 + (e[0]-y)*0.713267 + 0.5*dither(i, 2))
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, err
	}
	data, profile := buf.Bytes(), s.ICC()
	if len(profile) > 65519 {
		return nil, fmt.Errorf("develop: profile of %d bytes needs several segments", len(profile))
	}
	// a JFIF header says which YCbCr this is
	head := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 2, 1, 1, 44, 1, 44, 0, 0}
	head = append(head, 0xff, 0xe2)
	head = binary.BigEndian.AppendUint16(head, uint16(2+14+len(profile)))
	head = append(head, "ICC_PROFILE\x00\x01\x01"...)
	head = append(head, profile...)
	return append(head, data[2:]...), nil
}

func byteOf(v float64) uint8 { return uint8(min(max(math.Round(v), 0), 255)) }

// deepFile encodes p as a 16-bit PNG with the space's profile. Only the upper bits of
// each number carry the picture and the lower ones are zero, which keeps the file small: the
// tone curve never reaches full white, so nothing is lost at the top.
func deepFile(p *picture, s space.Space, bits int) ([]byte, error) {
	img := image.NewNRGBA64(image.Rect(0, 0, p.w, p.h))
	step := uint16(1) << (16 - bits)
	for i := range p.w * p.h {
		var v [3]uint16
		for c := range v {
			q := min(max(s.Encode(float64(p.rgb[c][i])), 0), 1) * 65535 / float64(step)
			v[c] = uint16(min(math.Round(q), float64(65535/step))) * step
		}
		img.SetNRGBA64(i%p.w, i/p.w, color.NRGBA64{v[0], v[1], v[2], 65535})
	}
	var buf bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestCompression}
	if err := enc.Encode(&buf, img); err != nil {
		return nil, err
	}
	var z bytes.Buffer
	z.WriteString("ROMM RGB\x00\x00")
	w := zlib.NewWriter(&z)
	if _, err := w.Write(s.ICC()); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	const ihdr = 8 + 25 // signature and header chunk
	out := append([]byte(nil), buf.Bytes()[:ihdr]...)
	out = append(out, chunk("iCCP", z.Bytes())...)
	return append(out, buf.Bytes()[ihdr:]...), nil
}

func chunk(kind string, data []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(c, kind...)
	c = append(c, data...)
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}
