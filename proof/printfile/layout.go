package printfile

import (
	"fmt"
	"image"
	"math"
)

// Rect is a rectangle in millimetres, X to the right and Y down.
type Rect struct{ X, Y, W, H float64 }

// Layout is where a print lies and how large it is. It holds all that is needed to
// draw it to scale.
type Layout struct {
	// Sheet is the paper, with its corner at 0, 0, as it lies to the picture; a roll
	// as long as the print needs. Without a sheet it is the file.
	Sheet Rect
	// Inside is what the margins leave.
	Inside Rect
	// File is what the file covers: the picture with its border.
	File Rect
	// Picture is the picture.
	Picture Rect
	// Across says that the sheet lies turned by a quarter.
	Across bool

	// Crop is the part of the turned picture that is printed, in its pixels; Chosen is
	// the same before the sheet's shape cut it, Whole the turned picture.
	Crop, Chosen, Whole image.Rectangle
	// W and H are the printed picture's size in pixels of the file, FileW and FileH the
	// file's, and Inset where the picture begins in it.
	W, H, FileW, FileH int
	Inset              image.Point
	// PPI is the file's resolution. TruePPI is how many of the picture's own pixels
	// come to an inch of the print: what there is to see.
	PPI, TruePPI float64

	// Distance is from where the print is looked at, in millimetres: as chosen, else one
	// and a half times its diagonal (common practice, no source), between 300 and 2000.
	Distance float64
	// Suits is the distance in millimetres from which on single pixels of TruePPI are
	// not seen: where they are one minute of arc wide, a common measure of sharp eyes.
	Suits float64

	// Warnings are about size and place alone; [Print.Warnings] has all.
	Warnings []Warning
}

// Resolutions of the picture's own pixels on paper, in ppi. Common practice, no source.
const (
	// LeastPPI is the floor of the trade for prints that are looked at from near.
	LeastPPI = 180
	// FinePPI is from where on a print is hard to tell from a finer one without a glass.
	FinePPI = 240
)

// arcMinute is one minute of arc as a ratio of width to distance.
var arcMinute = math.Tan(math.Pi / 180 / 60)

// PPIFor returns the resolution whose pixels are one minute of arc wide from a
// distance in millimetres: 291 ppi from 300 mm.
func PPIFor(distance float64) float64 { return mmPerInch / (distance * arcMinute) }

// Kind says what a [Warning] is about.
type Kind uint8

// The warnings.
const (
	TooCoarse        Kind = iota + 1 // fewer pixels an inch than the trade's least
	Coarse                           // fewer than prints for close viewing have
	Outside                          // the print does not fit the sheet
	Cropped                          // a good part of the picture is cut off
	TwoConversions                   // colour would be converted twice
	NoConversion                     // nobody would convert
	DriverNotSaid                    // what the driver must be set to
	AlreadyConverted                 // the picture holds a paper's numbers
	SourceAssumed                    // the file does not say what its numbers mean
	WideIn8Bits                      // eight bits are few for a wide space
	NotSharpened                     // sharpening was asked for and cannot be done
	FinishAssumed                    // nobody has said what surface the paper has
	LeftOut                          // something of the file was not taken over
	PlanNote                         // an assumption of the conversion
)

// Warning is something to know before ink is spent.
type Warning struct {
	Kind     Kind
	Sentence string
}

func warning(k Kind, format string, args ...any) Warning {
	return Warning{k, fmt.Sprintf(format, args...)}
}

// Grave reports whether the print would come out wrong.
func (w Warning) Grave() bool {
	switch w.Kind {
	case TooCoarse, Outside, TwoConversions, NoConversion, AlreadyConverted:
		return true
	}
	return false
}

// Lay lays a picture of w by h pixels out, as it is before the job turns it. Errors
// are *[Error].
func Lay(j Job, w, h int) (Layout, error) {
	if err := j.Check(); err != nil {
		return Layout{}, err
	}
	if w <= 0 || h <= 0 {
		return Layout{}, wrong("a picture of %d by %d pixels", w, h)
	}
	if j.Turn%2 == 1 {
		w, h = h, w
	}
	l := Layout{Crop: cropped(j.Crop.whole(), w, h), Whole: image.Rect(0, 0, w, h)}
	l.Chosen = l.Crop
	l.turnSheet(j)
	if j.Size.By == FillSheet {
		room := l.room(j)
		if room.W <= 0 || room.H <= 0 {
			return l, wrong("margins and border leave no room on the sheet")
		}
		l.Crop = shaped(l.Crop, room.W/room.H, j.KeepX, j.KeepY)
	}
	if err := l.size(j); err != nil {
		return l, err
	}
	l.place(j)
	l.see(j)
	l.warn(j)
	return l, nil
}

// cropped returns a crop in pixels, at least one.
func cropped(c Crop, w, h int) image.Rectangle {
	x0, x1 := edge(c.X, c.X+c.W, w)
	y0, y1 := edge(c.Y, c.Y+c.H, h)
	return image.Rect(x0, y0, x1, y1)
}

func edge(from, to float64, n int) (lo, hi int) {
	lo = min(max(int(math.Round(from*float64(n))), 0), n-1)
	return lo, max(min(int(math.Round(to*float64(n))), n), lo+1)
}

// shaped returns the largest part of r that has the given ratio of width to height;
// keepX and keepY say where it lies, as in [Job].
func shaped(r image.Rectangle, ratio, keepX, keepY float64) image.Rectangle {
	w, h := float64(r.Dx()), float64(r.Dy())
	if w/h > ratio {
		w = max(1, math.Round(h*ratio))
	} else {
		h = max(1, math.Round(w/ratio))
	}
	at := func(room int, keep float64) int { return int(float64(room) * (1 + keep) / 2) }
	x, y := r.Min.X+at(r.Dx()-int(w), keepX), r.Min.Y+at(r.Dy()-int(h), keepY)
	return image.Rect(x, y, x+int(w), y+int(h))
}

// turnSheet finds how the sheet lies. A roll that follows is decided by size.
func (l *Layout) turnSheet(j Job) {
	s := j.Sheet
	wide := l.Crop.Dx() > l.Crop.Dy()
	if s.None() {
		return
	}
	l.Across = s.Feed == FeedAcross || s.Feed == FeedFollows && !s.Roll() && wide != (s.W > s.H)
	l.Sheet = Rect{W: s.W, H: s.H}
	if l.Across {
		l.Sheet.W, l.Sheet.H = s.H, s.W
	}
}

// room is what margins and border leave for the picture; 0 along a roll.
func (l *Layout) room(j Job) Rect {
	m, b := j.Sheet.Margins, j.Border
	return Rect{W: max(0, l.Sheet.W-m.Left-m.Right-2*b), H: max(0, l.Sheet.H-m.Top-m.Bottom-2*b)}
}

// size finds how large the picture is, in millimetres and pixels.
func (l *Layout) size(j Job) error {
	w, h := float64(l.Crop.Dx()), float64(l.Crop.Dy())
	var scale float64 // millimetres a pixel of the picture
	switch j.Size.By {
	case LongEdge:
		scale = j.Size.Length / max(w, h)
	case ShortEdge:
		scale = j.Size.Length / min(w, h)
	case OwnPixels:
		scale = mmPerInch / j.PPI
	default:
		room := l.room(j)
		scale = min(room.W/w, room.H/h)
		if j.Sheet.Roll() {
			scale = max(room.W/w, room.H/h) // the one that is not 0
		}
		if !(scale > 0) {
			return wrong("margins and border leave no room on the sheet")
		}
	}
	l.Picture = Rect{W: w * scale, H: h * scale}
	if j.Size.By == FillSheet {
		l.Picture = l.room(j) // the crop's shape is that but for less than a pixel
	}
	l.TruePPI = mmPerInch / scale
	l.PPI = j.PPI
	if l.PPI == 0 || j.Size.By == OwnPixels {
		l.PPI = l.TruePPI
		l.W, l.H = l.Crop.Dx(), l.Crop.Dy()
	} else {
		l.W, l.H = pixels(l.Picture.W, l.PPI), pixels(l.Picture.H, l.PPI)
	}
	border := 0
	if j.Border > 0 {
		border = pixels(j.Border, l.PPI)
	}
	l.FileW, l.FileH, l.Inset = l.W+2*border, l.H+2*border, image.Pt(border, border)
	if float64(l.FileW)*float64(l.FileH) > MaxPixels {
		return wrong("a file of %d by %d pixels; at most %d million are written", l.FileW, l.FileH, MaxPixels/1_000_000)
	}
	return nil
}

// place puts the file on the sheet.
func (l *Layout) place(j Job) {
	l.File = Rect{W: l.Picture.W + 2*j.Border, H: l.Picture.H + 2*j.Border}
	m := j.Sheet.Margins
	switch {
	case j.Sheet.None():
		l.Sheet, m = l.File, Margins{}
	case j.Sheet.Roll():
		l.cutRoll(j)
	}
	l.Inside = Rect{m.Left, m.Top, l.Sheet.W - m.Left - m.Right, l.Sheet.H - m.Top - m.Bottom}
	l.File.X = l.Inside.X + (l.Inside.W-l.File.W)/2 + j.ShiftX
	l.File.Y = l.Inside.Y + (l.Inside.H-l.File.H)/2 + j.ShiftY
	l.Picture.X, l.Picture.Y = l.File.X+j.Border, l.File.Y+j.Border
}

// cutRoll finds the length of roll that the print takes, and turns a roll that
// follows the picture so that it is the least.
func (l *Layout) cutRoll(j Job) {
	m, width := j.Sheet.Margins, j.Sheet.W
	across := l.Across
	if j.Sheet.Feed == FeedFollows {
		fits := l.File.H+m.Top+m.Bottom <= width
		across = fits && l.File.H > l.File.W
		if l.File.W+m.Left+m.Right > width {
			across = fits
		}
		if j.Size.By == FitSheet {
			across = false // it was made as wide as the roll
		}
	}
	l.Across = across
	if across {
		l.Sheet = Rect{W: l.File.W + m.Left + m.Right, H: width}
	} else {
		l.Sheet = Rect{W: width, H: l.File.H + m.Top + m.Bottom}
	}
}

// see finds the distances.
func (l *Layout) see(j Job) {
	l.Distance = j.Distance
	if l.Distance == 0 {
		l.Distance = min(max(1.5*math.Hypot(l.Picture.W, l.Picture.H), 300), 2000)
	}
	l.Suits = mmPerInch / (l.TruePPI * arcMinute)
}

// cropTold is the share of the picture from which on its loss is said.
const cropTold = 0.02

func (l *Layout) warn(j Job) {
	add := func(k Kind, format string, args ...any) { l.Warnings = append(l.Warnings, warning(k, format, args...)) }
	// Who has said to stand far away needs no more than is seen from there.
	least, fine := float64(LeastPPI), float64(FinePPI)
	if j.Distance > 0 {
		least, fine = min(least, PPIFor(j.Distance)), min(fine, PPIFor(j.Distance))
	}
	switch {
	case l.TruePPI < least:
		add(TooCoarse, "The picture has %.0f of its own pixels an inch at this size; below %.0f a print looks soft from near. It suits a distance of %s and more.",
			l.TruePPI, least, distance(l.Suits))
	case l.TruePPI < fine:
		add(Coarse, "The picture has %.0f of its own pixels an inch at this size; prints for close viewing have %.0f and more.", l.TruePPI, fine)
	}
	const slack = 0.05 // mm: rounding, not a mistake
	if f, in := l.File, l.Inside; f.X < in.X-slack || f.Y < in.Y-slack || f.X+f.W > in.X+in.W+slack || f.Y+f.H > in.Y+in.H+slack {
		add(Outside, "The print of %s does not lie inside the margins, which leave %s: the printer would cut it off or shrink it.", size(f), size(in))
	}
	if lost := 1 - float64(l.Crop.Dx())*float64(l.Crop.Dy())/(float64(l.Chosen.Dx())*float64(l.Chosen.Dy())); lost > cropTold {
		add(Cropped, "The sheet's shape cuts %.0f %% of the picture off.", lost*100)
	}
}

func size(r Rect) string { return fmt.Sprintf("%.0f by %.0f mm", r.W, r.H) }

// distance says millimetres in words.
func distance(mm float64) string {
	if mm < 1000 {
		return fmt.Sprintf("%.0f cm", mm/10)
	}
	return fmt.Sprintf("%.1f m", mm/1000)
}
