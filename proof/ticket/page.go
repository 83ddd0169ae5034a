package ticket

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"firstsheet/proof"
	"firstsheet/proof/handout"
	"firstsheet/proof/printfile"
	"firstsheet/proof/space"
)

func isPDF(path string) bool { return strings.EqualFold(filepath.Ext(path), ".pdf") }

// Measures of the page, in millimetres, and text sizes in points.
const (
	margin    = 15.0
	pageW     = 210.0 // A4, ISO 216; it also prints on Letter, which is 18 mm shorter
	pageH     = 279.0 // so that nothing stands in those
	pairMM    = 55.0
	bodySize  = 8.5
	titleSize = 15.0
	line      = bodySize * 25.4 / 72 * 1.3
	noteLines = 6
	mostPins  = 8

	// lowest is where lists end, so that the finished print has its room.
	lowest = pageH - margin - (noteLines+6)*line
)

const caution = "A proof on a screen is only as good as the screen’s calibration and the light in which the print is judged; it is no contract proof."

// WritePDF writes the ticket as one A4 page, its pictures in sRGB.
func (t Ticket) WritePDF(w io.Writer) error {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.AddUTF8FontFromBytes("Go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("Go", "B", gobold.TTF)
	pdf.SetAutoPageBreak(false, margin)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(t.Made)
	pdf.SetModificationDate(t.Made)
	pdf.SetTitle("Job ticket: "+t.Picture.Name, true)
	pdf.SetCreator("Firstsheet", true)
	pdf.SetProducer("Firstsheet", true)
	pdf.AddPage()
	p := &page{pdf: pdf, y: margin}
	p.head(t)
	if err := p.pictures(t); err != nil {
		return err
	}
	p.facts(t)
	p.list("Driver and next program", t.Settings, 8)
	p.list("Warnings", t.Warnings, 5)
	p.pins(t.Pins)
	p.outcome(t)
	if err := pdf.Error(); err != nil {
		return fmt.Errorf("ticket: %w", err)
	}
	var plain bytes.Buffer
	if err := pdf.Output(&plain); err != nil {
		return fmt.Errorf("ticket: %w", err)
	}
	managed, err := handout.Manage(plain.Bytes(), space.SRGB().ICC(), space.SRGB().Name)
	if err != nil {
		return fmt.Errorf("ticket: %w", err)
	}
	_, err = w.Write(managed)
	return err
}

type page struct {
	pdf *fpdf.Fpdf
	y   float64
}

const width = pageW - 2*margin

func (p *page) font(style string, size float64) { p.pdf.SetFont("Go", style, size) }

// text writes a text in a column, at most so many lines, and returns its height.
func (p *page) text(x, y, w float64, s string, most int) float64 {
	if s == "" {
		return 0
	}
	lines := p.pdf.SplitText(s, w)
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] += " …"
	}
	for i, l := range lines {
		p.pdf.Text(x, y+line*(float64(i)+0.78), l)
	}
	return line * float64(len(lines))
}

func (p *page) head(t Ticket) {
	p.font("B", titleSize)
	name := t.Picture.Name
	if name == "" {
		name = "demo picture"
	}
	p.pdf.Text(margin, p.y+5, p.shortened(name+" on "+t.Paper.Name, width))
	p.y += 7
	p.font("", bodySize)
	p.y += p.text(margin, p.y, width, "Job ticket of "+t.Made.Format("2 January 2006, 15:04")+" UTC", 1) + 1.5
}

// shortened cuts a line that is too long.
func (p *page) shortened(s string, w float64) string {
	r := []rune(s)
	for len(r) > 1 && p.pdf.GetStringWidth(string(r)) > w {
		r = append(r[:len(r)-2], '…')
	}
	return string(r)
}

// pictures places the small pair.
func (p *page) pictures(t Ticket) error {
	room := (width - 5) / 2
	height := 0.0
	for i, c := range []struct {
		data    []byte
		caption string
	}{{t.Original, "Original"}, {t.Proof, "Proof on " + t.Paper.Name}} {
		if len(c.data) == 0 {
			continue
		}
		plain, kind, err := handout.Plain(c.data)
		if err != nil {
			return fmt.Errorf("ticket: %s: %w", strings.ToLower(c.caption), err)
		}
		name := fmt.Sprint("picture", i)
		info := p.pdf.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: kind}, bytes.NewReader(plain))
		if err := p.pdf.Error(); err != nil {
			return fmt.Errorf("ticket: %w", err)
		}
		f := min(room/info.Width(), pairMM/info.Height())
		x := margin + float64(i)*(room+5)
		p.font("", bodySize)
		p.text(x, p.y, room, c.caption, 1)
		p.pdf.ImageOptions(name, x, p.y+line+0.5, info.Width()*f, info.Height()*f, false, fpdf.ImageOptions{}, 0, "")
		height = max(height, info.Height()*f+line+3)
	}
	p.y += height
	return nil
}

// facts writes what was chosen, two columns of names and values.
func (p *page) facts(t Ticket) {
	j := t.Job
	bpc := "off"
	if j.Setup.BPC {
		bpc = "on"
	}
	if j.Setup.Intent == proof.AbsoluteColorimetric {
		bpc = "none (absolute)"
	}
	who := "converted here; colour handling off behind it"
	if j.Converts == printfile.Later {
		who = "tagged only; the next program or the driver converts once"
	}
	sharpened := "off"
	if j.Sharpen.On {
		sharpened = "for " + finish(j.Sharpen.Finish)
	}
	sheet := "none"
	if !j.Sheet.None() {
		sheet = j.Sheet.Name
	}
	hash := t.Picture.SHA256
	if len(hash) > 16 {
		hash = hash[:16] + "…"
	}
	rows := [][2]string{
		{"Picture", fmt.Sprintf("%d x %d pixels, %s (%s)", t.Picture.W, t.Picture.H, t.Picture.Source, t.Picture.Origin)},
		{"SHA-256", hash},
		{"Paper", t.Paper.Name},
		{"Profile", t.Paper.Profile},
		{"Profile ID", t.Paper.ProfileID},
		{"Printer", t.Paper.Printer},
		{"Intent", j.Setup.Intent.String() + ", compensation " + bpc},
		{"Who converts", who},
		{"Print file", fmt.Sprintf("%s, %d x %d pixels, tagged %s", t.File.Name, t.File.W, t.File.H, t.File.Profile)},
		{"Size", fmt.Sprintf("%.1f x %.1f mm, sheet %s", t.File.WidthMM, t.File.HeightMM, sheet)},
		{"Resolution", fmt.Sprintf("%.0f ppi; the picture’s own pixels: %.0f ppi", t.File.PPI, t.File.TruePPI)},
		{"Sharpening", sharpened},
	}
	for _, s := range t.Route {
		rows = append(rows, [2]string{"Route", s.Title + ": " + s.Detail + fault(s)})
	}
	const name = 27.0
	before := ""
	for _, r := range rows {
		if strings.TrimSpace(r[1]) == "" {
			continue
		}
		if r[0] != before {
			p.font("B", bodySize)
			p.text(margin, p.y, name, r[0], 1)
		}
		before = r[0]
		p.font("", bodySize)
		p.y += p.text(margin+name, p.y, width-name, r[1], 2)
	}
	p.y += 1.5
}

func fault(s Station) string {
	if s.Why == "" {
		return ""
	}
	return " (" + s.Why + ")"
}

func finish(f printfile.Finish) string {
	if f == printfile.FinishOfPaper {
		return "pearl (assumed)"
	}
	return f.String()
}

// list writes sentences under a heading.
func (p *page) list(heading string, sentences []string, most int) {
	if len(sentences) == 0 {
		return
	}
	p.font("B", bodySize)
	p.y += p.text(margin, p.y, width, heading, 1)
	p.font("", bodySize)
	for i, s := range sentences {
		if i == most || p.y > lowest-2*line {
			p.y += p.text(margin, p.y, width, fmt.Sprintf("and %d more, in the ticket’s file", len(sentences)-i), 1)
			break
		}
		p.y += p.text(margin, p.y, width, s, 2)
	}
	p.y += 1.5
}

// pins writes as many pins as there is room for.
func (p *page) pins(pins []Pin) {
	if len(pins) == 0 {
		return
	}
	p.font("B", bodySize)
	cells := func(a, b, c, d, e string) {
		x := margin
		for i, s := range []string{a, b, c, d, e} {
			w := []float64{30, 32, 32, 14, width - 108}[i]
			p.text(x, p.y, w-2, s, 1)
			x += w
		}
		p.y += line
	}
	cells("Pin", "Original L*, a*, b*", "Print", "ΔE00", "In words")
	p.font("", bodySize)
	for i, q := range pins {
		if i == mostPins || p.y > lowest {
			p.y += p.text(margin, p.y, width, fmt.Sprintf("and %d more", len(pins)-i), 1)
			break
		}
		cells(q.Name, triple(q.Original), triple(q.Print), fmt.Sprintf("%.1f", q.DeltaE00), q.Words)
	}
	p.y += 1.5
}

func triple(v [3]float64) string { return fmt.Sprintf("%.0f, %.0f, %.0f", v[0]+0, v[1]+0, v[2]+0) }

// outcome writes what was noted, or room to note it by hand, and the foot.
func (p *page) outcome(t Ticket) {
	p.font("B", bodySize)
	p.y += p.text(margin, p.y, width, "The finished print", 1)
	p.font("", bodySize)
	o := t.Outcome
	blank := func(s string) string {
		if s == "" {
			return "________________"
		}
		return s
	}
	p.y += p.text(margin, p.y, width, "Judged on "+blank(o.Judged)+"   in the light of "+blank(o.Light)+"   verdict (good, usable, bad) "+blank(string(o.Verdict)), 2) + 1
	if o.Notes != "" {
		p.y += p.text(margin, p.y, width, o.Notes, noteLines)
	}
	p.pdf.SetDrawColor(150, 150, 150)
	p.pdf.SetLineWidth(0.2)
	foot := pageH - margin
	for p.y += 1.6 * line; p.y < foot-line; p.y += 1.6 * line {
		p.pdf.Line(margin, p.y, margin+width, p.y)
	}
	p.font("", bodySize-1)
	p.text(margin, foot-line*0.4, width, caution, 2)
}
