package printfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const (
	mmPerInch = 25.4
	maxLength = 100_000 // mm; a roll has some tens of metres
)

// ParseLength reads a length such as 400mm, 40cm, 15.75in or 400, which is
// millimetres. The result is in millimetres, above 0.
func ParseLength(s string) (mm float64, err error) {
	text, unit := strings.TrimSpace(s), 1.0
	for _, u := range []struct {
		name string
		mm   float64
	}{{"mm", 1}, {"cm", 10}, {"in", mmPerInch}, {"″", mmPerInch}, {"\"", mmPerInch}, {"m", 1000}} {
		if number, ok := strings.CutSuffix(text, u.name); ok {
			text, unit = strings.TrimSpace(number), u.mm
			break
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v > 0) || v*unit > maxLength {
		return 0, fmt.Errorf("printfile: %q is no length such as 400mm, 40cm or 15.75in", s)
	}
	return v * unit, nil
}

// Sheet is the paper that a print lies on. The zero value stands for none: the file
// alone is laid out.
type Sheet struct {
	// Name says which, in words; it decides nothing.
	Name string `json:"name,omitempty"`
	// W and H are the upright sheet's width and height in millimetres; H is 0 for
	// a roll, which is cut behind the print.
	W float64 `json:"width_mm"`
	H float64 `json:"height_mm"`
	// Margins that the printer leaves white or the person wants white, in millimetres.
	Margins Margins `json:"margins_mm"`
	// Feed says how the sheet lies to the picture.
	Feed Feed `json:"feed"`
}

// Margins are those of the sheet as it lies to the picture.
type Margins struct {
	Left   float64 `json:"left"`
	Top    float64 `json:"top"`
	Right  float64 `json:"right"`
	Bottom float64 `json:"bottom"`
}

// Even returns the same margin at all edges.
func Even(mm float64) Margins { return Margins{mm, mm, mm, mm} }

// Feed says how a sheet lies to the picture.
type Feed uint8

// The three ways.
const (
	FeedFollows Feed = iota // the sheet is turned as the picture is, a roll to use least of it
	FeedUpright             // as the sheet is named: narrow edge on top
	FeedAcross              // turned by a quarter
)

var feeds = []string{"follows", "upright", "across"}

func (f Feed) String() string { return word(feeds, int(f)) }

// MarshalText writes the word.
func (f Feed) MarshalText() ([]byte, error) { return marshal(feeds, int(f), "feed") }

// UnmarshalText reads the word.
func (f *Feed) UnmarshalText(b []byte) error { return unmarshal(feeds, f, b, "feed") }

// Roll reports whether the sheet is cut from a roll.
func (s Sheet) Roll() bool { return s.W > 0 && s.H == 0 }

// None reports whether no sheet was named.
func (s Sheet) None() bool { return s.W == 0 && s.H == 0 }

// Sheets lists the sizes that are known by name, without margins.
//
// A and B sizes are those of ISO 216: A0 841 x 1189 and B0 1000 x 1414, each next one
// half of the one before, rounded down. A3+ has no standard; 329 x 483 mm is what the
// trade sells. US sizes are multiples of the inch. Widths of rolls: common practice, no source.
func Sheets() []Sheet {
	var list []Sheet
	for _, series := range []struct {
		letter string
		w, h   int
	}{{"A", 841, 1189}, {"B", 1000, 1414}} {
		w, h := series.w, series.h
		for n := range 7 {
			list = append(list, Sheet{Name: fmt.Sprintf("%s%d", series.letter, n), W: float64(w), H: float64(h)})
			w, h = h/2, w
		}
	}
	list = append(list, Sheet{Name: "A3+", W: 329, H: 483})
	for _, us := range []struct {
		name string
		w, h float64
	}{{"Letter", 8.5, 11}, {"Legal", 8.5, 14}, {"Tabloid", 11, 17}, {"4x6in", 4, 6}, {"5x7in", 5, 7}, {"8x10in", 8, 10},
		{"11x14in", 11, 14}, {"13x19in", 13, 19}, {"16x20in", 16, 20}, {"17x22in", 17, 22}, {"20x24in", 20, 24}, {"24x36in", 24, 36}} {
		list = append(list, Sheet{Name: us.name, W: us.w * mmPerInch, H: us.h * mmPerInch})
	}
	for _, inches := range []float64{8, 13, 16, 17, 24, 36, 44, 60} {
		list = append(list, Sheet{Name: fmt.Sprintf("roll %gin", inches), W: inches * mmPerInch})
	}
	return list
}

// ParseSheet finds a sheet by its name, or reads one such as 300x400mm, 12x16in, or
// roll 610mm.
func ParseSheet(s string) (Sheet, error) {
	text := strings.ToLower(strings.Join(strings.Fields(s), " "))
	for _, k := range Sheets() {
		if strings.ToLower(k.Name) == text {
			return k, nil
		}
	}
	wrong := fmt.Errorf("printfile: %q is no sheet such as A3, A3+, Letter, 300x400mm or roll 610mm", s)
	if width, ok := strings.CutPrefix(text, "roll "); ok {
		w, err := ParseLength(width)
		if err != nil {
			return Sheet{}, wrong
		}
		return Sheet{Name: s, W: w}, nil
	}
	a, b, ok := strings.Cut(text, "x")
	if !ok {
		return Sheet{}, wrong
	}
	// The unit stands once, behind both.
	unit := strings.TrimLeft(b, "0123456789. ")
	h, err := ParseLength(b)
	if err != nil {
		return Sheet{}, wrong
	}
	if strings.TrimLeft(a, "0123456789. ") == "" {
		a += unit
	}
	w, err := ParseLength(a)
	if err != nil {
		return Sheet{}, wrong
	}
	return Sheet{Name: s, W: w, H: h}, nil
}

// pixels returns millimetres in pixels, at least 1.
func pixels(mm, ppi float64) int { return max(1, int(math.Round(mm/mmPerInch*ppi))) }
