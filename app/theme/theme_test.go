package theme

import (
	"math"
	"testing"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/proof/space"
)

var names = []fyne.ThemeColorName{
	ColorDesk, ColorDeskInk, ColorBench, ColorGroup, ColorQuiet, ColorLine, ColorEdge, ColorField, ColorFieldOn, ColorChosen,
	ColorOnChosen, ColorRing, toolkit.ColorNameBackground, toolkit.ColorNameForeground, toolkit.ColorNamePrimary,
	toolkit.ColorNameFocus, toolkit.ColorNameSelection, toolkit.ColorNameError, toolkit.ColorNameWarning,
	toolkit.ColorNameSuccess, toolkit.ColorNameHyperlink, toolkit.ColorNameButton, toolkit.ColorNameDisabled,
	toolkit.ColorNameHover, toolkit.ColorNamePressed, toolkit.ColorNameInputBackground, toolkit.ColorNameInputBorder,
	toolkit.ColorNameMenuBackground, toolkit.ColorNameOverlayBackground, toolkit.ColorNamePlaceHolder,
	toolkit.ColorNameScrollBar, toolkit.ColorNameSeparator, toolkit.ColorNameShadow, toolkit.ColorNameHeaderBackground,
}

func TestEveryColourIsNeutral(t *testing.T) {
	for _, light := range []bool{false, true} {
		for _, n := range names {
			r, g, b, _ := Neutral{light}.Color(n, 0).RGBA()
			if r != g || g != b {
				t.Errorf("light %v: %s = %d %d %d, want a grey", light, n, r>>8, g>>8, b>>8)
			}
		}
	}
}

func TestTheDeskIsLightness50(t *testing.T) {
	v := float64(Desk.R) / 255
	lab := space.SRGB().ToLab(v, v, v)
	if math.Abs(lab.L-50) > 0.3 { // one step of 8 bits is 0.4 of L*
		t.Errorf("desk is L* %.2f, want 50 ± 0.3", lab.L)
	}
	if (Neutral{true}).Color(ColorDesk, 0) != (Neutral{false}).Color(ColorDesk, 0) {
		t.Error("the desk differs between light and dark surroundings")
	}
}

// Text keeps the contrast of 4.5 to 1, the edges of controls that of 3 to 1 that WCAG 2.2
// asks for (success criteria 1.4.3 and 1.4.11).
func TestTextIsReadable(t *testing.T) {
	pairs := []struct {
		ink, ground fyne.ThemeColorName
		least       float64
	}{
		{toolkit.ColorNameForeground, ColorBench, 4.5}, {toolkit.ColorNameForeground, ColorGroup, 4.5},
		{ColorQuiet, ColorBench, 4.5}, {ColorQuiet, ColorGroup, 4.5}, {ColorOnChosen, ColorChosen, 4.5},
		{toolkit.ColorNameForeground, ColorField, 4.5}, {toolkit.ColorNameForeground, ColorFieldOn, 4.5},
		{ColorDeskInk, ColorDesk, 4.5},
		{toolkit.ColorNameDisabled, toolkit.ColorNameMenuBackground, 4.5}, // keys in menus
		{toolkit.ColorNameForeground, toolkit.ColorNameMenuBackground, 4.5},
		{ColorEdge, ColorBench, 3}, {ColorEdge, ColorGroup, 3}, {ColorEdge, ColorField, 3},
	}
	for _, light := range []bool{false, true} {
		for _, p := range pairs {
			a, b := luminance(light, p.ink), luminance(light, p.ground)
			ratio := (math.Max(a, b) + 0.05) / (math.Min(a, b) + 0.05)
			if ratio < p.least {
				t.Errorf("light %v: %s on %s has contrast %.2f, want %.1f", light, p.ink, p.ground, ratio, p.least)
			}
		}
	}
}

func luminance(light bool, n fyne.ThemeColorName) float64 {
	r, _, _, _ := Neutral{light}.Color(n, 0).RGBA()
	return space.SRGB().Decode(float64(r) / 0xffff)
}
