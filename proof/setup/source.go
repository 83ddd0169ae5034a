package setup

import (
	"errors"
	"fmt"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/icc"
	"firstsheet/proof/lcms"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/space"
)

// Origin says how it is known what a picture's numbers are.
type Origin uint8

// The origins, the surest first.
const (
	Embedded Origin = iota // the file carries a profile
	Named                  // the file names a space
	Given                  // the person said so
	Assumed                // nobody said so
)

func (o Origin) String() string {
	switch o {
	case Embedded:
		return "embedded in the file"
	case Named:
		return "named in the file"
	case Given:
		return "given"
	case Assumed:
		return "assumed"
	}
	return fmt.Sprintf("Origin(%d)", uint8(o))
}

// Source is a picture together with what its numbers are.
type Source struct {
	// Picture has as many channels as Profile: grey numbers without a grey profile
	// are equal red, green and blue.
	Picture *photo.Picture
	Profile *proof.Profile
	Origin  Origin
	// Unused is a sentence on why the embedded profile is left aside, "" where it is not.
	Unused string
	// Notes are sentences on what was assumed or left aside.
	Notes []string
}

// SourceOf finds what a picture's numbers are: what was given, else its embedded
// profile where colours can be computed by it, else the space that the file names, else
// sRGB. given may be nil.
//
// A CMYK picture without a profile is refused with a *photo.Error: there is nothing
// sensible to assume. So is a given profile that does not fit the channels, with a
// *proof.ProfileError.
func SourceOf(pic *photo.Picture, given *proof.Profile) (Source, error) {
	s := Source{Picture: pic}
	if given != nil {
		s.Profile, s.Origin = given, Given
		return s.fit()
	}
	if pic.ICC != nil {
		p, err := proof.NewProfile("", pic.ICC)
		if err == nil {
			err = p.TrySource()
		}
		if err == nil {
			s.Profile, s.Origin = p, Embedded
			return s.fit()
		}
		s.Unused = fmt.Sprintf("The embedded colour profile is not used: %s.", plainly(err))
		s.Notes = append(s.Notes, s.Unused)
	}
	if pic.Channels >= 4 && s.Unused != "" {
		return s, &photo.Error{Path: pic.Path, Kind: photo.Unsupported,
			Err: fmt.Errorf("its ink numbers come with a profile that can't be used (%s); name the profile that they were made for", strings.TrimSuffix(s.Unused, "."))}
	}
	if pic.Channels >= 4 {
		return s, &photo.Error{Path: pic.Path, Kind: photo.Unsupported,
			Err: errors.New("its ink numbers come without a profile that tells for which paper or press they are; name the profile that they were made for")}
	}
	if pic.Space != nil {
		s.Profile, s.Origin = proof.SpaceProfile(*pic.Space), Named
	} else {
		s.Profile, s.Origin = proof.SpaceProfile(space.SRGB()), Assumed
		s.Notes = append(s.Notes, "The file does not say what its numbers mean: sRGB is assumed.")
	}
	return s.fit()
}

// plainly says why a profile is no good, without the packages' names.
func plainly(err error) string {
	if e, ok := errors.AsType[*lcms.Error](err); ok {
		return fmt.Sprintf("Little CMS can't compute with it (%s)", e.Message)
	}
	if e, ok := errors.AsType[*proof.ProfileError](err); ok {
		err = e.Err
	}
	return strings.TrimPrefix(err.Error(), "icc: ")
}

// SourceOr is [SourceOf] for one picture of many: where its file does not say what its
// numbers are they are those of otherwise, which may be nil for sRGB.
func SourceOr(pic *photo.Picture, otherwise *proof.Profile) (Source, error) {
	s, err := SourceOf(pic, nil)
	if otherwise == nil || err == nil && s.Origin != Assumed {
		return s, err
	}
	return SourceOf(pic, otherwise)
}

// fit gives the picture the channels of its profile.
func (s Source) fit() (Source, error) {
	if s.Picture.Channels == 1 && s.Profile.Channels() == 3 && s.Profile.ColorSpace() == icc.SpaceRGB {
		s.Picture = s.Picture.RGB()
	}
	if have, want := s.Picture.Channels, s.Profile.Channels(); have != want {
		return s, &proof.ProfileError{Op: "use as the picture's space", Profile: s.Profile.Name(), Kind: proof.WrongChannels,
			Err: fmt.Errorf("it has %d channels, the picture %d", want, have)}
	}
	return s, nil
}

// Numbers returns pixels of the picture's file with as many channels as Profile.
func (s Source) Numbers(px raster.Pixels) raster.Pixels {
	if px.Channels == 1 && s.Picture.Channels == 3 {
		return px.RGB()
	}
	return px
}

// Pixels returns the picture's numbers for the engine, sharing memory.
func (s Source) Pixels() raster.Pixels { return s.Picture.Pixels() }
