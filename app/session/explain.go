package session

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"unicode"

	"firstsheet/proof"
	"firstsheet/proof/aside"
	"firstsheet/proof/chart"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/ticket"
)

// Explain turns an error into a sentence for the person at the desk and a hint
// at what to try. path names the file it was about, "" for none.
func Explain(err error, path string) Notice {
	n := Notice{Failure: true}
	name := "this file"
	if path != "" {
		name = "‘" + filepath.Base(path) + "’"
	}
	var plan *proof.PlanError
	var prof *proof.ProfileError
	var pic *photo.Error
	var file *paper.FileError
	var whole *aside.Error
	var form *chart.FormatError
	var beyond *chart.UnsupportedError
	var job *printfile.Error
	var record *ticket.FileError
	switch {
	case err == nil:
		return Notice{}
	case errors.Is(err, context.Canceled):
		n.Failure = false
		n.Headline = "Stopped."
	case errors.Is(err, fs.ErrNotExist) && (errors.As(err, &whole) || errors.As(err, &pic) && pic.Kind == photo.NotWritable):
		// What was to be written need not be there; its folder must.
		n.Headline = name + " could not be written: its folder is not there any more."
		n.Hint = "Nothing was left half written; choose another place, or make the folder again."
	case errors.Is(err, fs.ErrNotExist):
		n.Headline = name + " is not there."
		n.Hint = "It may have been moved, renamed, or lie on a disk that is not connected."
	case errors.As(err, &pic) && pic.Kind == photo.NotWritable:
		n.Headline, n.Hint = pictureTold(name, pic)
	case errors.As(err, &whole) && errors.Is(err, fs.ErrPermission):
		n.Headline = "‘" + filepath.Base(whole.Path) + "’ may not be written: " + whole.Err.Error() + "."
		n.Hint = "Take its protection off, or choose another name or folder."
	case errors.Is(err, fs.ErrPermission):
		n.Headline = name + " may not be read."
		n.Hint = "Ask for the right to read it, or copy it to your own folder."
	case errors.As(err, &plan):
		n.Headline = Sentence(plan.Reason)
	case errors.Is(err, ErrNoSettings):
		n.Headline = Sentence(err.Error())
	case errors.As(err, &job):
		n.Headline = "This print can’t be made: " + Typeset(job.Reason) + "."
	case errors.As(err, &record):
		n.Headline = "The job ticket ‘" + filepath.Base(record.Path) + "’ can’t be used: " + Typeset(record.Err.Error()) + "."
		n.Hint = "Job tickets are the .json files that the card ‘Print this’ writes beside a print file."
	case errors.As(err, &prof):
		is := map[proof.Kind]string{proof.Damaged: "is damaged", proof.WrongClass: "is of the wrong kind"}[prof.Kind]
		if is == "" {
			is = prof.Kind.String()
		}
		why := Typeset(plain(inner(prof.Err)))
		n.Headline = "The profile ‘" + filepath.Base(prof.Profile) + "’ " + is + ": " + why + "."
		switch prof.Kind {
		case proof.WrongClass:
			n.Hint = "A paper needs an output (printer) profile; a screen needs a display profile."
		case proof.Damaged:
			// What is wrong with which tag helps only who made it: the plain sentence first.
			n.Headline = "The profile ‘" + filepath.Base(prof.Profile) + "’ is damaged and can’t be used."
			n.Hint = "Fetch it anew from where it came from. In detail: " + why + "."
		}
	case errors.As(err, &file):
		n.Headline = name + " is " + file.Kind.String() + "."
		if file.Err != nil {
			n.Hint = Sentence(file.Err.Error())
		}
		if file.Kind == paper.BadCard {
			n.Hint = strings.TrimSpace("What was noted there is not shown; the papers themselves serve. In detail: " + n.Hint)
		}
	case errors.As(err, &pic):
		n.Headline, n.Hint = pictureTold(name, pic)
	case errors.As(err, &form):
		n.Headline = name + atLine(form.Line) + ": " + form.Msg + "."
		n.Hint = "Measurements are read from CGATS.17 text: printed RGB or CMYK numbers with Lab, XYZ or spectra, decimals with a point."
	case errors.As(err, &beyond):
		n.Headline = name + atLine(beyond.Line) + " is sound, but can’t be worked with: " + beyond.Msg + "."
	default:
		n.Headline = name + ": " + err.Error() + "."
	}
	return n
}

// pictureTold says what is wrong with a picture's file, and what to do.
func pictureTold(name string, pic *photo.Error) (headline, hint string) {
	why := inner(pic.Err)
	switch pic.Kind {
	case photo.NotFound:
		headline = name + " is not there."
		hint = "It may have been moved, renamed, or lie on a disk that is not connected."
	case photo.NotReadable:
		headline = name + " can’t be read: " + why + "."
		hint = "Choose a single picture file that you may read: JPEG, PNG, TIFF, WebP, HEIC or AVIF."
	case photo.NotAPicture:
		headline = name + " is no picture: " + why + "."
		hint = "Pictures may be JPEG, PNG, TIFF, WebP, HEIC or AVIF."
	case photo.Damaged:
		headline = name + " is damaged: " + why + "."
		hint = "Copy or export it anew; a picture that ends early would be proofed wrongly."
	case photo.Unsupported:
		headline = name + " can’t be shown: " + why + "."
		hint = "Pictures may be JPEG, PNG, TIFF, WebP, HEIC or AVIF, of 8 or 16 bits, grey, RGB or CMYK with a profile."
	case photo.TooLarge:
		headline = name + " is too large: " + why + "."
		hint = "Save a smaller copy and open that; a proof needs no more pixels than the print."
	case photo.NotWritable, photo.DiskFull:
		headline = name + " could not be written: " + why + "."
		hint = "Nothing was left half written; choose another place or make room."
	default:
		headline = name + ": " + why + "."
	}
	return headline, hint
}

func atLine(n int) string {
	if n == 0 {
		return ""
	}
	return ", line " + itoa(n)
}

func inner(err error) string {
	if err == nil {
		return "no more is known"
	}
	return err.Error()
}

// plain takes the name of the package off an error of the profile reader.
func plain(s string) string {
	for _, p := range []string{"icc: ", "lcms: "} {
		s = strings.TrimPrefix(s, p)
	}
	return s
}

// Typeset sets apostrophes, single quotes and the minus of a number as print does: the
// engine writes plain text.
func Typeset(s string) string {
	r := []rune(s)
	for i, c := range r {
		var before, after rune = ' ', ' '
		if i > 0 {
			before = r[i-1]
		}
		if i+1 < len(r) {
			after = r[i+1]
		}
		begins := unicode.IsSpace(before) || strings.ContainsRune("([=±", before)
		switch {
		case c == '\'' && begins && !unicode.IsSpace(after):
			r[i] = '‘'
		case c == '\'' && !begins:
			r[i] = '’'
		case c == '-' && begins && unicode.IsDigit(after):
			r[i] = '−'
		}
	}
	return string(r)
}

// Sentence makes a clause a sentence.
func Sentence(s string) string {
	s = Typeset(s)
	if s == "" {
		return ""
	}
	r := []rune(s)
	if r[0] >= 'a' && r[0] <= 'z' {
		r[0] -= 'a' - 'A'
	}
	if r[len(r)-1] != '.' {
		r = append(r, '.')
	}
	return string(r)
}
