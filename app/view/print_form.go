package view

import (
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// printKept is what the card remembers beside the job.
type printKept struct {
	Unit      lengthUnit
	Kind      int // of printKinds
	JSON, PDF bool
}

// printKinds are the files that a print can be.
var printKinds = []struct{ name, ending string }{{"TIFF", ".tif"}, {"PNG", ".png"}, {"JPEG", ".jpg"}}

func keptPrint(h *Host) printKept {
	if k, ok := h.Kept("print").(printKept); ok {
		return k
	}
	return printKept{JSON: true, PDF: true}
}

// printForm is the column of choices of the print card. What it shows is State's job; each
// change goes there at once.
type printForm struct {
	h       *Host
	tell    func(string)
	changed func() // told where something beside the job has changed, or a complaint

	kept   printKept
	bad    map[string]string // what was typed that is none, by field
	column *layout.Column
	of     *widget.Prose

	choices []choiceOf
	fields  []fieldOf
	sheets  *widget.Press
}

// choiceOf is a choice together with the part of the job that it shows and sets.
type choiceOf struct {
	c    *widget.Choice
	show func(j printfile.Job) int
}

// fieldOf is a field likewise.
type fieldOf struct {
	f    *widget.Field
	name string
	show func(j printfile.Job) string
}

func newPrintForm(h *Host, tell func(string), changed func()) *printForm {
	f := &printForm{h: h, tell: tell, changed: changed, kept: keptPrint(h), bad: map[string]string{}, column: layout.NewColumn()}
	f.of = layout.Prose("")
	objs := []fyne.CanvasObject{f.of}
	objs = append(objs, f.converterRows()...)
	objs = append(objs, f.sizeRows()...)
	objs = append(objs, f.pictureRows()...)
	objs = append(objs, f.fileRows()...)
	f.column.Fill(objs...)
	return f
}

func (f *printForm) sizeRows() []fyne.CanvasObject {
	unit := f.choice(lengthUnits, "The unit that lengths are shown in. A length may be typed with a unit of its own: 40cm, 15.75in.",
		func(printfile.Job) int { return int(f.kept.Unit) },
		func(_ *printfile.Job, i int) { f.kept.Unit = lengthUnit(i); f.bad = map[string]string{} })
	by := f.choice([]string{"a length", "fit sheet", "fill sheet"},
		"How large: by the length of an edge; as large as the sheet’s margins let; or filling them, with what has not the sheet’s shape cut off.",
		func(j printfile.Job) int {
			return map[printfile.SizeBy]int{printfile.FitSheet: 1, printfile.FillSheet: 2}[j.Size.By]
		},
		func(j *printfile.Job, i int) {
			was := j.Size.Length
			if was == 0 {
				was = 300
			}
			j.Size = []printfile.Size{{By: printfile.LongEdge, Length: was}, {By: printfile.FitSheet, Length: was}, {By: printfile.FillSheet, Length: was}}[i]
			if i > 0 && j.Sheet.None() {
				j.Sheet, _ = printfile.ParseSheet("A4")
			}
			if i == 2 && j.Sheet.Roll() {
				j.Size.By = printfile.FitSheet
			}
		})
	edge := f.choice([]string{"long edge", "short edge"}, "Which edge of the picture the length is of, its border aside.",
		func(j printfile.Job) int {
			if j.Size.By == printfile.ShortEdge {
				return 1
			}
			return 0
		},
		func(j *printfile.Job, i int) {
			by := []printfile.SizeBy{printfile.LongEdge, printfile.ShortEdge}[i]
			j.Size = printfile.Size{By: by, Length: max(j.Size.Length, 1)}
		})
	length := f.length("length", "The length of that edge, border aside. Typing one chooses ‘a length’.", false,
		func(j printfile.Job) float64 { return j.Size.Length },
		func(j *printfile.Job, mm float64) {
			if j.Size.By != printfile.ShortEdge {
				j.Size.By = printfile.LongEdge
			}
			j.Size.Length = mm
		})
	sheet := f.field("sheet", "The sheet by its name (A4, A3+, Letter …), by its size (300x400mm, 12x16in), a roll (roll 610mm), or empty for none.",
		func(j printfile.Job) string { return j.Sheet.Name },
		func(j *printfile.Job, s string) string {
			if strings.TrimSpace(s) == "" {
				setSheet(j, printfile.Sheet{})
				return ""
			}
			k, err := printfile.ParseSheet(s)
			if err != nil {
				return "‘" + s + "’ is no sheet: type a name such as A4, A3+ or Letter, a size such as 300x400mm, or roll 610mm."
			}
			setSheet(j, k)
			return ""
		})
	f.sheets = widget.NewPress("all…", f.sheetMenu)
	f.explain(f.sheets, "Choose the sheet from a list.")
	lies := f.choice([]string{"as picture", "upright", "across"}, "How the sheet lies: turned as the picture is, its narrow edge on top, or turned by a quarter.",
		func(j printfile.Job) int { return int(j.Sheet.Feed) },
		func(j *printfile.Job, i int) { j.Sheet.Feed = printfile.Feed(i) })
	margins := f.field("margins", "What stays white at the sheet’s edges: one length for all, or four, for left, top, right and bottom.",
		func(j printfile.Job) string { return f.kept.Unit.margins(j.Sheet.Margins) },
		func(j *printfile.Job, s string) string {
			m, ok := f.kept.Unit.parseMargins(s)
			if !ok {
				return "‘" + s + "’ are no margins: type one length, or four for left, top, right and bottom."
			}
			j.Sheet.Margins = m
			return ""
		})
	right := f.length("shift right", "How far the print lies to the right of the margins’ middle; with a minus to the left.", true,
		func(j printfile.Job) float64 { return j.ShiftX }, func(j *printfile.Job, mm float64) { j.ShiftX = mm })
	down := f.length("shift down", "How far the print lies below the margins’ middle; with a minus above it.", true,
		func(j printfile.Job) float64 { return j.ShiftY }, func(j *printfile.Job, mm float64) { j.ShiftY = mm })
	border := f.length("border", "Bare paper round the picture that is part of the file: the next program then can’t place it wrongly.", false,
		func(j printfile.Job) float64 { return j.Border }, func(j *printfile.Job, mm float64) { j.Border = mm })
	return []fyne.CanvasObject{heading("Size and sheet"), layout.Row("Unit", unit), layout.Row("Printed", by), layout.Row("Length", length), layout.Row("Of the", edge),
		layout.Row("Sheet", sheet, f.sheets), layout.Row("Lies", lies), layout.Row("Margins", margins), layout.Row("Moved right", right), layout.Row("Moved down", down),
		layout.Row("Border", border)}
}

// setSheet changes the sheet and keeps its margins; what needs a sheet's shape becomes
// what does not.
func setSheet(j *printfile.Job, k printfile.Sheet) {
	k.Margins, k.Feed = j.Sheet.Margins, j.Sheet.Feed
	if k.None() {
		k.Margins, k.Feed = printfile.Margins{}, 0
		if j.Size.By == printfile.FitSheet || j.Size.By == printfile.FillSheet {
			j.Size.By = printfile.LongEdge
			if j.Size.Length == 0 {
				j.Size.Length = 300
			}
		}
	}
	if k.Roll() && j.Size.By == printfile.FillSheet {
		j.Size.By = printfile.FitSheet
	}
	j.Sheet = k
}

func (f *printForm) pictureRows() []fyne.CanvasObject {
	turn := f.choice([]string{"0°", "90°", "180°", "270°"}, "Turn the picture clockwise.",
		func(j printfile.Job) int { return int(j.Turn) }, func(j *printfile.Job, i int) { j.Turn = uint8(i) })
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
	return []fyne.CanvasObject{heading("Picture"), layout.Row("Turned", turn), layout.Row("ppi", ppi), layout.Row("Sharpened", sharpen),
		layout.Row("Surface", finish), layout.Row("Seen from", from)}
}

func (f *printForm) converterRows() []fyne.CanvasObject {
	who := f.choice([]string{"converted here", "tagged only"},
		"Converted here: the file holds the paper’s own numbers and nothing behind may convert. Tagged only: it keeps its space and exactly one link behind converts.",
		func(j printfile.Job) int { return int(j.Converts) }, func(j *printfile.Job, i int) { j.Converts = printfile.Converter(i) })
	behind := f.choice([]string{"not said", "all off", "converts"},
		"What the next program and the printer’s driver are set to, if you know: colour handling off all along, or one of them converts. The route above shows whether that fits.",
		func(j printfile.Job) int { return int(j.Driver) }, func(j *printfile.Job, i int) { j.Driver = printfile.Driver(i) })
	return []fyne.CanvasObject{heading("Who converts"), layout.Row("The file is", who), layout.Row("Behind it", behind)}
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
	quality := f.field("quality", "Quality of a JPEG, 1 to 100; empty is 95.",
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
				return "‘" + s + "’ is no quality: type 1 to 100, or nothing for 95."
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

// explain gives a control its hint and keeps it in sight while it is used.
func (f *printForm) explain(o explained, hint string) {
	o.Explain(hint, func(s string) {
		if focus, ok := o.(fyne.Focusable); ok && s != "" && f.h.Window.Canvas().Focused() == focus {
			f.column.Reveal(o)
		}
		f.tell(s)
	})
}

// choice is a choice of a part of the job.
func (f *printForm) choice(items []string, hint string, show func(printfile.Job) int, take func(*printfile.Job, int)) *widget.Choice {
	c := widget.NewChoice(items, 0, func(i int) {
		j := f.h.State().Print
		take(&j, i)
		f.set("", j)
	})
	f.explain(c, hint)
	f.choices = append(f.choices, choiceOf{c, show})
	return c
}

// field is a field of a part of the job; take returns what is wrong with what was typed.
func (f *printForm) field(name, hint string, show func(printfile.Job) string, take func(*printfile.Job, string) string) *widget.Field {
	w := widget.NewField("", nil)
	w.OnChanged = func(s string) {
		j := f.h.State().Print
		if s == show(j) {
			f.complain(name, "")
			return // shown, not typed
		}
		if no := take(&j, s); no != "" {
			f.complain(name, no)
			return
		}
		f.set(name, j)
	}
	w.OnLeave = f.show
	w.OnSubmitted = func(string) { f.h.Focus() }
	w.PlaceHolder = map[string]string{"length": "as the sheet lets", "sheet": "none", "margins": "0", "shift right": "0", "shift down": "0", "border": "0",
		"ppi": "the picture’s own pixels", "distance": "the usual distance", "quality": "95"}[name]
	f.explain(w, hint)
	f.fields = append(f.fields, fieldOf{w, name, show})
	return w
}

// length is a field of a length.
func (f *printForm) length(name, hint string, signed bool, show func(printfile.Job) float64, take func(*printfile.Job, float64)) *widget.Field {
	return f.field(name, hint, func(j printfile.Job) string {
		if show(j) == 0 {
			return ""
		}
		return f.kept.Unit.figure(show(j))
	}, func(j *printfile.Job, s string) string {
		mm, ok := f.kept.Unit.parse(s, signed)
		if !ok {
			return "‘" + s + "’ is no length (" + name + "): type a number of " + lengthUnits[f.kept.Unit] + ", or one with its unit such as 40cm."
		}
		take(j, mm)
		return ""
	})
}

// set makes a job the card's, or says why it can't be.
func (f *printForm) set(name string, j printfile.Job) {
	j.Setup = setup.Setup{Paper: "any"}
	if err := j.Check(); err != nil {
		f.complain(name, session.Explain(err, "").Headline)
		return
	}
	delete(f.bad, name)
	f.h.Keep("print", f.kept)
	f.h.Do(session.SetPrint{Job: j})
	f.show()
	f.changed()
}

func (f *printForm) complain(name, no string) {
	if f.bad[name] == no {
		return
	}
	if f.bad[name] = no; no == "" {
		delete(f.bad, name)
	}
	f.changed()
}

// complaint is what is wrong with what was typed, "" where nothing is.
func (f *printForm) complaint() string {
	for _, o := range f.fields {
		if no := f.bad[o.name]; no != "" {
			return no
		}
	}
	return f.bad[""]
}

// show shows State's job. A field that is being typed into stays as it is.
func (f *printForm) show() {
	j := f.h.State().Print
	for _, o := range f.choices {
		o.c.Set(o.show(j))
	}
	focused := f.h.Window.Canvas().Focused()
	for _, o := range f.fields {
		if focused != fyne.Focusable(o.f) && f.bad[o.name] == "" {
			o.f.Put(o.show(j))
		}
	}
}

// sheetMenu offers all sheets that have a name.
func (f *printForm) sheetMenu() {
	now := f.h.State().Print.Sheet.Name
	item := func(k printfile.Sheet, text string) *fyne.MenuItem {
		it := fyne.NewMenuItem(text, func() {
			j := f.h.State().Print
			setSheet(&j, k)
			f.set("sheet", j)
		})
		it.Checked = k.Name == now
		return it
	}
	groups := []*fyne.MenuItem{item(printfile.Sheet{}, "no sheet: the file alone")}
	group := func(name string, belongs func(printfile.Sheet) bool) {
		g := fyne.NewMenuItem(name, nil)
		g.ChildMenu = fyne.NewMenu("")
		for _, k := range printfile.Sheets() {
			if belongs(k) {
				text := k.Name
				if !k.Roll() {
					text += "   " + f.kept.Unit.area(printfile.Rect{W: k.W, H: k.H})
				}
				g.ChildMenu.Items = append(g.ChildMenu.Items, item(k, text))
			}
		}
		groups = append(groups, g)
	}
	iso := func(letter string) func(printfile.Sheet) bool {
		return func(k printfile.Sheet) bool { return strings.HasPrefix(k.Name, letter) }
	}
	group("A sizes", iso("A"))
	group("B sizes", iso("B"))
	group("sizes in inches", func(k printfile.Sheet) bool { return !k.Roll() && !iso("A")(k) && !iso("B")(k) })
	group("rolls", printfile.Sheet.Roll)
	m := toolkit.NewPopUpMenu(fyne.NewMenu("", groups...), f.h.Window.Canvas())
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(f.sheets)
	m.ShowAtPosition(at.AddXY(0, f.sheets.Size().Height+2))
}
