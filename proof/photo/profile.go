package photo

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"firstsheet/proof/space"
)

// setICC takes an embedded profile over when its colour space fits the samples,
// and else says why not. Only the header is looked at (ICC.1:2022, 7.2).
func (p *Picture) setICC(data []byte) {
	if len(data) == 0 {
		return
	}
	if len(data) < 132 || string(data[36:40]) != "acsp" {
		p.note("The embedded colour profile is damaged and is not used.")
		return
	}
	if size := binary.BigEndian.Uint32(data); uint64(size) > uint64(len(data)) {
		p.note("The embedded colour profile is cut off (%d of %d bytes) and is not used.", len(data), size)
		return
	}
	want := map[int]string{1: "GRAY", 3: "RGB ", 4: "CMYK"}[p.Channels]
	if inks(p.Channels) {
		want = fmt.Sprintf("%XCLR", p.Channels)
	}
	got := string(data[16:20])
	switch {
	case got == want:
		p.ICC = bytes.Clone(data) // or the whole file would stay in memory
	case p.Channels == 1 && got == "RGB ":
		// Some programs save a grey picture with the RGB profile it had. Equal
		// red, green and blue are what its values then mean.
		rgb := p.RGB()
		rgb.ICC = bytes.Clone(data)
		rgb.note("The picture is grey but carries a profile for RGB: its values are taken as equal red, green and blue.")
		*p = *rgb
	default:
		p.note("The embedded colour profile is for %q and does not fit these %d channels; it is not used.", got, p.Channels)
	}
}

// nameSpace sets the encoding that the file names where there is no profile.
func (p *Picture) nameSpace(n namedSpace, e exifFacts) {
	if p.ICC != nil || p.Channels > 3 {
		return
	}
	p.Space = n.space
	if n.note != "" {
		p.note("%s", n.note)
	}
	if p.Space != nil || e.space == "" {
		return
	}
	if s, ok := space.ByID(e.space); ok {
		p.Space = &s
		p.note("There is no profile in the file, but its camera data name %s.", s.Name)
	}
}
