package printfile

import (
	"fmt"
	"math"

	"firstsheet/proof/photo"
	"firstsheet/proof/setup"
)

// Job is every choice that a print file is made by. It is comparable: equal jobs make
// equal files of one picture.
type Job struct {
	// Setup says what the picture's numbers are, the paper, intent and
	// compensation. It must be without slips.
	Setup setup.Setup `json:"setup"`
	// Converts says who converts to the paper's numbers, and Driver what the printer's
	// driver is set to, as far as that is known.
	Converts Converter `json:"converts"`
	Driver   Driver    `json:"driver"`

	Size  Size  `json:"size"`
	Sheet Sheet `json:"sheet"`
	// ShiftX and ShiftY move the print from the middle of the sheet's margins, to the
	// right and down, in millimetres.
	ShiftX float64 `json:"shift_x_mm"`
	ShiftY float64 `json:"shift_y_mm"`
	// PPI is the file's resolution in pixels an inch; 0 keeps the picture's own pixels,
	// whatever resolution that gives.
	PPI float64 `json:"ppi"`
	// Border is bare paper around the picture that is part of the file, in millimetres.
	Border float64 `json:"border_mm"`
	// Turn is how many quarter turns clockwise the picture gets, 0 to 3; all else is
	// told of the turned picture.
	Turn uint8 `json:"quarter_turns"`
	// Crop is the part that is printed.
	Crop Crop `json:"crop"`
	// KeepX and KeepY say which part stays where the sheet's shape cuts the picture: -1
	// its left or upper edge, 0 the middle, 1 its right or lower edge.
	KeepX float64 `json:"keep_x"`
	KeepY float64 `json:"keep_y"`

	Sharpen Sharpen `json:"sharpen"`
	// Distance is from where the print is looked at, in millimetres; 0 for the usual
	// one, see [Layout.Distance].
	Distance float64 `json:"viewing_distance_mm"`

	// Depth is 8 or 16 bits; 0 takes 16 where the format has them.
	Depth int `json:"bits"`
	// Plain rounds 8 bits instead of dithering them.
	Plain bool `json:"plain_rounding"`
	// Quality is that of a JPEG, 1 to 100; 0 for 98.
	Quality int `json:"jpeg_quality"`
	// Packing is that of a TIFF.
	Packing photo.Packing `json:"tiff_packing"`
	// Metadata says what of the picture's camera data goes along.
	Metadata photo.Keeping `json:"metadata"`
}

// Usual returns the job that everything starts with: converted here, 16 bits, 300 ppi
// (common practice for close viewing), sharpened for the paper.
func Usual(s setup.Setup) Job {
	return Job{Setup: s, PPI: 300, Sharpen: Sharpen{On: true}}
}

// Converter is who turns the picture's numbers into the paper's.
type Converter uint8

// The two right ways: one conversion in all.
const (
	Here  Converter = iota // this program; the driver's colour handling must be off
	Later                  // the next program or the driver, once; the file stays in its space
)

var converters = []string{"here", "later"}

func (c Converter) String() string { return word(converters, int(c)) }

// MarshalText writes the word.
func (c Converter) MarshalText() ([]byte, error) { return marshal(converters, int(c), "converter") }

// UnmarshalText reads the word.
func (c *Converter) UnmarshalText(b []byte) error {
	return unmarshal(converters, c, b, "converter")
}

// Driver is what happens to colour behind this program, in the next program and the
// printer's driver together.
type Driver uint8

// What is known of it.
const (
	DriverUnknown  Driver = iota // nobody has said
	DriverOff                    // colour handling off all along: numbers are sent as they are
	DriverConverts               // one of them converts to the paper
)

var drivers = []string{"unknown", "off", "converts"}

func (d Driver) String() string { return word(drivers, int(d)) }

// MarshalText writes the word.
func (d Driver) MarshalText() ([]byte, error) { return marshal(drivers, int(d), "driver setting") }

// UnmarshalText reads the word.
func (d *Driver) UnmarshalText(b []byte) error { return unmarshal(drivers, d, b, "driver setting") }

// SizeBy says which measure is given.
type SizeBy uint8

// The ways to say how large a print is.
const (
	FitSheet  SizeBy = iota // as large as the sheet's margins let
	FillSheet               // the same, cropped to the shape inside the margins
	LongEdge                // the picture's longer edge is Length
	ShortEdge               // its shorter edge is
	OwnPixels               // the picture's own pixels at PPI
)

var sizes = []string{"fit sheet", "fill sheet", "long edge", "short edge", "own pixels"}

func (s SizeBy) String() string { return word(sizes, int(s)) }

// MarshalText writes the word.
func (s SizeBy) MarshalText() ([]byte, error) { return marshal(sizes, int(s), "size") }

// UnmarshalText reads the word.
func (s *SizeBy) UnmarshalText(b []byte) error { return unmarshal(sizes, s, b, "size") }

// Size is how large the picture is printed, without its border.
type Size struct {
	By SizeBy `json:"by"`
	// Length is in millimetres, for [LongEdge] and [ShortEdge].
	Length float64 `json:"length_mm,omitempty"`
}

// Crop is a part of the picture in fractions of its width and height, from the left
// and the top. The zero value is the whole.
type Crop struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	W float64 `json:"w"`
	H float64 `json:"h"`
}

// whole returns the crop with the zero value spelt out.
func (c Crop) whole() Crop {
	if c == (Crop{}) {
		return Crop{0, 0, 1, 1}
	}
	return c
}

// Finish is a paper's surface, as far as sharpening cares.
type Finish uint8

// The finishes.
const (
	FinishOfPaper Finish = iota // what the paper's card says
	Matte
	Pearl
	Gloss
)

var finishes = []string{"of the paper", "matte", "pearl", "gloss"}

func (f Finish) String() string { return word(finishes, int(f)) }

// MarshalText writes the word.
func (f Finish) MarshalText() ([]byte, error) { return marshal(finishes, int(f), "finish") }

// UnmarshalText reads the word.
func (f *Finish) UnmarshalText(b []byte) error { return unmarshal(finishes, f, b, "finish") }

// Sharpen is output sharpening: it gives back what ink and eye take.
type Sharpen struct {
	On     bool   `json:"on"`
	Finish Finish `json:"finish"`
	// More multiplies the usual strength; 0 stands for 1. At most [MaxMore].
	More float64 `json:"strength,omitempty"`
}

// Limits of a job. They stand far above what is printed.
const (
	MinPPI  = 20
	MaxPPI  = 2880 // the finest raster of inkjet drivers
	MaxMore = 3
	// MaxPixels of a file: a roll of 1.1 by 4.5 metres at 360 ppi. TIFF ends at 4 GB.
	MaxPixels = 1_000_000_000
)

// Error says which choice of a job cannot be.
type Error struct{ Reason string }

func (e *Error) Error() string { return "printfile: " + e.Reason }

func wrong(format string, args ...any) error { return &Error{fmt.Sprintf(format, args...)} }

// Check reports what of the job cannot be whatever the picture: nil or an *[Error].
func (j Job) Check() error {
	in := func(v, low, high float64) bool { return v >= low && v <= high } // false for NaN
	c, m := j.Crop.whole(), j.Sheet.Margins
	switch {
	case j.Setup.Wrong():
		return wrong("a print file is made without mistakes, and this set-up has one")
	case j.Setup.Paper == "":
		return wrong("no paper is chosen")
	case j.PPI != 0 && !in(j.PPI, MinPPI, MaxPPI):
		return wrong("%g ppi; it must be %d to %d", j.PPI, MinPPI, MaxPPI)
	case (j.Size.By == LongEdge || j.Size.By == ShortEdge) && !in(j.Size.Length, 1, maxLength):
		return wrong("a picture %g mm large; it must be 1 mm to 100 m", j.Size.Length)
	case j.Size.By > OwnPixels:
		return wrong("size %d", j.Size.By)
	case j.Size.By == OwnPixels && j.PPI == 0:
		return wrong("the picture's own pixels need a resolution to have a size")
	case (j.Size.By == FitSheet || j.Size.By == FillSheet) && j.Sheet.None():
		return wrong("no size and no sheet are chosen")
	case j.Size.By == FillSheet && j.Sheet.Roll():
		return wrong("a roll has no shape that could be filled")
	case !j.Sheet.None() && !(in(j.Sheet.W, 20, maxLength) && (j.Sheet.H == 0 || in(j.Sheet.H, 20, maxLength))):
		return wrong("a sheet of %g by %g mm", j.Sheet.W, j.Sheet.H)
	case !in(m.Left, 0, maxLength) || !in(m.Right, 0, maxLength) || !in(m.Top, 0, maxLength) || !in(m.Bottom, 0, maxLength):
		return wrong("margins of %g, %g, %g and %g mm", m.Left, m.Top, m.Right, m.Bottom)
	case !in(j.Border, 0, 1000):
		return wrong("a border of %g mm", j.Border)
	case math.IsNaN(j.ShiftX+j.ShiftY) || math.IsInf(j.ShiftX+j.ShiftY, 0):
		return wrong("a shift of %g and %g mm", j.ShiftX, j.ShiftY)
	case j.Turn > 3:
		return wrong("%d quarter turns; it must be 0 to 3", j.Turn)
	case !(in(c.X, 0, 1) && in(c.Y, 0, 1) && c.W > 0 && c.H > 0 && c.X+c.W <= 1+1e-9 && c.Y+c.H <= 1+1e-9):
		return wrong("a crop of %g by %g at %g, %g, in fractions of the picture", c.W, c.H, c.X, c.Y)
	case !in(j.KeepX, -1, 1) || !in(j.KeepY, -1, 1):
		return wrong("what is kept lies at %g, %g; it must be -1 to 1", j.KeepX, j.KeepY)
	case j.Sharpen.Finish > Gloss || !in(j.Sharpen.More, 0, MaxMore):
		return wrong("sharpening by %g for finish %d", j.Sharpen.More, j.Sharpen.Finish)
	case j.Distance != 0 && !in(j.Distance, 50, 1e6):
		return wrong("a viewing distance of %g mm", j.Distance)
	case j.Depth != 0 && j.Depth != 8 && j.Depth != 16:
		return wrong("%d bits; it must be 8 or 16", j.Depth)
	case j.Quality < 0 || j.Quality > 100:
		return wrong("JPEG quality %d; it must be 1 to 100", j.Quality)
	case j.Converts > Later || j.Driver > DriverConverts || j.Sheet.Feed > FeedAcross || j.Packing > photo.LZW || j.Metadata > photo.KeepNothing:
		return wrong("a choice that this version does not know")
	}
	return nil
}
