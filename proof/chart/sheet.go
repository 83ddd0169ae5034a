package chart

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"firstsheet/proof/aside"
	"firstsheet/proof/photo"
)

// Layout is where patches lie on the pages, in pixels of the page images.
type Layout struct {
	Page       string  // a4, a3 or letter
	PPI        float64 // pixels an inch of the page images
	W, H       int     // size of a page image
	Rows, Cols int     // patches on a full page
	Pages      int
	Side       int // side of a patch
	Left, Top  int // of the first patch
}

// maxPPI keeps an A3 page, 31 megapixels, below 130 MB; flat patches gain nothing
// from more.
const maxPPI = 400

// pages in mm: ISO 216, and 8.5 by 11 inches.
var pages = map[string][2]float64{"a4": {210, 297}, "a3": {297, 420}, "letter": {215.9, 279.4}}

// Bands around the patches, in mm.
const (
	headerBand = 25.0 // title and cautions
	footerBand = 15.0 // lines to fill in
	sideBand   = 8.0  // row letters and corner marks
	columnBand = 7.0  // column numbers and corner marks
)

func newLayout(opts TargetOptions, patches int, verify bool) (Layout, error) {
	orElse := func(v, d float64) float64 {
		if v == 0 {
			return d
		}
		return v
	}
	l := Layout{Page: strings.ToLower(opts.Page), PPI: orElse(opts.PPI, 300)}
	if l.Page == "" {
		l.Page = "a4"
	}
	size, ok := pages[l.Page]
	if !ok {
		return l, fmt.Errorf("chart: page %q: it must be a4, a3 or letter", opts.Page)
	}
	margin, side := orElse(opts.Margin, 10), orElse(opts.Size, 8)
	if verify && opts.Size == 0 {
		side = 14
	}
	for _, c := range []struct {
		what         string
		v, low, high float64
		unit         string
	}{{"resolution", l.PPI, 72, maxPPI, "ppi"}, {"margin", margin, 3, 40, "mm"}, {"patch size", side, 4, 30, "mm"}} {
		if !(c.v >= c.low && c.v <= c.high) {
			return l, fmt.Errorf("chart: %s %g: it must be %g to %g %s", c.what, c.v, c.low, c.high, c.unit)
		}
	}
	if opts.Name != "" && (len(opts.Name) > 80 || strings.ContainsAny(opts.Name, "\r\n\x00")) {
		return l, fmt.Errorf("chart: the name %q must be one line of at most 80 bytes", shown(opts.Name))
	}
	l.W, l.H = l.px(size[0]), l.px(size[1])
	l.Side = l.px(side)
	width := size[0] - 2*margin - 2*sideBand
	height := size[1] - 2*margin - headerBand - footerBand - 2*columnBand
	l.Cols = l.px(width) / l.Side
	l.Rows = l.px(height) / l.Side
	if l.Cols < 1 || l.Rows < 1 {
		return l, fmt.Errorf("chart: no patch of %g mm fits on %s with a margin of %g mm", side, l.Page, margin)
	}
	l.Left = (l.W - l.Cols*l.Side) / 2
	l.Top = l.px(margin + headerBand + columnBand)
	l.Pages = (patches + l.Rows*l.Cols - 1) / (l.Rows * l.Cols)
	return l, nil
}

// px returns millimetres in pixels, rounded.
func (l Layout) px(mm float64) int { return int(math.Round(mm / 25.4 * l.PPI)) }

// Cell returns the pixels of a patch on its page.
func (l Layout) Cell(row, col int) image.Rectangle {
	x, y := l.Left+col*l.Side, l.Top+row*l.Side
	return image.Rect(x, y, x+l.Side, y+l.Side)
}

// cautions stand on every sheet and in the text file.
var cautions = []string{
	"These numbers must reach the printer unchanged: print at 100 % size with colour handling OFF along the whole path,",
	"no profile in the program that prints and none in the driver. Same paper, media setting, ink and quality as for your prints.",
	"Let it dry (a day, common practice) before measuring. The file carries no profile on purpose.",
}

// Draw returns a page, counted from 0, as untagged 8-bit RGB. It panics for a
// page that the layout does not have.
func (t *Target) Draw(page int) (*image.RGBA, error) {
	l := t.Layout
	if page < 0 || page >= l.Pages {
		panic(fmt.Sprintf("chart: page %d of %d", page, l.Pages))
	}
	img := image.NewRGBA(image.Rect(0, 0, l.W, l.H))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	rows, cols := 0, 0
	for _, p := range t.Patches {
		if p.Page != page {
			continue
		}
		rows, cols = max(rows, p.Row+1), max(cols, p.Col+1)
		fill := image.NewUniform(color.RGBA{p.RGB[0], p.RGB[1], p.RGB[2], 255})
		draw.Draw(img, l.Cell(p.Row, p.Col), fill, image.Point{}, draw.Src)
	}
	pen, err := newPen(img, l)
	if err != nil {
		return nil, err
	}
	defer pen.close()
	t.write(pen, page, rows, cols)
	return img, nil
}

func (t *Target) write(pen *pen, page, rows, cols int) {
	l := t.Layout
	right := l.Left + l.Cols*l.Side
	line := func(n int) int { return l.Top - l.px(columnBand) - l.px(headerBand) + l.px(5) + n*l.px(4.6) }
	what := "chart to build a profile from"
	if t.Verify {
		what = "chart to verify a profile with"
	}
	pen.text(pen.bold, l.Left, line(0), fmt.Sprintf("%s: %s, page %d of %d, %d patches", t.Name, what, page+1, l.Pages, len(t.Patches)))
	for i, c := range cautions {
		pen.text(pen.plain, l.Left, line(i+1), c)
	}
	for c := range cols {
		name := fmt.Sprintf("%02d", c+1)
		pen.centred(l.Left+c*l.Side+l.Side/2, l.Top-l.px(1.5), name)
		pen.centred(l.Left+c*l.Side+l.Side/2, l.Top+rows*l.Side+l.px(4.2), name)
	}
	for r := range rows {
		y := l.Top + r*l.Side + l.Side/2 + l.px(1.1)
		pen.centred(l.Left-l.px(3), y, rowName(r))
		pen.centred(right+l.px(3), y, rowName(r))
	}
	// Corner marks: a diamond with an eye, the first with a double one, so that
	// a sheet laid upside down is seen to be.
	bottom := l.Top + rows*l.Side
	for i, at := range []image.Point{
		{l.Left - l.px(4), l.Top - l.px(4)}, {right + l.px(4), l.Top - l.px(4)},
		{l.Left - l.px(4), bottom + l.px(4)}, {right + l.px(4), bottom + l.px(4)},
	} {
		pen.mark(at, i == 0)
	}
	foot := bottom + l.px(columnBand) + l.px(6)
	pen.text(pen.plain, l.Left, foot, "printer ______________________   paper ______________________   media setting ______________________")
	pen.text(pen.plain, l.Left, foot+l.px(6), "ink ______________________   quality ______________________   printed on ______________________")
}

// pen writes and marks on a page.
type pen struct {
	img         *image.RGBA
	l           Layout
	bold, plain font.Face
}

func newPen(img *image.RGBA, l Layout) (*pen, error) {
	face := func(ttf []byte, mm float64) (font.Face, error) {
		f, err := opentype.Parse(ttf)
		if err != nil {
			return nil, fmt.Errorf("chart: the sheet's font: %w", err)
		}
		return opentype.NewFace(f, &opentype.FaceOptions{Size: mm / 25.4 * 72, DPI: l.PPI, Hinting: font.HintingFull})
	}
	bold, err := face(gobold.TTF, 4)
	if err != nil {
		return nil, err
	}
	// The cautions must not be cut off where margins are wide.
	const size = 2.9
	plain, err := face(goregular.TTF, size)
	if err != nil {
		return nil, err
	}
	room, need := l.W-l.Left-l.px(5), 0
	for _, c := range cautions {
		need = max(need, font.MeasureString(plain, c).Ceil())
	}
	if need > room {
		plain.Close()
		if plain, err = face(goregular.TTF, size*float64(room)/float64(need)); err != nil {
			return nil, err
		}
	}
	return &pen{img, l, bold, plain}, nil
}

func (p *pen) close() {
	p.bold.Close()
	p.plain.Close()
}

// text writes from x on with the baseline at y, cut at the page's edge.
func (p *pen) text(f font.Face, x, y int, s string) {
	d := font.Drawer{Dst: p.img, Src: image.Black, Face: f, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

func (p *pen) centred(x, y int, s string) {
	w := font.MeasureString(p.plain, s).Round()
	p.text(p.plain, x-w/2, y, s)
}

func (p *pen) mark(at image.Point, first bool) {
	outer, eye := p.l.px(1.8), p.l.px(0.5)
	for dy := -outer; dy <= outer; dy++ {
		for dx := -outer; dx <= outer; dx++ {
			far := max(dx, -dx) + max(dy, -dy)
			inEye := dx*dx+dy*dy <= eye*eye
			if first {
				left, right := dx+eye+eye/2, dx-eye-eye/2
				inEye = left*left+dy*dy <= eye*eye || right*right+dy*dy <= eye*eye
			}
			if far <= outer && !inEye {
				p.img.SetRGBA(at.X+dx, at.Y+dy, color.RGBA{0, 0, 0, 255})
			}
		}
	}
}

// Files are what [Target.Write] wrote, full paths.
type Files struct {
	List  string   // patch list, CGATS.17
	Pages []string // page images, PNG
	Help  string   // how to print and measure
}

// unfit is what a file's name is better without; letters of any script are fit.
var unfit = regexp.MustCompile(`[^\p{L}\p{M}\p{N}._-]+`)

// fileName returns what the files of a chart of some name begin with.
func fileName(name string, verify bool) string {
	base := strings.Trim(unfit.ReplaceAllString(name, "-"), ".-")
	switch {
	case base != "":
		return base
	case verify:
		return "verify"
	}
	return "chart"
}

// Write draws the pages and writes them into dir, which it makes where it is
// missing: NAME-page-1.png and so on (8-bit RGB without any profile, so that
// nothing is tempted to convert them), NAME-patches.txt and NAME-read-me.txt.
// Existing files of these names are replaced. Each file is complete or absent:
// it is written aside and renamed. It looks at ctx between pages.
func (t *Target) Write(ctx context.Context, dir string) (Files, error) {
	var out Files
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return out, fmt.Errorf("chart: %w", err)
	}
	base := fileName(t.Name, t.Verify)
	for page := range t.Layout.Pages {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		img, err := t.Draw(page)
		if err != nil {
			return out, err
		}
		path := filepath.Join(dir, fmt.Sprintf("%s-page-%d.png", base, page+1))
		pic, err := photo.FromImage(ctx, img)
		if err == nil {
			err = photo.Write(ctx, path, pic, photo.WriteOptions{PPI: t.Layout.PPI})
		}
		if err != nil {
			return out, err
		}
		out.Pages = append(out.Pages, path)
	}
	out.List = filepath.Join(dir, base+"-patches.txt")
	if err := writeFile(out.List, func(w io.Writer) error { return WriteTables(w, t.Table()) }); err != nil {
		return out, err
	}
	out.Help = filepath.Join(dir, base+"-read-me.txt")
	err := writeFile(out.Help, func(w io.Writer) error {
		_, err := io.WriteString(w, t.help(base))
		return err
	})
	return out, err
}

func (t *Target) help(base string) string {
	l := t.Layout
	next := "build the profile from it"
	if t.Verify {
		next = "verify the profile with it"
	}
	return fmt.Sprintf(`%s: %d patches on %d page(s), %s, %g ppi

1. Print %s-page-1.png and the pages after it at 100 %% size.
   %s
   %s
   A program that assumes a colour space for untagged files and converts from
   it spoils the chart: print from one that sends the numbers as they are.
2. %s
3. Measure every patch, row by row, with %s-patches.txt as the list of
   patches (CGATS.17; SAMPLE_LOC is page, row letter, column). Lay white paper
   below the sheet and note whether the instrument measures M0, M1 or M2.
4. Save as CGATS.17 text with RGB values and spectra, or Lab for D50 and 2
   degrees, and %s.

A profile describes this one combination of printer, ink, paper, media setting
and quality. It is no contract: judge a print in the light it will hang in.
`, t.Name, len(t.Patches), l.Pages, l.Page, l.PPI, base, cautions[0], cautions[1], cautions[2], base, next)
}

// writeFile writes path completely or not at all.
func writeFile(path string, write func(io.Writer) error) error {
	if err := aside.Write(path, func(f *os.File) error { return write(f) }); err != nil {
		return &aside.Error{Path: path, Err: aside.Bare(err)}
	}
	return nil
}
