// Package handout lays out a printed page for each slip of a lesson: the picture
// pair, the route with its broken link, the pins in figures and in words, and
// the cautions. It takes plain data and writes a PDF.
//
// Colours: the PDF library writes plain RGB only, so after it the file is given
// a default colour space, the profile of [Document.Profile], which every RGB
// number in it then stands for (PDF 1.7, ISO 32000-1, 8.6.5.6), and that
// profile as output intent. All pictures must be in that one space. No text is
// invented here: the words come in with the data.
package handout

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"math"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Page is the size of the paper.
type Page uint8

// The pages.
const (
	A4     Page = iota // 210 by 297 mm (ISO 216)
	Letter             // 8.5 by 11 inches
)

func (p Page) String() string {
	if p == Letter {
		return "Letter"
	}
	return "A4"
}

// Picture is an encoded PNG or JPEG, of 8 bits in the end. What is transparent in
// it shows the white page.
type Picture struct {
	Data    []byte
	Caption string
}

// Station is one stop of the route.
type Station struct {
	// Title is in plain words, Detail in the trade's terms.
	Title, Detail string
	// Broken marks the wrong link; Why says what is wrong.
	Broken bool
	Why    string
}

// Row is a pin in figures and words.
type Row struct {
	Pin   string
	Right string // the colour as it should be
	Wrong string // the colour gone wrong
	Delta string // their ΔE00
	Words string
}

// Sheet is one page.
type Sheet struct {
	Title string
	// Reason tells what was taken for what.
	Reason       string
	Right, Wrong Picture
	Route        []Station
	Rows         []Row
	// Recognise and Prevent are general advice; either may be empty.
	Recognise string
	Prevent   string
	Cautions  []string
}

// Document is the whole handout.
type Document struct {
	Title  string
	Author string
	Page   Page
	// Profile is the ICC profile, of class display and space RGB, that the
	// pictures are in; ProfileName is how the foot of the page calls it.
	Profile     []byte
	ProfileName string
	// Made is written into the file. The library puts pictures of one width into
	// the file in no fixed order, so that the same data may give other bytes for
	// the same pages.
	Made   time.Time
	Sheets []Sheet
}

// Error says on which page the handout failed.
type Error struct {
	Sheet int // from 1, 0 for the document
	Err   error
}

func (e *Error) Error() string {
	if e.Sheet == 0 {
		return fmt.Sprintf("handout: %v", e.Err)
	}
	return fmt.Sprintf("handout: page %d: %v", e.Sheet, e.Err)
}

func (e *Error) Unwrap() error { return e.Err }

// Errors of content.
var (
	ErrNothing = errors.New("no pages")
	ErrTooMuch = errors.New("too much for one page")
)

// Layout, in millimetres, and text sizes in points.
const (
	margin    = 15.0
	gap       = 5.0
	titleSize = 18.0
	textSize  = 10.0
	smallSize = 8.0
	footSize  = 7.5
	point     = 25.4 / 72
	lead      = 1.28 // line height over text size
	pictureMM = 78.0 // the most height of the pictures
	pictureTo = 25.0 // the least
	tableRoom = 20.0 // kept for the table and the advice
)

// Write lays the document out and writes it. Nothing is written when it fails.
// Errors are *Error.
func Write(w io.Writer, d Document) error {
	if len(d.Sheets) == 0 {
		return &Error{Err: ErrNothing}
	}
	if n := len(d.Profile); n < 128 || string(d.Profile[36:40]) != "acsp" || string(d.Profile[16:20]) != "RGB " {
		return &Error{Err: errors.New("profile is not an ICC profile of RGB")}
	}
	pdf := fpdf.New("P", "mm", d.Page.String(), "")
	pdf.AddUTF8FontFromBytes("Go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("Go", "B", gobold.TTF)
	pdf.SetAutoPageBreak(false, margin)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(d.Made)
	pdf.SetModificationDate(d.Made)
	pdf.SetTitle(d.Title, true)
	pdf.SetAuthor(d.Author, true)
	pdf.SetCreator("Firstsheet", true)
	pdf.SetProducer("Firstsheet", true)
	for i, s := range d.Sheets {
		p := &page{pdf: pdf, doc: &d, sheet: i + 1}
		if err := p.draw(s); err != nil {
			return &Error{Sheet: i + 1, Err: err}
		}
	}
	var plain bytes.Buffer
	if err := pdf.Output(&plain); err != nil {
		return &Error{Err: err}
	}
	managed, err := Manage(plain.Bytes(), d.Profile, d.ProfileName)
	if err != nil {
		return &Error{Err: err}
	}
	if _, err := w.Write(managed); err != nil {
		return &Error{Err: err}
	}
	return nil
}

type page struct {
	pdf           *fpdf.Fpdf
	doc           *Document
	sheet         int
	width, height float64
	y             float64
	foot          float64 // where the foot begins
}

func (p *page) font(style string, size float64) { p.pdf.SetFont("Go", style, size) }

// lines breaks a text at the width.
func (p *page) lines(text string, width float64) []string {
	if text == "" {
		return nil
	}
	return p.pdf.SplitText(text, width)
}

// paragraph writes at most most lines of a text and moves on. A text that is cut
// ends in an ellipsis.
func (p *page) paragraph(x, width float64, text, style string, size float64, most int) {
	p.font(style, size)
	h := size * point * lead
	for i, l := range p.cut(p.lines(text, width), most) {
		p.pdf.Text(x, p.y+h*(float64(i)+0.78), l)
	}
	p.y += h * float64(min(len(p.lines(text, width)), most))
}

func (p *page) cut(lines []string, most int) []string {
	if len(lines) <= most {
		return lines
	}
	out := append([]string(nil), lines[:most]...)
	out[most-1] += " …"
	return out
}

func (p *page) draw(s Sheet) error {
	p.pdf.AddPage()
	w, h := p.pdf.GetPageSize()
	p.width, p.height, p.y = w-2*margin, h, margin
	p.drawFoot(s)

	p.paragraph(margin, p.width, s.Title, "B", titleSize, 2)
	p.y += 1
	p.paragraph(margin, p.width, s.Reason, "", textSize+1, 3)
	p.y += 3
	_, _, heights := p.stops(s.Route)
	below := 2*gap + tableRoom
	for _, h := range heights {
		below += h + 2
	}
	if err := p.pictures(s, min(pictureMM, p.foot-p.y-below)); err != nil {
		return err
	}
	p.y += gap
	p.route(s.Route)
	p.y += gap
	p.advice(s, p.rows(s))
	if p.y > p.foot {
		return ErrTooMuch
	}
	return p.pdf.Error()
}

// drawFoot writes the cautions and the page line at the foot.
func (p *page) drawFoot(s Sheet) {
	p.font("", footSize)
	h := footSize * point * lead
	var all []string
	for _, c := range s.Cautions {
		all = append(all, p.lines(c, p.width)...)
	}
	name := p.doc.ProfileName
	if name == "" {
		name = "the embedded profile"
	}
	all = append(all, p.lines("Pictures are in "+name+", in which this file is to be shown and printed.", p.width)...)
	// A sixth of the page is the most that cautions can take; the line about
	// the profile stays.
	if room := int(p.height / 6 / h); len(all) > room {
		all = append(p.cut(all, room-1), all[len(all)-1])
	}
	p.foot = p.height - margin - h*float64(len(all)+1) - 3
	y := p.foot + 2
	p.pdf.SetDrawColor(150, 150, 150)
	p.pdf.SetLineWidth(0.2)
	p.pdf.Line(margin, p.foot, margin+p.width, p.foot)
	for _, l := range all {
		y += h
		p.pdf.Text(margin, y-h*0.2, l)
	}
	y += h
	p.pdf.Text(margin, y+0.5, p.doc.Title)
	number := fmt.Sprintf("%d of %d", p.sheet, len(p.doc.Sheets))
	p.pdf.Text(margin+p.width-p.pdf.GetStringWidth(number), y+0.5, number)
}

// pictures places the pair side by side, no higher than most with the captions.
func (p *page) pictures(s Sheet, most float64) error {
	pair := []Picture{s.Right, s.Wrong}
	var infos [2]*fpdf.ImageInfoType
	var names [2]string
	room := (p.width - gap) / 2
	height := 0.0
	for i, q := range pair {
		data, kind, err := Plain(q.Data)
		if err != nil {
			return fmt.Errorf("picture %d: %w", i+1, err)
		}
		// One name for one content: the library writes a picture that is
		// registered twice as one, but lists it twice.
		names[i] = fmt.Sprintf("%x", sha256.Sum256(data))
		infos[i] = p.pdf.RegisterImageOptionsReader(names[i], fpdf.ImageOptions{ImageType: kind}, bytes.NewReader(data))
		if err := p.pdf.Error(); err != nil {
			return fmt.Errorf("picture %d: %w", i+1, err)
		}
		height = max(height, room*infos[i].Height()/infos[i].Width())
	}
	p.font("B", textSize)
	line := textSize * point * lead
	captions := 0
	for _, q := range pair {
		captions = max(captions, len(p.lines(q.Caption, room)))
	}
	captions = min(captions, 2)
	if most -= line*float64(captions) + 1; most < pictureTo {
		return ErrTooMuch
	}
	height = min(height, most)
	for i, q := range pair {
		x := margin + float64(i)*(room+gap)
		for k, l := range p.cut(p.lines(q.Caption, room), 2) {
			p.pdf.Text(x, p.y+line*(float64(k)+0.78), l)
		}
		iw, ih := room, room*infos[i].Height()/infos[i].Width()
		if ih > height {
			iw, ih = iw*height/ih, height
		}
		p.pdf.ImageOptions(names[i], x+(room-iw)/2, p.y+line*float64(captions)+1, iw, ih, false, fpdf.ImageOptions{}, 0, "")
	}
	p.y += line*float64(captions) + 1 + height
	return p.pdf.Error()
}

// Plain checks a picture by decoding it whole, since the PDF library trusts
// its bytes, and returns it in a form which that takes: a JPEG as it is, a PNG
// written anew with 8 bits, opaque and not interlaced.
func Plain(data []byte) (plain []byte, kind string, err error) {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		if _, err := jpeg.Decode(bytes.NewReader(data)); err != nil {
			return nil, "", err
		}
		return data, "JPG", nil
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		m, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			return nil, "", err
		}
		b := m.Bounds()
		sheet := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
		draw.Draw(sheet, sheet.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(sheet, sheet.Bounds(), m, b.Min, draw.Over)
		var out bytes.Buffer
		if err := png.Encode(&out, sheet); err != nil {
			return nil, "", err
		}
		return out.Bytes(), "PNG", nil
	}
	return nil, "", errors.New("neither PNG nor JPEG")
}

// Measures of the route, in millimetres.
const (
	arrowLength = 6.0
	boxPad      = 1.6
	smallLine   = smallSize * point * lead
)

// stop is a station with its text broken into the lines of its box.
type stop struct {
	Station
	title, detail, why []string
}

// stops breaks the stations into rows of at most five and their text into
// lines. It returns the width of a box, the rows and the height of each.
func (p *page) stops(stations []Station) (box float64, rows [][]stop, heights []float64) {
	if len(stations) == 0 {
		return 0, nil, nil
	}
	perRow := int(math.Ceil(float64(len(stations)) / math.Ceil(float64(len(stations))/5)))
	box = (p.width - arrowLength*float64(perRow-1)) / float64(perRow)
	for from := 0; from < len(stations); from += perRow {
		var row []stop
		most := 0
		for _, s := range stations[from:min(from+perRow, len(stations))] {
			t := stop{Station: s}
			p.font("B", smallSize)
			t.title = p.cut(p.lines(s.Title, box-2*boxPad-3), 3)
			if s.Broken {
				t.why = p.cut(p.lines(s.Why, box-2*boxPad), 5)
			}
			p.font("", smallSize)
			t.detail = p.cut(p.lines(s.Detail, box-2*boxPad), 4)
			most = max(most, len(t.title)+len(t.detail)+len(t.why))
			row = append(row, t)
		}
		rows, heights = append(rows, row), append(heights, float64(most)*smallLine+2*boxPad)
	}
	return box, rows, heights
}

// route draws the stations as boxes joined by arrows. A broken one has a thick
// dashed border and a cross, so that it is seen without colour.
func (p *page) route(stations []Station) {
	box, rows, heights := p.stops(stations)
	for r, row := range rows {
		height := heights[r]
		for i, s := range row {
			x := margin + float64(i)*(box+arrowLength)
			p.pdf.SetDrawColor(90, 90, 90)
			p.pdf.SetLineWidth(0.25)
			if s.Broken {
				p.pdf.SetDrawColor(0, 0, 0)
				p.pdf.SetLineWidth(0.8)
				p.pdf.SetDashPattern([]float64{2, 1.2}, 0)
			}
			p.pdf.Rect(x, p.y, box, height, "D")
			p.pdf.SetDashPattern([]float64{}, 0)
			if s.Broken {
				p.pdf.Line(x+box-3.6, p.y+1.4, x+box-1.4, p.y+3.6)
				p.pdf.Line(x+box-1.4, p.y+1.4, x+box-3.6, p.y+3.6)
			}
			y := p.y + boxPad
			write := func(style string, ls []string) {
				p.font(style, smallSize)
				for _, l := range ls {
					y += smallLine
					p.pdf.Text(x+boxPad, y-smallLine*0.22, l)
				}
			}
			write("B", s.title)
			write("", s.detail)
			write("B", s.why)
			if i > 0 || r > 0 { // at the left margin it comes from the row above
				p.arrow(x-arrowLength, p.y+height/2, arrowLength)
			}
		}
		p.y += height + 2
	}
	if len(rows) > 0 {
		p.y -= 2
	}
}

func (p *page) arrow(x, y, length float64) {
	p.pdf.SetDrawColor(60, 60, 60)
	p.pdf.SetLineWidth(0.4)
	p.pdf.Line(x+0.8, y, x+length-0.8, y)
	p.pdf.Line(x+length-2.6, y-1.4, x+length-0.8, y)
	p.pdf.Line(x+length-2.6, y+1.4, x+length-0.8, y)
}

// columns of the pin table: share of the width and heading.
var columns = []struct {
	share   float64
	heading string
}{{0.16, "Pin"}, {0.17, "As it should be"}, {0.17, "Gone wrong"}, {0.09, "ΔE00"}, {0.41, "In words"}}

// adviceRoom is kept free below the table for what to do about the slip.
const adviceRoom = 24.0

// rows draws the pin table and returns how many rows had no room.
func (p *page) rows(s Sheet) int {
	if len(s.Rows) == 0 {
		return 0
	}
	room := p.foot - gap
	if s.Recognise != "" || s.Prevent != "" {
		room -= adviceRoom
	}
	line := smallLine
	x := margin
	if p.y+2*line+2 > room {
		room = p.foot - gap // rather pins than advice
	}
	p.font("B", smallSize)
	for _, c := range columns {
		p.pdf.Text(x, p.y+line*0.78, c.heading)
		x += c.share * p.width
	}
	p.y += line + 0.8
	p.pdf.SetDrawColor(150, 150, 150)
	p.pdf.SetLineWidth(0.2)
	for i, r := range s.Rows {
		cells := []string{r.Pin, r.Right, r.Wrong, r.Delta, r.Words}
		broken := make([][]string, len(cells))
		most := 1
		for k, c := range cells {
			p.font(style(k), smallSize)
			broken[k] = p.cut(p.lines(c, columns[k].share*p.width-2), 3)
			most = max(most, len(broken[k]))
		}
		height := float64(most)*line + 1.2
		if p.y+height > room {
			return len(s.Rows) - i
		}
		p.pdf.Line(margin, p.y, margin+p.width, p.y)
		x = margin
		for k, ls := range broken {
			p.font(style(k), smallSize)
			for n, l := range ls {
				p.pdf.Text(x, p.y+0.6+line*(float64(n)+0.78), l)
			}
			x += columns[k].share * p.width
		}
		p.y += height
	}
	return 0
}

func style(column int) string {
	if column == 0 {
		return "B"
	}
	return ""
}

// advice writes how to recognise and prevent the slip, in two columns.
func (p *page) advice(s Sheet, left int) {
	if left > 0 {
		p.paragraph(margin, p.width, fmt.Sprintf("and %d more pins that have no room on this page", left), "", smallSize, 1)
	}
	if p.y+gap/2+2*smallLine > p.foot {
		return // no room for advice
	}
	p.y += gap / 2
	room := (p.width - gap) / 2
	top, bottom := p.y, p.y
	for i, t := range []struct{ head, text string }{{"How to recognise it", s.Recognise}, {"How to prevent it", s.Prevent}} {
		if t.text == "" {
			continue
		}
		p.y = top
		x := margin + float64(i)*(room+gap)
		p.paragraph(x, room, t.head, "B", smallSize, 1)
		most := max(1, int((p.foot-p.y-0.5)/(smallLine)))
		p.paragraph(x, room, t.text, "", smallSize, most)
		bottom = max(bottom, p.y)
	}
	p.y = bottom
}
