package main

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
)

// plane is one channel of a picture, rows top to bottom.
type plane []float32

// layers is what one rendering pass holds: its size and its channels by full name.
type layers struct {
	w, h int
	by   map[string]plane
}

// find returns the channel whose full name ends in suffix, nil when there is none.
func (l *layers) find(suffix string) plane {
	for name, p := range l.by {
		if strings.HasSuffix(name, suffix) {
			return p
		}
	}
	return nil
}

// readEXR reads a scan-line OpenEXR file of one part, uncompressed or deflated,
// with half or float channels that are not subsampled: what the renderer writes.
//
// Source: 'OpenEXR File Layout', Academy Software Foundation.
func readEXR(path string) (*layers, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	l, err := parseEXR(data)
	if err != nil {
		return nil, fmt.Errorf("develop: %s: %w", path, err)
	}
	return l, nil
}

type exrChannel struct {
	name string
	kind int32 // 1 half, 2 float
}

func (c exrChannel) size() int { return map[int32]int{1: 2, 2: 4}[c.kind] }

func parseEXR(data []byte) (*layers, error) {
	le := binary.LittleEndian
	if len(data) < 8 || le.Uint32(data) != 20000630 {
		return nil, errors.New("not an OpenEXR file")
	}
	if v := le.Uint32(data[4:]); v&0xff != 2 || v&0x1a00 != 0 {
		return nil, fmt.Errorf("version word %#x: only single-part scan lines are read", v)
	}
	r := bufio.NewReader(bytes.NewReader(data[8:]))
	at := 8
	word := func() (string, error) {
		s, err := r.ReadString(0)
		at += len(s)
		return strings.TrimSuffix(s, "\x00"), err
	}
	var channels []exrChannel
	var compression byte = 255
	var x0, y0, x1, y1 int32
	for {
		name, err := word()
		if err != nil {
			return nil, err
		}
		if name == "" {
			break
		}
		if _, err = word(); err != nil {
			return nil, err
		}
		var n [4]byte
		if _, err = io.ReadFull(r, n[:]); err != nil {
			return nil, err
		}
		value := make([]byte, min(int(le.Uint32(n[:])), len(data)))
		if _, err = io.ReadFull(r, value); err != nil {
			return nil, err
		}
		at += 4 + len(value)
		switch name {
		case "channels":
			for len(value) > 1 {
				end := bytes.IndexByte(value, 0)
				if end < 0 || len(value) < end+17 {
					return nil, errors.New("channel list cut short")
				}
				c := exrChannel{string(value[:end]), int32(le.Uint32(value[end+1:]))}
				if c.size() == 0 {
					return nil, fmt.Errorf("channel %s has type %d", c.name, c.kind)
				}
				channels = append(channels, c)
				value = value[end+17:]
			}
		case "compression":
			compression = value[0]
		case "dataWindow":
			x0, y0 = int32(le.Uint32(value)), int32(le.Uint32(value[4:]))
			x1, y1 = int32(le.Uint32(value[8:])), int32(le.Uint32(value[12:]))
		}
	}
	lines := map[byte]int{0: 1, 2: 1, 3: 16}[compression]
	if lines == 0 {
		return nil, fmt.Errorf("compression %d is not read", compression)
	}
	l := &layers{w: int(x1 - x0 + 1), h: int(y1 - y0 + 1), by: map[string]plane{}}
	if l.w < 1 || l.h < 1 || l.w*l.h > 100e6 {
		return nil, fmt.Errorf("size %dx%d", l.w, l.h)
	}
	row := 0
	for _, c := range channels {
		l.by[c.name] = make(plane, l.w*l.h)
		row += c.size() * l.w
	}
	blocks := (l.h + lines - 1) / lines
	for b := range blocks {
		if len(data) < at+8*b+8 {
			return nil, io.ErrUnexpectedEOF
		}
		off := le.Uint64(data[at+8*b:])
		if off > uint64(len(data)-8) {
			return nil, io.ErrUnexpectedEOF
		}
		y, size := int(int32(le.Uint32(data[off:]))-y0), int(le.Uint32(data[off+4:]))
		if y < 0 || y >= l.h || int(off)+8+size > len(data) {
			return nil, io.ErrUnexpectedEOF
		}
		block := data[off+8 : int(off)+8+size]
		n := min(lines, l.h-y)
		if compression != 0 && size < row*n {
			z, err := zlib.NewReader(bytes.NewReader(block))
			if err != nil {
				return nil, err
			}
			raw := make([]byte, row*n)
			if _, err = io.ReadFull(z, raw); err != nil {
				return nil, err
			}
			for i := 1; i < len(raw); i++ {
				raw[i] += raw[i-1] - 128
			}
			block = make([]byte, len(raw))
			half := (len(raw) + 1) / 2
			for i := range block {
				block[i] = raw[i/2+i%2*half]
			}
		}
		for k := range n {
			for _, c := range channels {
				dst := l.by[c.name][(y+k)*l.w:][:l.w]
				for x := range dst {
					if c.kind == 1 {
						dst[x] = half(le.Uint16(block[2*x:]))
					} else {
						dst[x] = math.Float32frombits(le.Uint32(block[4*x:]))
					}
				}
				block = block[c.size()*l.w:]
			}
		}
	}
	return l, nil
}

// half widens an IEEE 754 binary16 number.
func half(b uint16) float32 {
	sign, exp, frac := float32(1), int(b>>10&31), float32(b&1023)
	if b>>15 == 1 {
		sign = -1
	}
	switch exp {
	case 0:
		return sign * frac * 0x1p-24
	case 31:
		if frac != 0 {
			return float32(math.NaN())
		}
		return sign * float32(math.Inf(1))
	}
	return sign * (1 + frac/1024) * float32(math.Ldexp(1, exp-15))
}
