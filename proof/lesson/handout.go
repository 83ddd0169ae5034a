package lesson

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"os"
	"strings"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/handout"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
)

// Sizes of pictures: at 87 mm, half of an A4 page, 1000 pixels are 290 to the inch;
// single pictures are made for a projector of 4K.
const (
	pageSide   = 1000
	singleSide = 1900
)

// RightCaption says how the print as it should be was made.
func (l *Lesson) RightCaption() string {
	return "As it should be: " + l.Paper + ", " + how(l.Right)
}

// how names a plan's intent and compensation.
func how(p proof.Plan) string {
	if len(p.Conversions) == 0 {
		return "not converted"
	}
	c := p.Conversions[0]
	on := "compensation on"
	switch {
	case c.Intent == proof.AbsoluteColorimetric:
		on = "no compensation"
	case !c.BPC && !c.To.ForcesBPC(c.Intent):
		on = "compensation off"
	}
	return c.Intent.String() + ", " + on
}

// Document makes the pages of the handout, one a mistake. screenName is what the
// pages call the profile that the pictures are in. progress may be nil.
func Document(ctx context.Context, e Engine, l *Lesson, levels []raster.Pixels, page handout.Page, made time.Time, progress func(float64)) (handout.Document, error) {
	d := handout.Document{Title: l.Title, Page: page, Made: made, Profile: l.Right.Screen.Data(), ProfileName: l.Right.Screen.Name()}
	list := l.Mistakes()
	for i, s := range list {
		pair, err := Pairs(ctx, e, l, s, levels, pageSide)
		if err != nil {
			return d, err
		}
		sheet := handout.Sheet{Title: s.Title, Reason: strings.Join(append(append([]string(nil), s.Lead...), chosen(s)...), " "),
			Recognise: s.Recognise, Prevent: s.Prevent, Cautions: append(append([]string(nil), l.Cautions...), s.Notes...)}
		for _, p := range []struct {
			to      *handout.Picture
			caption string
		}{{&sheet.Right, l.RightCaption()}, {&sheet.Wrong, "Gone wrong: " + uncapital(s.Title)}} {
			img := pair.Right
			if p.to == &sheet.Wrong {
				img = pair.Wrong
			}
			var b bytes.Buffer
			if err := png.Encode(&b, img); err != nil {
				return d, err
			}
			*p.to = handout.Picture{Data: b.Bytes(), Caption: p.caption}
		}
		for _, st := range s.Route.Stations {
			h := handout.Station{Title: st.Title, Detail: st.Detail, Broken: st.Fault != proof.NoFault}
			if h.Broken {
				h.Why = st.Fault.String() + ": " + st.Why
			}
			sheet.Route = append(sheet.Route, h)
		}
		for _, r := range s.Rows {
			sheet.Rows = append(sheet.Rows, handout.Row{Pin: r.Pin, Right: comma(Lab(r.Right.Seen)), Wrong: comma(Lab(r.Wrong.Seen)),
				Delta: fmt.Sprintf("%.1f", r.Change.DeltaE00), Words: r.Change.Sentence()})
		}
		d.Sheets = append(d.Sheets, sheet)
		if progress != nil {
			progress(float64(i+1) / float64(len(list)))
		}
	}
	return d, ctx.Err()
}

// comma writes "L* 44 a* 64 b* 42" as "44, 64, 42": the page's columns are narrow.
func comma(s string) string {
	s = strings.TrimPrefix(s, "L* ")
	s = strings.Replace(s, " a* ", ", ", 1)
	return strings.Replace(s, " b* ", ", ", 1)
}

func chosen(s Step) []string {
	if s.Chosen == "" {
		return nil
	}
	return []string{capital(s.Chosen) + "."}
}

// WriteHandout writes the PDF. Meanwhile a file of that name stays as it was.
func WriteHandout(ctx context.Context, e Engine, l *Lesson, levels []raster.Pixels, page handout.Page, path string, keep []string, progress func(float64)) error {
	return photo.Save(ctx, path, keep, func(w *os.File) error {
		d, err := Document(ctx, e, l, levels, page, time.Now(), func(done float64) {
			if progress != nil {
				progress(done * 0.9)
			}
		})
		if err != nil {
			return err
		}
		return handout.Write(w, d)
	})
}

// PairFile is the name of a mistake's single picture beside a given stem.
func PairFile(stem string, s Step) string { return stem + " " + s.ID + ".png" }

// WritePairs writes a PNG of each mistake's pair, the screen's profile embedded,
// named by PairFile. It returns the files that are complete when it ends or fails.
func WritePairs(ctx context.Context, e Engine, l *Lesson, levels []raster.Pixels, stem string, keep []string, progress func(float64)) ([]string, error) {
	var done []string
	list := l.Mistakes()
	for i, s := range list {
		pair, err := Pairs(ctx, e, l, s, levels, singleSide)
		if err != nil {
			return done, err
		}
		pic, err := pair.Side(l.RightCaption(), "Gone wrong: "+uncapital(s.Title), l.Right.Screen)
		if err != nil {
			return done, err
		}
		path := PairFile(stem, s)
		if err := photo.Write(ctx, path, pic, photo.WriteOptions{Keep: keep}); err != nil {
			return done, err
		}
		done = append(done, path)
		if progress != nil {
			progress(float64(i+1) / float64(len(list)))
		}
	}
	return done, nil
}
