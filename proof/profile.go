package proof

import (
	"encoding/hex"
	"errors"
	"fmt"
	"sync"

	"firstsheet/proof/cie"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/space"
)

// Profile is an ICC profile or a built-in space. It never changes and may be
// shared freely; two with one ID are the same.
type Profile struct {
	name string
	id   func() string // a digest of the file, which is made when it is asked for
	file *icc.Profile  // nil for a built-in space
	rgb  space.Space
}

// NewProfile checks the bytes of an ICC profile. name is shown to people; when it
// is "" the profile's own description is used. The error is a *ProfileError.
func NewProfile(name string, data []byte) (*Profile, error) {
	file, err := icc.Parse(data)
	if err != nil {
		return nil, &ProfileError{"read", name, Damaged, err}
	}
	if name == "" {
		name = file.Description()
	}
	if name == "" {
		name = "profile without a name"
	}
	if file.Channels() == 0 || file.Channels() > lcms.MaxChannels {
		return nil, &ProfileError{"read", name, WrongClass, fmt.Errorf("its colour space is %q, not a device's", string(file.Space))}
	}
	id := sync.OnceValue(func() string {
		digest := file.ID()
		return hex.EncodeToString(digest[:])
	})
	return &Profile{name: name, id: id, file: file}, nil
}

// SpaceProfile returns a built-in space as a profile.
func SpaceProfile(s space.Space) *Profile {
	return &Profile{name: s.Name, id: sync.OnceValue(func() string { return fmt.Sprint(s) }), rgb: s}
}

// Named returns the same profile under another name.
func (p *Profile) Named(name string) *Profile {
	q := *p
	q.name = name
	return &q
}

// Name returns what people call the profile.
func (p *Profile) Name() string { return p.name }

// ID identifies the profile by its content.
func (p *Profile) ID() string { return p.id() }

// File returns the parsed profile, or nil for a built-in space.
func (p *Profile) File() *icc.Profile { return p.file }

// Space returns the built-in space, and whether the profile is one.
func (p *Profile) Space() (space.Space, bool) { return p.rgb, p.file == nil }

// Data returns the profile as the bytes of an ICC profile, to be embedded.
func (p *Profile) Data() []byte {
	if p.file != nil {
		return p.file.Data
	}
	return p.rgb.ICC()
}

// Channels returns how many numbers a colour has.
func (p *Profile) Channels() int {
	if p.file == nil {
		return 3
	}
	return p.file.Channels()
}

// ColorSpace returns the device colour space.
func (p *Profile) ColorSpace() icc.Signature {
	if p.file == nil {
		return icc.SpaceRGB
	}
	return p.file.Space
}

// Class returns the profile class; a built-in space counts as a display's.
func (p *Profile) Class() icc.Signature {
	if p.file == nil {
		return icc.ClassDisplay
	}
	return p.file.Class
}

// MediaWhite returns the media white point as D50 CIELAB, and whether the profile
// says one.
func (p *Profile) MediaWhite() (cie.Lab, bool) {
	if p.file == nil {
		return cie.Lab{}, false
	}
	w, ok := p.file.MediaWhite()
	return w.ToLab(cie.D50), ok
}

// Direction of a profile's tables.
type Direction uint8

// The two directions.
const (
	ToPCS   Direction = iota // A2B: what do these device numbers look like
	FromPCS                  // B2A: which device numbers give this colour
)

// Table returns the tag that serves an intent in a direction, and whether that is
// a stand-in: table 0 because the intent's own is missing. ok is false when the
// profile has no table in that direction at all and works by its matrix or curve.
func (p *Profile) Table(d Direction, i Intent) (tag icc.Signature, standIn, ok bool) {
	if p.file == nil {
		return "", false, false
	}
	number := min(i, Saturation)
	if i == AbsoluteColorimetric {
		number = RelativeColorimetric
	}
	stem := "A2B"
	if d == FromPCS {
		stem = "B2A"
	}
	tag = icc.Signature(fmt.Sprintf("%s%d", stem, number))
	if p.file.Has(tag) {
		return tag, false, true
	}
	tag = icc.Signature(stem + "0")
	return tag, number != 0, p.file.Has(tag)
}

// hasTables reports whether the profile tells the look of numbers by tables, which may
// differ from intent to intent, and not by a matrix or a curve.
func (p *Profile) hasTables() bool {
	if p.file == nil {
		return false
	}
	for _, stem := range []icc.Signature{"A2B", "D2B"} {
		for _, intent := range []icc.Signature{"0", "1", "2", "3"} {
			if p.file.Has(stem + intent) {
				return true
			}
		}
	}
	return false
}

// ForcesBPC reports whether Little CMS compensates for the black point on the way
// into the profile whatever it is told: it does for a version 4 destination with
// the perceptual and saturation intents.
func (p *Profile) ForcesBPC(i Intent) bool {
	v4 := p.file == nil || p.file.Major >= 4
	return v4 && (i == Perceptual || i == Saturation)
}

var errNoTables = errors.New("it carries no table into the printer's numbers and none back")

// CheckPaper reports why the profile cannot serve as a paper: nil, or a
// *ProfileError. A paper is an output profile with tables, or a grey one's curve.
func (p *Profile) CheckPaper() error {
	const op = "use as a paper"
	if p.file == nil || p.file.Class != icc.ClassOutput {
		return &ProfileError{op, p.name, WrongClass, fmt.Errorf("it is %s, and a paper needs an output profile", p.Class().ClassName())}
	}
	if err := p.checkWhite(op); err != nil {
		return err
	}
	if p.file.Space == icc.SpaceGray && p.file.Has("kTRC") {
		return nil
	}
	_, _, to := p.Table(ToPCS, RelativeColorimetric)
	_, _, from := p.Table(FromPCS, RelativeColorimetric)
	if !to || !from {
		return &ProfileError{op, p.name, NoTable, errNoTables}
	}
	return nil
}

// CheckSource reports why the profile cannot say what a picture's numbers mean.
func (p *Profile) CheckSource() error {
	const op = "use as the picture's space"
	if err := p.refuseClasses(op, icc.ClassLink, icc.ClassAbstract, icc.ClassNamedColor); err != nil {
		return err
	}
	return p.checkWhite(op)
}

// TrySource is [Profile.CheckSource], and it has a few colours computed besides: a profile
// may look sound and be refused by Little CMS, or give numbers that are none.
func (p *Profile) TrySource() error {
	if err := p.CheckSource(); err != nil {
		return err
	}
	c, err := newCore(Plan{Source: p, Screen: SpaceProfile(space.SRGB())})
	if err != nil {
		return err
	}
	c.release()
	return nil
}

// checkWhite reports a media white point that would spoil every absolute look.
func (p *Profile) checkWhite(op string) error {
	if p.file == nil {
		return nil
	}
	if err := p.file.CheckWhite(); err != nil {
		return &ProfileError{op, p.name, Damaged, err}
	}
	return nil
}

// CheckScreen reports why the profile cannot stand for the screen.
func (p *Profile) CheckScreen() error {
	const op = "use as the screen's profile"
	if err := p.refuseClasses(op, icc.ClassLink, icc.ClassAbstract, icc.ClassNamedColor, icc.ClassOutput, icc.ClassInput); err != nil {
		return err
	}
	if p.Channels() != 3 {
		return &ProfileError{op, p.name, WrongChannels, fmt.Errorf("it has %d channels, a screen has 3", p.Channels())}
	}
	return p.checkWhite(op)
}

func (p *Profile) refuseClasses(op string, classes ...icc.Signature) error {
	for _, c := range classes {
		if p.Class() == c {
			return &ProfileError{op, p.name, WrongClass, fmt.Errorf("it is %s", c.ClassName())}
		}
	}
	return nil
}

// open opens the profile in a context.
func (p *Profile) open(c *lcms.Context) (*lcms.Profile, error) {
	if p.file == nil {
		return c.RGB(p.rgb)
	}
	h, err := c.Open(p.file.Data)
	if err != nil {
		return nil, &ProfileError{"open", p.name, Damaged, err}
	}
	return h, nil
}
