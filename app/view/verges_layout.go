package view

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/widget"
)

// vergesParts are the groups of the card that only its layout knows.
type vergesParts struct {
	flatHead, fallHead *widget.Prose
	keyHead, pinHead   fyne.CanvasObject
	whiteName          fyne.CanvasObject
	key, pins          *container.Scroll
}

func (v *verges) built() Built {
	p := vergesParts{
		flatHead:  prose("From above: all hues of one lightness", 1),
		fallHead:  prose("From the side: one hue from black to white", 1),
		keyHead:   heading("Papers"),
		pinHead:   heading("Pins"),
		whiteName: widget.NewText("White", toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, false),
		key:       container.NewVScroll(v.key),
		pins:      container.NewVScroll(v.pins),
	}
	v.pinScroll = p.pins
	p.flatHead.Bold, p.fallHead.Bold = true, true
	content := container.New(freeLayout{fyne.NewSize(860, 480), func(s fyne.Size) { v.place(p, s) }},
		p.flatHead, p.fallHead, v.flat, v.fall, v.lightSlide, v.hueSlide, v.flatTold, v.fallTold,
		p.keyHead, p.key, p.whiteName, v.white, v.state, p.pinHead, p.pins, v.pinEmpty, v.foot.line)
	v.relay = content.Refresh
	return Built{Content: content, Update: v.update, Close: v.work.close, Key: v.typed}
}

// place sets both diagrams, each with its slide and words beneath, and the key and the
// pins beside them.
func (v *verges) place(p vergesParts, s fyne.Size) {
	const gap = 20
	foot := max(v.foot.line.HeightFor(s.Width), captionHeight(2)) // the height stays when the text changes
	set(v.foot.line, 0, s.Height-foot, s.Width, foot)
	h := s.Height - foot - 10
	side := min(max(s.Width*0.2, 264), 360)
	w := (s.Width - side - 2*gap) / 2
	box := min(w, h-26-widget.SlideHeight()-10-proseHeight(2))
	set(v.flat, (w-box)/2, 26, box, box)
	set(v.fall, w+gap, 26, w, box)
	under := func(x float32, head, slide, told fyne.CanvasObject) {
		set(head, x, 0, w, 22)
		y := 26 + box + 10
		set(slide, x, y, w, widget.SlideHeight())
		set(told, x, y+widget.SlideHeight()+2, w, proseHeight(3))
	}
	under(0, p.flatHead, v.lightSlide, v.flatTold)
	under(w+gap, p.fallHead, v.hueSlide, v.fallTold)
	v.placeSide(p, s.Width-side, side, h)
}

// placeSide sets the key, the switch of the white, what is said and the pins.
func (v *verges) placeSide(p vergesParts, x, w, h float32) {
	set(p.keyHead, x, 0, w, 24)
	row := widget.LineRowHeight() + 2
	pinRoom := float32(30 + 4*(widget.RowHeight+2))
	if v.h.State().NumPins == 0 {
		pinRoom = 30 + 54
	}
	key := max(min(float32(len(v.lines))*row, h-28-44-pinRoom-40), row*1.5)
	set(p.key, x, 28, w, key)
	y := 28 + key + 8
	name := widget.Least(p.whiteName).Width + 8
	set(p.whiteName, x, y+5, name, 22)
	set(v.white, x+name, y, w-name, 32)
	y += 42
	said := float32(0)
	if v.state.Text != "" {
		said = v.state.HeightFor(w)
	}
	set(v.state, x, y, w, said)
	if said > 0 {
		y += said + 8
	}
	set(p.pinHead, x, y, w, 24)
	set(p.pins, x, y+28, w, max(h-y-28, 0))
	set(v.pinEmpty, x, y+28, w, 60)
}
