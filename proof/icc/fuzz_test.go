package icc

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// FuzzParse hands over anything: an error of our own or a profile whose every
// question can be asked.
func FuzzParse(f *testing.F) {
	files, err := filepath.Glob("../../testdata/cache/profiles/*.icc")
	if err != nil || len(files) == 0 {
		f.Fatalf("no profiles (run testdata/fetch.sh): %v", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if len(data) > 32<<10 { // a large table only slows the search down
			continue
		}
		f.Add(data)
		f.Add(data[:len(data)/2])
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse(data)
		if err != nil {
			if !errors.Is(err, ErrDamaged) {
				t.Fatalf("%v is no ErrDamaged", err)
			}
			return
		}
		if len(p.Data) > len(data) {
			t.Fatalf("%d bytes of %d", len(p.Data), len(data))
		}
		p.Description()
		p.Copyright()
		p.MediaWhite()
		p.ID()
		p.OutputFaults()
		for _, tag := range p.Tags {
			if b, ok := p.Tag(tag.Signature); !ok || len(b) < 8 {
				t.Fatalf("tag %q has %d bytes", string(tag.Signature), len(b))
			}
			p.EightBit(tag.Signature)
			if b, _ := p.Tag(tag.Signature); p.TagType(tag.Signature) == "mft2" {
				_, _ = DecodeLut16(b)
			}
		}
	})
}
