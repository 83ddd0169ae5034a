package view

import (
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/widget"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/words"
)

func (f *printForm) converterRows() []fyne.CanvasObject {
	who := f.choice([]string{"converted here", "tagged only"},
		"Converted here: the file holds the paper’s own numbers and nothing behind may convert. Tagged only: it keeps its space and exactly one link behind converts.",
		func(j printfile.Job) int { return int(j.Converts) }, func(j *printfile.Job, i int) { j.Converts = printfile.Converter(i) })
	behind := f.choice([]string{"not said", "all off", "converts"},
		"What the next program and the printer’s driver are set to, if you know: colour handling off all along, or one of them converts. The route above shows whether that fits.",
		func(j printfile.Job) int { return int(j.Driver) }, func(j *printfile.Job, i int) { j.Driver = printfile.Driver(i) })
	return []fyne.CanvasObject{heading("Who converts"), layout.Row("The file is", who), layout.Row("Behind it", behind)}
}

func (f *printForm) pictureRows() []fyne.CanvasObject {
	turn := f.choice([]string{"0°", "90°", "180°", "270°"}, "Turn the picture clockwise.",
		func(j printfile.Job) int { return int(j.Turn) }, func(j *printfile.Job, i int) { j.Turn = uint8(i) })
	cut := f.field("cut", "What of the picture is cut off, in hundredths of its width and height: left, top, right and bottom, or one figure for all.",
		func(j printfile.Job) string { return cutText(j.Crop) },
		func(j *printfile.Job, s string) string {
			c, ok := parseCut(s)
			if !ok {
				return "‘" + s + "’ is no cut: type one figure, or four for left, top, right and bottom, in % of the picture; something must be left."
			}
			j.Crop = c
			return ""
		})
	drags := f.choice([]string{"the print", "the picture in it"}, "What the mouse and the arrow keys move on the drawing of the sheet: the print on its sheet, or, where something is cut off, the picture in its frame. A filled sheet has no other.",
		func(j printfile.Job) int {
			if j.Size.By == printfile.FillSheet || f.kept.Slides {
				return 1
			}
			return 0
		},
		func(_ *printfile.Job, i int) { f.kept.Slides = i == 1 })
	ppi := f.field("ppi", "The file’s pixels an inch (ppi). 300 is common practice for close viewing; empty keeps the picture’s own pixels.",
		func(j printfile.Job) string {
			if j.PPI == 0 {
				return ""
			}
			return strconv.FormatFloat(j.PPI, 'f', -1, 64)
		},
		func(j *printfile.Job, s string) string {
			if strings.TrimSpace(s) == "" {
				j.PPI = 0
				return ""
			}
			v, ok := words.Number(s)
			if !ok || v < printfile.MinPPI || v > printfile.MaxPPI {
				return fmt.Sprintf("‘%s’ is no resolution: type %d to %d pixels an inch, or nothing for the picture’s own.", s, printfile.MinPPI, printfile.MaxPPI)
			}
			j.PPI = v
			return ""
		})
	sharpen := f.choice([]string{"off", "gentle", "usual", "strong"}, "Sharpen for ink and eye, by ppi, surface and viewing distance, on lightness alone. See it at print size.",
		func(j printfile.Job) int {
			switch s := j.Sharpen; {
			case !s.On:
				return 0
			case s.More != 0 && s.More < 1:
				return 1
			case s.More > 1:
				return 3
			}
			return 2
		},
		func(j *printfile.Job, i int) { j.Sharpen.On, j.Sharpen.More = i > 0, []float64{0, 0.6, 0, 1.5}[i] })
	finish := f.choice([]string{"paper’s", "matte", "pearl", "gloss"}, "The surface that it is sharpened for: what is noted on the paper’s card, or another.",
		func(j printfile.Job) int { return int(j.Sharpen.Finish) }, func(j *printfile.Job, i int) { j.Sharpen.Finish = printfile.Finish(i) })
	from := f.length("distance", "From where the print is looked at. Empty or 0 is the usual distance, one and a half times its diagonal.", false,
		func(j printfile.Job) float64 { return j.Distance }, func(j *printfile.Job, mm float64) { j.Distance = mm })
	return []fyne.CanvasObject{heading("Picture"), layout.Row("Turned", turn), layout.Row("Cut off, %", cut), layout.Row("Dragging", drags), layout.Row("ppi", ppi), layout.Row("Sharpened", sharpen),
		layout.Row("Surface", finish), layout.Row("Seen from", from)}
}

func (f *printForm) fileRows() []fyne.CanvasObject {
	var names []string
	for _, k := range printKinds {
		names = append(names, k.name)
	}
	kind := f.choice(names, "TIFF and PNG lose nothing; a JPEG holds 8 bits and loses a little.",
		func(printfile.Job) int { return f.kept.Kind },
		func(j *printfile.Job, i int) {
			if f.kept.Kind = i; i == 2 && j.Depth == 16 {
				j.Depth = 0
			}
		})
	depth := f.choice([]string{"16", "8", "8, plain"}, "Bits: 16 keep all steps; 8 are dithered so that skies do not band; 8, plain are rounded. A JPEG always has 8.",
		func(j printfile.Job) int {
			switch {
			case j.Depth != 8 && !j.Plain:
				return 0
			case j.Plain:
				return 2
			}
			return 1
		},
		func(j *printfile.Job, i int) { j.Depth, j.Plain = []int{0, 8, 8}[i], i == 2 })
	packing := f.choice([]string{"ZIP", "LZW"}, "How a TIFF is packed, without loss. ZIP is smaller; very old programs read LZW alone.",
		func(j printfile.Job) int { return int(j.Packing) }, func(j *printfile.Job, i int) { j.Packing = photo.Packing(i) })
	quality := f.field("quality", "Quality of a JPEG, 1 to 100; empty is 98. 99 of 100 pixels are within ΔE00 1.4 then, with 100 within 0.8, for half as many bytes again.",
		func(j printfile.Job) string {
			if j.Quality == 0 {
				return ""
			}
			return strconv.Itoa(j.Quality)
		},
		func(j *printfile.Job, s string) string {
			v, err := strconv.Atoi(strings.TrimSpace(s))
			if strings.TrimSpace(s) == "" {
				v, err = 0, nil
			}
			if err != nil || v < 0 || v > 100 {
				return "‘" + s + "’ is no quality: type 1 to 100, or nothing for 98."
			}
			j.Quality = v
			return ""
		})
	camera := f.choice([]string{"no place", "all", "none"}, "What the camera noted goes along: all but the place of shooting, all of it, or nothing.",
		func(j printfile.Job) int { return int(j.Metadata) }, func(j *printfile.Job, i int) { j.Metadata = photo.Keeping(i) })
	toggle := func(text, hint string, on *bool) *widget.Toggle {
		var t *widget.Toggle
		t = widget.NewToggle(text, *on, func(now bool) {
			*on = now
			t.Set(now)
			f.h.Keep("print", f.kept)
			f.changed()
		})
		f.explain(t, hint)
		return t
	}
	json := toggle("JSON", "A job ticket beside the file: opened here it lays this desk again and repeats the print.", &f.kept.JSON)
	pdf := toggle("PDF page", "The job ticket as a page to be filed with the print, with what to set and room for notes.", &f.kept.PDF)
	return []fyne.CanvasObject{heading("File"), layout.Row("Kind", kind), layout.Row("Bits", depth), layout.Row("TIFF packed", packing), layout.Row("JPEG quality", quality),
		layout.Row("Camera data", camera), layout.Row("Job ticket", container.New(layout.Abreast{Gap: 14}, json, pdf))}
}
