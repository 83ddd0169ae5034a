package setup

import (
	"strings"
	"testing"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/photo"
	"firstsheet/proof/space"
)

// A picture whose profile looks sound and is refused by Little CMS is shown with sRGB
// assumed, which is said and can be overridden.
func TestARefusedProfileIsReplaced(t *testing.T) {
	d := icc.Draft{Version: icc.Version24, Class: icc.ClassDisplay, Space: icc.SpaceRGB, PCS: "XYZ ", Created: time.Unix(1e9, 0)}
	d.Add("wtpt", icc.EncodeXYZ(cie.D50)) // no curves, no primaries
	data, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	pic := photo.Picture{W: 1, H: 1, Channels: 3, Depth: 8, Pix8: []uint8{1, 2, 3}, ICC: data}
	s, err := SourceOf(&pic, nil)
	if err != nil || s.Origin != Assumed || s.Profile.Name() != "sRGB" || !strings.Contains(s.Unused, "is not used: Little CMS can't compute with it (") || len(s.Notes) != 2 {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = SourceOf(&pic, proof.SpaceProfile(space.All()[1]))
	if err != nil || s.Origin != Given {
		t.Errorf("overridden: %+v, %v", s, err)
	}
	d = icc.Draft{Version: icc.Version24, Class: icc.ClassOutput, Space: icc.SpaceCMYK, PCS: icc.SpaceLab, Created: time.Unix(1e9, 0)}
	d.Add("wtpt", icc.EncodeXYZ(cie.D50))
	if data, err = d.Bytes(); err != nil {
		t.Fatal(err)
	}
	inks := photo.Picture{W: 1, H: 1, Channels: 4, Depth: 8, Pix8: []uint8{1, 2, 3, 4}, ICC: data}
	if _, err := SourceOf(&inks, nil); err == nil || !strings.Contains(err.Error(), "come with a profile that can't be used") {
		t.Errorf("inks: %v", err)
	}
}
