package check

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"

	"firstsheet/proof/photo"
)

// writePDF writes a picture as a page of its own size: one image in the colour space
// of its profile, at its depth, nothing resampled and nothing compressed with loss.
//
// Source: ISO 32000-1, 7.5 (file structure), 8.6.5.5 (ICCBased), 8.9.5 (images).
func writePDF(w io.Writer, p *photo.Picture, ppi float64) error {
	var b bytes.Buffer
	var at []int
	object := func(format string, args ...any) {
		at = append(at, b.Len())
		fmt.Fprintf(&b, "%d 0 obj\n", len(at))
		fmt.Fprintf(&b, format, args...)
		b.WriteString("\nendobj\n")
	}
	stream := func(dict string, data []byte) error {
		var packed bytes.Buffer
		z := zlib.NewWriter(&packed)
		if _, err := z.Write(data); err != nil {
			return err
		}
		if err := z.Close(); err != nil {
			return err
		}
		object("<< %s /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream", dict, packed.Len(), packed.Bytes())
		return nil
	}
	b.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
	width, height := float64(p.W)/ppi*72, float64(p.H)/ppi*72
	object("<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>")
	object("<< /Type /Pages /Kids [3 0 R] /Count 1 >>")
	object("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.3f %.3f] /Contents 4 0 R /Resources << /XObject << /Sheet 5 0 R >> >> >>", width, height)
	if err := stream("", fmt.Appendf(nil, "q %.3f 0 0 %.3f 0 0 cm /Sheet Do Q", width, height)); err != nil {
		return err
	}
	data := p.Pix8
	if p.Depth == 16 {
		data = make([]byte, 0, 2*len(p.Pix16))
		for _, v := range p.Pix16 {
			data = append(data, byte(v>>8), byte(v))
		}
	}
	dict := fmt.Sprintf("/Type /XObject /Subtype /Image /Width %d /Height %d /BitsPerComponent %d /ColorSpace [/ICCBased 6 0 R] /Intent /RelativeColorimetric", p.W, p.H, p.Depth)
	if err := stream(dict, data); err != nil {
		return err
	}
	if err := stream("/N 3 /Alternate /DeviceRGB", p.ICC); err != nil {
		return err
	}
	object("<< /Title (Firstsheet check sheet) /Creator (Firstsheet) >>")
	xref := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, offset := range at {
		fmt.Fprintf(&b, "%010d 00000 n \n", offset)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R /Info %d 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(at)+1, len(at), xref)
	_, err := w.Write(b.Bytes())
	return err
}
