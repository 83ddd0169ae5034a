package view

import (
	"image"
	"image/color"
	"image/draw"

	"firstsheet/proof/printfile"
)

// The sides in the order in which a key takes them, with their names.
var edgeOrder = []struct {
	edge printfile.Edges
	name string
}{{printfile.LeftEdge, "left"}, {printfile.TopEdge, "upper"}, {printfile.RightEdge, "right"}, {printfile.BottomEdge, "lower"}}

func edgeName(e printfile.Edges) string {
	for _, o := range edgeOrder {
		if o.edge == e {
			return o.name
		}
	}
	return ""
}

// edgeReach is how near to an edge the mouse takes it, in pixels that stand for a 96th of an inch.
const edgeReach = 9.0

// edgesAt returns which edges of a rectangle, x, y, width, height, are within reach of a place.
func edgesAt(r [4]float64, x, y, reach float64) printfile.Edges {
	if x < r[0]-reach || x > r[0]+r[2]+reach || y < r[1]-reach || y > r[1]+r[3]+reach {
		return 0
	}
	var e printfile.Edges
	near := func(v, lo, hi float64, low, high printfile.Edges) {
		switch least := min(reach, (hi-lo)/4); { // the middle of a small one is its own
		case v < lo+least:
			e |= low
		case v > hi-least:
			e |= high
		}
	}
	near(x, r[0], r[0]+r[2], printfile.LeftEdge, printfile.RightEdge)
	near(y, r[1], r[1]+r[3], printfile.TopEdge, printfile.BottomEdge)
	return e
}

// grab takes the edges where the mouse begins to drag, if there are any.
func (m *printMove) grab(x, y float64) {
	v := m.v
	m.pulled, m.way = 0, [2]float64{}
	if v.print == nil {
		return
	}
	v.picture.mu.Lock()
	part := v.picture.part
	v.picture.mu.Unlock()
	m.pulled, m.from = edgesAt(part, x, y, edgeReach*v.sheet.Scale()), v.print.Layout()
}

// hold takes the next edge for the arrow keys, and after the last one the print.
func (m *printMove) hold() {
	next := edgeOrder[0].edge
	for i, o := range edgeOrder {
		if o.edge != m.held {
			continue
		}
		if next = 0; i+1 < len(edgeOrder) {
			next = edgeOrder[i+1].edge
		}
	}
	m.held = next
	s := m.v.picture.now()
	s.held = next
	m.v.picture.set(s)
	m.v.sheet.Again()
}

// pullHeld moves the edge that the arrow keys hold, in its own direction alone.
func (m *printMove) pullHeld(right, down float64) bool {
	px := m.v.print.Source().Picture
	l, err := printfile.Lay(m.v.of.job, px.W, px.H)
	if err == nil {
		m.take(m.v.of.job.Pull(l, m.held, right, down))
	}
	return true
}

// drawHandles marks where the edges of what is printed can be taken; the one that the arrow keys hold is drawn
// through.
func drawHandles(img *image.RGBA, r image.Rectangle, held printfile.Edges, scale float64) {
	half := max(int(3*scale), 2)
	box := func(b image.Rectangle, ink color.Color) {
		draw.Draw(img, b.Inset(-1), image.NewUniform(color.Black), image.Point{}, draw.Src)
		draw.Draw(img, b, image.NewUniform(ink), image.Point{}, draw.Src)
	}
	middle := r.Min.Add(r.Max).Div(2)
	line := map[printfile.Edges]image.Rectangle{
		printfile.LeftEdge:   image.Rect(r.Min.X-1, r.Min.Y, r.Min.X+1, r.Max.Y),
		printfile.RightEdge:  image.Rect(r.Max.X-1, r.Min.Y, r.Max.X+1, r.Max.Y),
		printfile.TopEdge:    image.Rect(r.Min.X, r.Min.Y-1, r.Max.X, r.Min.Y+1),
		printfile.BottomEdge: image.Rect(r.Min.X, r.Max.Y-1, r.Max.X, r.Max.Y+1),
	}
	if at, ok := line[held]; ok {
		box(at, color.White)
	}
	for _, x := range []int{r.Min.X, middle.X, r.Max.X} {
		for _, y := range []int{r.Min.Y, middle.Y, r.Max.Y} {
			if p := image.Pt(x, y); p != middle {
				box(image.Rect(x-half, y-half, x+half, y+half), color.White)
			}
		}
	}
}
