package lesson

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"slices"
	"strings"
	"time"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/handout"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/words"
)

// Sizes of pictures: at 87 mm, half of an A4 page, 1000 pixels are 290 to the inch;
// single pictures are made for a projector of 4K.
const (
	pageSide   = 1000
	singleSide = 1900
)

// RightCaption says how the print as it should be was made.
func (l *Lesson) RightCaption() string {
	return "As it should be: " + l.Paper + ", " + how(l.Plan)
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

// WrongCaption says which mistake a print was made with.
func (s Step) WrongCaption() string { return "Gone wrong: " + s.Name }

// Document makes the pages of the handout, one a mistake. progress may be nil.
func Document(ctx context.Context, e Engine, l *Lesson, levels []raster.Pixels, page handout.Page, made time.Time, progress func(float64)) (handout.Document, error) {
	d := handout.Document{Title: l.Title, Page: page, Made: made, Profile: l.Plan.Screen.Data(), ProfileName: l.Plan.Screen.Name()}
	list := l.Mistakes()
	for i, s := range list {
		pair, err := Pairs(ctx, e, l, s, levels, pageSide)
		if err != nil {
			return d, err
		}
		sheet := l.page(s)
		if sheet.Right, err = picture(pair.Right, l.RightCaption()); err != nil {
			return d, err
		}
		if sheet.Wrong, err = picture(pair.Wrong, s.WrongCaption()); err != nil {
			return d, err
		}
		d.Sheets = append(d.Sheets, sheet)
		if progress != nil {
			progress(float64(i+1) / float64(len(list)))
		}
	}
	return d, ctx.Err()
}

// page is a mistake's page without its pictures.
func (l *Lesson) page(s Step) handout.Sheet {
	p := handout.Sheet{Title: s.Title, Reason: strings.Join(slices.Concat(s.Lead, chosen(s)), " "),
		Recognise: s.Recognise, Prevent: s.Prevent, Cautions: slices.Concat(l.Cautions, s.Notes)}
	for _, st := range s.Route.Stations {
		h := handout.Station{Title: st.Title, Detail: st.Detail, Broken: st.Fault != proof.NoFault}
		if h.Broken {
			h.Why = st.Trouble()
		}
		p.Route = append(p.Route, h)
	}
	for _, r := range s.Rows {
		p.Rows = append(p.Rows, handout.Row{Pin: r.Pin, Right: triple(r.Right.Seen), Wrong: triple(r.Wrong.Seen),
			Delta: words.Figure(r.Change.DeltaE00), Words: r.Change.Sentence()})
	}
	return p
}

// triple writes a colour as "44, 64, 42": the page's columns are narrow.
func triple(c cie.Lab) string { return strings.Join(strings.Fields(words.Triple(c)), ", ") }

func picture(img image.Image, caption string) (handout.Picture, error) {
	var b bytes.Buffer
	err := png.Encode(&b, img)
	return handout.Picture{Data: b.Bytes(), Caption: caption}, err
}

func chosen(s Step) []string {
	if s.Chosen == "" {
		return nil
	}
	return []string{words.Stop(words.Capital(s.Chosen))}
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
		pic, err := pair.Side(l.RightCaption(), s.WrongCaption(), l.Plan.Screen)
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
