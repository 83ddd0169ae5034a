package icc

import (
	"encoding/binary"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"firstsheet/proof/words"
)

// Description returns the profile's own name, "" when it has none: of version 2 its
// Unicode part where there is a sound one, else its ASCII part, of version 4 the
// English text, else the first. All texts are cleaned, see [words.Clean], and cut to
// 300 characters.
func (p *Profile) Description() string { return p.text("desc") }

// Copyright returns the profile's copyright text, "" when it has none.
func (p *Profile) Copyright() string { return p.text("cprt") }

func (p *Profile) text(sig Signature) string {
	b, ok := p.Tag(sig)
	if !ok {
		return ""
	}
	switch Signature(b[:4]) {
	case "text":
		return tidy(bytesText(b[8:]))
	case "desc":
		return tidy(description(b))
	case "mluc":
		return tidy(multiText(b))
	}
	return ""
}

// maxText is the most of a profile's text that is shown: names in use stay below 80
// characters, licence lines below 300 (from memory).
const maxText = 300

// tidy ends a text at its first null and cleans it, see [words.Clean].
func tidy(s string) string {
	s, _, _ = strings.Cut(s, "\x00")
	return words.Clean(s, maxText)
}

// bytesText reads text that should be ASCII. Bytes beyond it are UTF-8 where they make
// such, else Latin-1, which is what is mostly found there (common practice, no source).
func bytesText(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	r := make([]rune, len(b))
	for i, c := range b {
		r[i] = rune(c)
	}
	return string(r)
}

// description reads a textDescriptionType element (ICC.1:2001-04, 6.5.17).
func description(b []byte) string {
	if len(b) < 12 {
		return ""
	}
	n := min(binary.BigEndian.Uint32(b[8:]), uint32(len(b)-12))
	plain, rest := bytesText(b[12:12+n]), b[12+n:]
	if len(rest) < 8 {
		return plain
	}
	units := min(binary.BigEndian.Uint32(rest[4:]), uint32(len(rest)-8)/2)
	if s, ok := unicodeText(rest[8 : 8+2*units]); ok {
		return s
	}
	return plain
}

// unicodeText decodes UTF-16 and tells whether it is a sound text: writers without
// Unicode leave rubbish there. Some write its bytes the other way round.
func unicodeText(raw []byte) (string, bool) {
	u := make([]uint16, len(raw)/2)
	swapped := true
	for i := range u {
		u[i] = binary.BigEndian.Uint16(raw[2*i:])
		swapped = swapped && u[i]&0xff == 0
	}
	if swapped {
		for i := range u {
			u[i] >>= 8
		}
	}
	s, _, _ := strings.Cut(string(utf16.Decode(u)), "\x00")
	s = strings.TrimPrefix(s, "\ufeff")
	for _, r := range s {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return "", false
		}
	}
	return s, strings.TrimSpace(s) != ""
}

func multiText(b []byte) string {
	if len(b) < 16 {
		return ""
	}
	n, width := int(binary.BigEndian.Uint32(b[8:])), int(binary.BigEndian.Uint32(b[12:]))
	if width < 12 || n < 1 || n > 1000 {
		return ""
	}
	best := ""
	for i := 0; i < n; i++ {
		at := 16 + i*width
		if at+12 > len(b) {
			break
		}
		size, offset := int(binary.BigEndian.Uint32(b[at+4:])), int(binary.BigEndian.Uint32(b[at+8:]))
		if offset > len(b) || size > len(b)-offset {
			continue
		}
		raw := b[offset : offset+size]
		u := make([]uint16, len(raw)/2)
		for k := range u {
			u[k] = binary.BigEndian.Uint16(raw[2*k:])
		}
		text := string(utf16.Decode(u))
		if string(b[at:at+2]) == "en" {
			return text
		}
		if best == "" {
			best = text
		}
	}
	return best
}
