// Package theme sets the window in neutral greys and workshop-sized type. No
// colour of it has a hue: the only coloured things in the window are sheets,
// swatches of papers and pins, and the scale of the reach bands, so that the
// eye's idea of grey is not pulled.
package theme

import (
	"image/color"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/assets"
)

// Our own colour names beside the toolkit's.
const (
	ColorDesk     fyne.ThemeColorName = "firstsheetDesk"     // the desk, L* 50 in both surroundings
	ColorDeskInk  fyne.ThemeColorName = "firstsheetDeskInk"  // text on the desk
	ColorBench    fyne.ThemeColorName = "firstsheetBench"    // the bench and the route line
	ColorGroup    fyne.ThemeColorName = "firstsheetGroup"    // a group on the bench
	ColorQuiet    fyne.ThemeColorName = "firstsheetQuiet"    // text of second rank
	ColorLine     fyne.ThemeColorName = "firstsheetLine"     // hairlines
	ColorEdge     fyne.ThemeColorName = "firstsheetEdge"     // the edge of a control, 3:1 and more
	ColorField    fyne.ThemeColorName = "firstsheetField"    // a control at rest
	ColorFieldOn  fyne.ThemeColorName = "firstsheetFieldOn"  // a control under the mouse
	ColorChosen   fyne.ThemeColorName = "firstsheetChosen"   // the chosen part of a control
	ColorOnChosen fyne.ThemeColorName = "firstsheetOnChosen" // text on it
	ColorRing     fyne.ThemeColorName = "firstsheetRing"     // the ring round what the keyboard is on
)

// Our own sizes.
const (
	SizeStep     fyne.ThemeSizeName = "firstsheetStep"     // the grid that all gaps are multiples of
	SizeSentence fyne.ThemeSizeName = "firstsheetSentence" // the one large sentence
	SizeStation  fyne.ThemeSizeName = "firstsheetStation"  // a station's plain words
	SizeControl  fyne.ThemeSizeName = "firstsheetControl"  // a control's height
)

// Desk is the grey of the desk: L* 50 under sRGB, which is 118.9 of 255.
var Desk = color.NRGBA{119, 119, 119, 255}

// Neutral is the program's theme. Light says which surroundings the desk lies in.
type Neutral struct{ Light bool }

var _ fyne.Theme = Neutral{}

func grey(v uint8) color.Color { return color.NRGBA{v, v, v, 255} }

// Color returns the colour of a name; the system's own variant is not asked,
// because surroundings are chosen for judging prints.
func (n Neutral) Color(name fyne.ThemeColorName, _ fyne.ThemeVariant) color.Color {
	pick := func(light, dark uint8) color.Color {
		if n.Light {
			return grey(light)
		}
		return grey(dark)
	}
	switch name {
	case ColorDesk:
		return Desk
	case ColorDeskInk:
		return grey(0) // 4.7:1 on the desk; white would have 4.48
	case ColorBench, toolkit.ColorNameBackground:
		return pick(226, 38)
	case ColorGroup:
		return pick(236, 47)
	case ColorQuiet, toolkit.ColorNamePlaceHolder:
		return pick(84, 176)
	case ColorEdge, toolkit.ColorNameInputBorder:
		return pick(116, 140)
	case ColorLine, toolkit.ColorNameSeparator:
		return pick(186, 78)
	case ColorField, toolkit.ColorNameButton, toolkit.ColorNameInputBackground:
		return pick(250, 62)
	case ColorFieldOn:
		return pick(255, 76)
	case ColorChosen, toolkit.ColorNamePrimary, toolkit.ColorNameHyperlink:
		return pick(48, 222)
	case ColorOnChosen, toolkit.ColorNameForegroundOnPrimary:
		return pick(255, 20)
	case ColorRing:
		return pick(0, 255)
	case toolkit.ColorNameForeground:
		return pick(20, 240)
	case toolkit.ColorNameDisabled:
		return pick(96, 160) // 4.5:1 and more
	case toolkit.ColorNameDisabledButton:
		return pick(230, 50)
	case toolkit.ColorNameHover:
		if n.Light {
			return color.NRGBA{0, 0, 0, 18}
		}
		return color.NRGBA{255, 255, 255, 22}
	case toolkit.ColorNamePressed, toolkit.ColorNameFocus:
		if n.Light {
			return color.NRGBA{0, 0, 0, 44}
		}
		return color.NRGBA{255, 255, 255, 52}
	case toolkit.ColorNameSelection:
		return pick(196, 92)
	case toolkit.ColorNameMenuBackground, toolkit.ColorNameOverlayBackground, toolkit.ColorNameHeaderBackground:
		return pick(240, 50)
	case toolkit.ColorNameScrollBar:
		return pick(120, 150)
	case toolkit.ColorNameScrollBarBackground:
		return color.Transparent
	case toolkit.ColorNameShadow:
		return color.NRGBA{0, 0, 0, 70}
	case toolkit.ColorNameError, toolkit.ColorNameWarning, toolkit.ColorNameSuccess:
		return pick(20, 240)
	case toolkit.ColorNameForegroundOnError, toolkit.ColorNameForegroundOnWarning, toolkit.ColorNameForegroundOnSuccess:
		return pick(250, 20)
	}
	v := toolkit.VariantDark
	if n.Light {
		v = toolkit.VariantLight
	}
	return toolkit.DefaultTheme().Color(name, v)
}

var (
	upright = &Typeface{Resource: fyne.NewStaticResource("signs-regular.ttf", assets.Signs(false)), letters: toolkit.DefaultTextFont()}
	bold    = &Typeface{Resource: fyne.NewStaticResource("signs-bold.ttf", assets.Signs(true)), letters: toolkit.DefaultTextBoldFont()}
)

// Font returns the signs that the toolkit's own typeface lacks. What this font lacks, all
// letters, the toolkit takes from its own; without it, it would ask the system's fonts, which
// are not the same everywhere.
func (n Neutral) Font(s fyne.TextStyle) fyne.Resource {
	switch {
	case s.Monospace || s.Symbol:
		return toolkit.DefaultTheme().Font(s)
	case s.Bold:
		return bold
	}
	return upright
}

// Icon returns the toolkit's own icons.
func (n Neutral) Icon(name fyne.ThemeIconName) fyne.Resource {
	return toolkit.DefaultTheme().Icon(name)
}

// Size returns sizes large enough to be read from half a metre beside a print. Type is of
// sizes whose letters keep their feet: the toolkit rounds the height of a line, and at 15 or
// 17 no row is left for the foot of a g.
func (n Neutral) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case SizeStep:
		return 8
	case SizeSentence:
		return 21
	case SizeStation:
		return 16
	case SizeControl:
		return 32
	case toolkit.SizeNameText:
		return 14
	case toolkit.SizeNameCaptionText:
		return 13
	case toolkit.SizeNameSubHeadingText:
		return 16
	case toolkit.SizeNameHeadingText:
		return 24
	case toolkit.SizeNamePadding:
		return 4
	case toolkit.SizeNameInnerPadding:
		return 8
	case toolkit.SizeNameInputRadius, toolkit.SizeNameSelectionRadius:
		return 4
	case toolkit.SizeNameScrollBar:
		return 12
	case toolkit.SizeNameScrollBarSmall:
		return 4
	}
	return toolkit.DefaultTheme().Size(name)
}
