package view

import (
	"context"
	"image"
	"image/draw"
	"sync"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/rank"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// smallPicture is what is kept of one of several pictures until it is known which of them decide.
type smallPicture struct {
	px   raster.Pixels
	pic  *session.Picture // without its pixels
	ways map[string]rank.Way
}

// smallSide is the longer side of a small picture: a third of the card, on a dense screen.
const smallSide = 320

func newSmallPicture(ctx context.Context, s setup.Source, ways map[string]rank.Way) (smallPicture, error) {
	px, err := raster.Fit(ctx, raster.Levels(s.Pixels()), smallSide, smallSide)
	s.Picture = nil
	return smallPicture{px, &session.Picture{Source: s}, ways}, err
}

// shownWay is a small picture as it looks under a name.
type shownWay struct {
	name   string
	levels []raster.Pixels // red, green and blue of the screen; nil where it can't be printed
}

// shown returns the original and, in the order of the papers, the picture at its place in the best of its
// ways on each.
func (s smallPicture) shown(ctx context.Context, e session.Engine, screen string, papers []rank.PaperPlace, at int) ([]shownWay, error) {
	set := setup.Setup{Screen: screen, White: proof.PaperWhite}
	levels, err := s.under(ctx, e, set)
	out := []shownWay{{"original", levels}}
	for _, p := range papers {
		if err != nil {
			return nil, err
		}
		way := shownWay{name: p.Name}
		if w := p.Pictures[at].Way; w != nil {
			best := s.ways[w.ID]
			set.Paper, set.Intent, set.BPC = p.ID, best.Intent, best.Compensation
			way.levels, err = s.under(ctx, e, set)
		}
		out = append(out, way)
	}
	return out, err
}

// under renders the small picture through the exact chain of a set-up.
func (s smallPicture) under(ctx context.Context, e session.Engine, set setup.Setup) ([]raster.Pixels, error) {
	plan, err := e.Plan(s.pic, set)
	if err != nil {
		return nil, err
	}
	c, err := e.Chain(plan)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	out := raster.Pixels{W: s.px.W, H: s.px.H, Channels: 3, P8: make([]uint8, 0, 3*s.px.W*s.px.H)}
	if err := c.Picture(ctx, s.px, func(_ int, row []proof.Value) {
		for _, v := range row {
			rgb := raster.RGBA(v.Screen)
			out.P8 = append(out.P8, rgb.R, rgb.G, rgb.B)
		}
	}); err != nil {
		return nil, err
	}
	return raster.Levels(out), nil
}

// decidingStrip shows a picture that decides between papers: the original, and on two of them.
type decidingStrip struct {
	drawing *widget.Drawing
	name    string
	ways    []shownWay // the original, then the papers in their order

	mu           sync.Mutex
	first, other int
}

// stripHeight is how high a strip is with the names beneath it.
const stripHeight = 150

func newDecidingStrip(w *work, name string, ways []shownWay) *decidingStrip {
	d := &decidingStrip{name: name, ways: ways, other: min(1, len(ways)-2)}
	d.drawing = w.drawing(d.paint)
	d.drawing.Least = fyne.NewSize(240, stripHeight)
	return d
}

// compare chooses the two papers by their places in the order.
func (d *decidingStrip) compare(first, other int) {
	d.mu.Lock()
	same := d.first == first && d.other == other
	d.first, d.other = first, other
	d.mu.Unlock()
	if !same {
		d.drawing.Again()
	}
}

func (d *decidingStrip) paint(w, h int, scale float64) (*image.RGBA, []widget.Word) {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Rect, image.NewUniform(theme.Desk), image.Point{}, draw.Src)
	d.mu.Lock()
	shown := []shownWay{d.ways[0], d.ways[1+d.first], d.ways[1+d.other]}
	d.mu.Unlock()
	gap, line := int(10*scale), int(20*scale)
	each, high := (w-gap*(len(shown)+1))/len(shown), h-2*gap-line
	if each < 8 || high < 8 {
		return img, nil
	}
	var said []widget.Word
	for i, way := range shown {
		x := gap + i*(each+gap)
		name := way.name
		if i == 0 {
			name = d.name
		}
		say := func(text string, y float64) {
			said = append(said, widget.Word{Text: widget.Shorten(text, float32(float64(each)/scale), 13, fyne.TextStyle{}),
				X: float64(x), Y: y, Size: 13, Ink: widget.Color(theme.ColorDeskInk)})
		}
		say(name, float64(gap+high)+float64(line)*0.7)
		if way.levels == nil {
			say("can’t be printed", float64(gap+high/2))
			continue
		}
		px, err := raster.Fit(context.Background(), way.levels, each, high)
		if err != nil {
			return nil, nil
		}
		var v []float64
		for row := range px.H {
			for col := range px.W {
				v = px.At(v[:0], col, row)
				img.SetRGBA(x+col, gap+high-px.H+row, raster.RGBA([3]float64(v)))
			}
		}
	}
	return img, said
}
