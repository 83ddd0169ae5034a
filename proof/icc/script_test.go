package icc

import (
	"bytes"
	"testing"
)

// desc is a textDescriptionType element as ICC.1:2001-04, 6.5.17 lays it out: ASCII with
// its count, language code and count of 16-bit characters, script code and 67 bytes.
func desc(plain, unicode string, count byte) []byte {
	b := append([]byte("desc\x00\x00\x00\x00\x00\x00\x00"), byte(len(plain)))
	b = append(b, plain...)
	b = append(b, 0, 0, 0, 0, 0, 0, 0, count)
	b = append(b, unicode...)
	return append(b, make([]byte, 70)...)
}

func TestTextsInAnyScript(t *testing.T) {
	for _, c := range []struct {
		name string
		tag  []byte
		want string
	}{
		{"Unicode part", desc("B?tten\x00", "\x00B\x00\xfc\x00t\x00t\x00e\x00n\x00\x00", 7), "Bütten"},
		{"two scripts", desc("?? A\x00", "\x54\x8c\x7d\x19\x00 \x00A\x00\x00", 5), "和紙 A"},
		{"beyond 16 bits", desc("?\x00", "\xd8\x3c\xdf\x0a\x00\x00", 3), "🌊"}, // U+1F30A as UTF-16: The Unicode Standard, 3.9, D91
		{"bytes the other way round", desc("Pearl\x00", "P\x00e\x00a\x00r\x00l\x00\x00\x00", 6), "Pearl"},
		{"no Unicode", desc("Pearl\x00", "", 0), "Pearl"},
		{"rubbish", desc("Pearl\x00", "\xdc\x00\x00\x01", 2), "Pearl"},
		{"a count beyond the end", desc("Pearl\x00", "", 255), "Pearl"},
		{"Latin-1 where ASCII belongs", desc("B\xfctten\x00", "", 0), "Bütten"},
		{"UTF-8 there", desc("B\xc3\xbctten\x00", "", 0), "Bütten"},
		{"cut short", []byte("desc\x00\x00\x00\x00\x00\x00\x00\x09Pearl"), "Pearl"},
		{"own, version 2", EncodeDescription("Büttenpapier 和紙"), "Büttenpapier 和紙"},
		{"own, plain", EncodeDescription("Pearl"), "Pearl"},
		{"own, version 4", EncodeLocalized("Büttenpapier 和紙"), "Büttenpapier 和紙"},
	} {
		p := &Profile{Data: c.tag, Tags: []Tag{{"desc", 0, len(c.tag)}}}
		if got := p.Description(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	// Byte for byte: the ASCII part is there whatever the script.
	want := desc("B?tten\x00", "\x00B\x00\xfc\x00t\x00t\x00e\x00n\x00\x00", 7)
	if got := EncodeDescription("Bütten"); !bytes.Equal(got, want) {
		t.Errorf("written as\n% x, want\n% x", got, want)
	}
	if got := EncodeDescription("Pearl"); len(got) != 12+6+78 {
		t.Errorf("plain text takes %d bytes, want %d: its Unicode part is empty", len(got), 12+6+78)
	}
}
