package widget

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	toolkit "fyne.io/fyne/v2/theme"

	"firstsheet/app/overlay"
	"firstsheet/proof"
)

// BandKey is the legend of the reach bands, with each band's share.
type BandKey struct {
	base
	Limit  float64
	Shares []string // bands 1 to 4, then darker; empty while unknown
}

// NewBandKey returns an empty legend.
func NewBandKey() *BandKey {
	b := &BandKey{Limit: 2}
	b.ExtendBaseWidget(b)
	return b
}

// Set replaces limit and shares.
func (b *BandKey) Set(limit float64, shares []string) {
	same := limit == b.Limit && len(shares) == len(b.Shares)
	for i := 0; same && i < len(shares); i++ {
		same = shares[i] == b.Shares[i]
	}
	if !same {
		b.Limit, b.Shares = limit, shares
		b.Refresh()
	}
}

// CreateRenderer implements fyne.Widget.
func (b *BandKey) CreateRenderer() fyne.WidgetRenderer {
	names := []string{"1 to 2", "2 to 4", "4 to 8", "8 and more", "darker"}
	return &drawn{of: b, min: func() fyne.Size { return fyne.NewSize(160, 150) },
		draw: func(size fyne.Size) []fyne.CanvasObject {
			ink := Color(toolkit.ColorNameForeground)
			cs := Size(toolkit.SizeNameCaptionText)
			row := size.Height / 5
			line := func(s string, x, y float32, c color.Color, right bool) *canvas.Text {
				t := Line(s, x, y+(row-LineHeight(cs))/2, size.Width-x, cs, false, c)
				if right {
					t.Alignment = fyne.TextAlignTrailing
				}
				return t
			}
			var out []fyne.CanvasObject
			for i, n := range names {
				y := float32(i) * row
				c := ink
				if i < 4 && proof.BandEdges()[i] < b.Limit {
					c = Color(toolkit.ColorNameDisabled)
				}
				var fill color.Color = color.NRGBA{60, 60, 60, 255}
				if i < 4 {
					fill = overlay.Tint(i + 1)
				}
				outer := canvas.NewRectangle(fill)
				outer.StrokeColor, outer.StrokeWidth = color.Black, 1
				outer.Move(fyne.NewPos(0, y+3))
				outer.Resize(fyne.NewSize(26, row-6))
				light := canvas.NewRectangle(color.Transparent)
				light.StrokeColor, light.StrokeWidth = color.White, 1
				light.Move(fyne.NewPos(1, y+4))
				light.Resize(fyne.NewSize(24, row-8))
				out = append(out, outer, light)
				if i == 4 {
					for k := range 3 {
						l := canvas.NewLine(color.NRGBA{205, 205, 205, 255})
						x := float32(4 + 7*k)
						l.Position1, l.Position2 = fyne.NewPos(x, y+row-5), fyne.NewPos(x+min(row-10, 9), y+row-5-min(row-10, 9))
						out = append(out, l)
					}
				}
				out = append(out, line(n, 34, y, c, false))
				if i < len(b.Shares) {
					out = append(out, line(b.Shares[i], 34, y, c, true))
				}
			}
			return out
		}}
}
