package printfile

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/photo"
)

// sixInks writes the profile of a crude press of six inks: each takes a share of the
// light, and the way back uses three of them and a fourth for the dark.
func sixInks(t *testing.T) string {
	t.Helper()
	lab16 := func(c cie.Lab) []uint16 { // version 2: L* 100 is FF00h, 0 is 8000h
		return []uint16{uint16(math.Round(c.L * 652.8)), uint16(math.Round((c.A + 128) * 256)), uint16(math.Round((c.B + 128) * 256))}
	}
	forward := icc.Lut{}
	passes := [6]cie.XYZ{{X: 0.3, Y: 0.4, Z: 0.85}, {X: 0.5, Y: 0.25, Z: 0.35}, {X: 0.9, Y: 0.9, Z: 0.1}, {X: 0.05, Y: 0.05, Z: 0.05}, {X: 0.8, Y: 0.6, Z: 0.1}, {X: 0.3, Y: 0.6, Z: 0.3}}
	for i := range 64 {
		c := cie.D50
		for k, p := range passes {
			if i>>(5-k)&1 == 1 {
				c = cie.XYZ{X: c.X * p.X, Y: c.Y * p.Y, Z: c.Z * p.Z}
			}
		}
		forward.Nodes = append(forward.Nodes, lab16(c.ToLab(cie.D50))...)
	}
	const n = 9
	back := icc.Lut{}
	for l := range n {
		for a := range n {
			for b := range n {
				dark := 1 - float64(l)/(n-1)
				warm, yellow := float64(a)/(n-1)-0.5, float64(b)/(n-1)-0.5
				for _, v := range []float64{dark - warm, dark + warm, dark + yellow, dark * dark, warm, -warm} {
					back.Nodes = append(back.Nodes, uint16(math.Round(min(max(v, 0), 1)*65535)))
				}
			}
		}
	}
	curves := func(k int) (out [][]uint16) {
		for range k {
			out = append(out, icc.IdentityCurve())
		}
		return out
	}
	forward.In, forward.Out, forward.Grid = curves(6), curves(3), 2
	back.In, back.Out, back.Grid = curves(3), curves(6), n
	d := icc.Draft{Version: icc.Version24, Class: icc.ClassOutput, Space: "6CLR", PCS: icc.SpaceLab, Created: time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)}
	d.Add("desc", icc.EncodeDescription("Six inks"))
	d.Add("wtpt", icc.EncodeXYZ(cie.D50))
	for _, tag := range []icc.Signature{"A2B0", "A2B1"} {
		data, err := icc.EncodeLut16(forward)
		if err != nil {
			t.Fatal(err)
		}
		d.Add(tag, data)
	}
	for _, tag := range []icc.Signature{"B2A0", "B2A1"} {
		data, err := icc.EncodeLut16(back)
		if err != nil {
			t.Fatal(err)
		}
		d.Add(tag, data)
	}
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "six.icc")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A paper of six inks gets a TIFF of six channels, which holds the chain's numbers and
// tells of its inks; read by the program itself and, for its tags, by exiftool.
func TestOtherInks(t *testing.T) {
	pic := scene()
	j := own(sixInks(t))
	p := prepared(t, named(t, pic, "srgb"), j)
	path := filepath.Join(t.TempDir(), "six.tif")
	if err := p.Write(t.Context(), path, nil, nil); err != nil {
		t.Fatal(err)
	}
	again, err := photo.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if again.Channels != 6 || again.Depth != 16 || again.ICC == nil {
		t.Fatalf("%d channels of %d bits, profile of %d bytes", again.Channels, again.Depth, len(again.ICC))
	}
	c, err := engine(t).Chain(p.Plan())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	for y := 0; y < pic.H; y += 7 {
		want, err := c.Device(pic.AppendRow(nil, y))
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range again.AppendRow(nil, y) {
			if math.Abs(v-want[i]) > 0.51/65535 {
				t.Fatalf("row %d: number %d is %g, want %g", y, i, v, want[i])
			}
		}
	}
	tags := string(tool(t, "", "exiftool", "-s3", "-n", "-SamplesPerPixel", "-InkSet", "-PhotometricInterpretation", "-XResolution", "-ColorSpaceData", path))
	if tags != "6\n2\n5\n300\n6CLR\n" {
		t.Errorf("exiftool says %q", tags)
	}
	if err := p.Write(t.Context(), filepath.Join(t.TempDir(), "six.png"), nil, nil); err == nil {
		t.Error("six inks in a PNG")
	}
}
