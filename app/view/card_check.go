package view

import (
	"cmp"
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/check"
	"firstsheet/proof/mishap"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/slip"
	"firstsheet/proof/words"
)

// checkCard shows the check sheet as it should come out, and under each mistake, and
// writes it.
func checkCard() Card {
	return Card{ID: checkID, Name: "Check sheet", Place: WholeWindow,
		Help:  "a page with known colours to print when a print has gone wrong: how it should look on this paper, how with each mistake; writes it",
		Build: func(h *Host) Built { return newCheck(h).built() }}
}

const checkID = "check"

// checkWay is one way in which the sheet can come out.
type checkWay struct {
	name string
	how  string // in which way the mistake is made, "" for the only one
	set  setup.Setup
	row  *widget.PaperRow
}

// checkView is the open card. All its fields belong to the drawing goroutine.
type checkView struct {
	h        *Host
	work     *work
	drawing  *lane
	files    *writing
	looks    *looks
	pictures *lessonPictures
	picture  *widget.Drawing

	options check.Options
	sheet   *session.Picture // as it is drawn, nil while it is not
	right   setup.Setup
	library int
	ways    []checkWay // the right one first
	at      int

	column  *layout.Column
	sizes   []fyne.CanvasObject // page, resolution and depth
	write   *widget.Press
	view    *widget.Choice
	say     *widget.Prose
	foot    *widget.Prose
	content *fyne.Container
}

func newCheck(h *Host) *checkView {
	v := &checkView{h: h, work: h.newWork(), column: layout.NewColumn(), say: layout.Prose("")}
	v.drawing = v.work.lane()
	v.looks = newLooks(v.work, func(setup.Setup) { v.picture.Again() }, func(err error) { v.tell(session.Explain(err, "").Headline) })
	v.pictures = &lessonPictures{ctx: v.work.ctx, looks: v.looks}
	v.picture = v.work.drawing(v.pictures.paint)
	v.picture.Ground = theme.Desk
	v.picture.OnTap = func(float64, float64) { v.blink() }
	v.foot = caption("", 2)
	v.files = newWriting(v.work, v.foot.SetText, func() { v.write.SetOff(v.files.busy()); v.again() })
	v.options = check.Options{Page: check.Pages()[0].ID, PPI: check.Resolutions()[0], Depth: 8, Space: checkDrawn()}
	v.sizes = v.sheetChoices()
	v.write = widget.NewPress("Write it…  (W)", v.askWrite)
	v.explain(v.write, "A page with known greys, dark and light steps, hues, skin, gradients and fine lines, as TIFF, PNG or PDF in sRGB; beside it a table of its values.")
	v.view = widget.NewChoice([]string{"beside", "right", "gone wrong"}, 0, v.show)
	v.explain(v.view, "Both side by side, or one of them alone; B or a click on the picture blinks between them in place.")
	v.tell("")
	return v
}

const checkFoot = "↑ and ↓ choose how it came out, B blinks between right and wrong in place, W writes the sheet. The cause finder reads a scan of its print: Ctrl F. Esc closes."

func (v *checkView) tell(s string) {
	if !v.files.busy() {
		v.foot.SetText(cmp.Or(s, checkFoot))
	}
}

func (v *checkView) explain(o explained, hint string) {
	o.Explain(hint, func(s string) {
		if f, ok := o.(fyne.Focusable); ok && s != "" && v.h.Window.Canvas().Focused() == f {
			v.column.Reveal(o)
		}
		v.tell(s)
	})
}

func (v *checkView) built() Built {
	v.content = container.New(freeLayout{fyne.NewSize(860, 420), func(s fyne.Size) {
		foot, halt := captionHeight(2), float32(0)
		if v.files.halt.Visible() {
			m := v.files.halt.MinSize()
			halt = m.Width + 12
			set(v.files.halt, s.Width-m.Width, s.Height-foot, m.Width, foot)
		}
		set(v.foot, 0, s.Height-foot, s.Width-halt, foot)
		h := s.Height - foot - 8
		left := min(s.Width*0.32, 380)
		v.column.Put(0, 0, left, h)
		set(v.picture, whole(left+14), 0, whole(s.Width-left-14), whole(h))
	}}, v.column.Scroll, v.picture, v.foot, v.files.halt)
	return Built{Content: v.content, Update: v.update, Key: v.typed, Close: v.work.close}
}

func (v *checkView) again() {
	if v.content != nil {
		v.content.Refresh()
	}
}

// update follows paper, intent and papers at hand.
func (v *checkView) update(now session.State) {
	right, _ := rightProof(now, "")
	right.Source = checkSpace
	if right == v.right && now.Library == v.library && v.ways != nil {
		return
	}
	v.right, v.library = right, now.Library
	v.listWays()
	v.looks.forget()
	if v.sheet == nil && !v.drawing.busy() {
		v.draw()
	}
	v.pick(min(v.at, len(v.ways)-1))
}

// listWays lists the right way, every slip that can be made here in its usual way, and
// every mishap. Rows that would say the same stay where they are: the keyboard may be on one.
func (v *checkView) listWays() {
	before, find := v.ways, v.h.Session.Engine().Finder(nil)
	v.ways = []checkWay{{name: "as it should be", set: v.right}}
	choices, err := setup.AtHand(v.right, find, paperIDs(v.h, ""), spaceIDs("adobe1998"))
	stock, _ := v.h.Session.Store().Paper(v.right.Paper)
	slips := slip.All()
	if err != nil {
		v.ways = []checkWay{} // none can be shown
		v.tell(session.Explain(err, "").Headline)
		slips = nil
	}
	for _, s := range slips {
		for _, set := range choices.Ways(v.right, s) {
			plan, err := set.Plan(find)
			if err == nil && s.Shows(plan) == nil {
				v.ways = append(v.ways, checkWay{name: s.Name, how: set.How(s, find), set: set})
				break
			}
		}
	}
	for _, m := range mishap.Of(stock.Paper) {
		set := v.right
		set.Mishap = m.ID
		v.ways = append(v.ways, checkWay{name: mishap.Name(m.ID), set: set})
	}
	for i := range v.ways {
		w := &v.ways[i]
		w.name = session.Typeset(w.name)
		if i < len(before) && before[i].name == w.name && before[i].how == w.how {
			w.row = before[i].row
			continue
		}
		w.row = widget.NewPaperRow(words.Capital(w.name), session.Typeset(w.how), nil, nil, false, func() { v.pick(i) })
		v.explain(w.row, "How the sheet comes out: "+session.Typeset(cmp.Or(w.how, w.name))+". Up and down choose.")
	}
	v.fill()
}

func (v *checkView) fill() {
	objs := append([]fyne.CanvasObject{heading("The sheet")}, v.sizes...)
	objs = append(objs, container.New(layout.Abreast{Gap: 8}, v.write),
		heading("How it comes out on "+paperName(v.h.Session.Store(), v.right.Paper)), v.view, v.say)
	for _, w := range v.ways {
		objs = append(objs, w.row)
	}
	v.column.Fill(objs...)
}

// sheetChoices are page, resolution and depth of the sheet.
func (v *checkView) sheetChoices() []fyne.CanvasObject {
	choice := func(items []string, hint string, take func(int)) *widget.Choice {
		var c *widget.Choice
		c = widget.NewChoice(items, 0, func(i int) { c.Set(i); take(i) })
		v.explain(c, hint)
		return c
	}
	var pages, resolutions []string
	for _, p := range check.Pages() {
		pages = append(pages, p.Name)
	}
	for _, r := range check.Resolutions() {
		resolutions = append(resolutions, fmt.Sprintf("%g ppi", r))
	}
	return []fyne.CanvasObject{
		choice(pages, "The page that the check sheet is printed on.", func(i int) { v.options.Page = check.Pages()[i].ID; v.draw() }),
		choice(resolutions, "The printer’s own resolution: the sheet’s finest lines are one pixel wide and tell nothing once resampled.", func(i int) { v.options.PPI = check.Resolutions()[i] }),
		choice([]string{"8 bits", "16 bits"}, "How finely the sheet’s numbers are written. 16 bits tell whether a band in a gradient is the printer’s.", func(i int) { v.options.Depth = []int{8, 16}[i] }),
	}
}

// draw has the sheet drawn for the screen.
func (v *checkView) draw() {
	o := v.options
	o.PPI, o.Depth = check.Resolutions()[0], 8
	v.drawing.start(func(j job) func() {
		var pic *session.Picture
		sheet, err := check.New(o)
		if err == nil {
			pic, err = drawnSheet(j, sheet)
		}
		return func() {
			if err != nil {
				if j.Err() == nil {
					v.tell(session.Explain(err, "").Headline)
				}
				return
			}
			pic.Info.Key = v.h.Session.Store().NewKey()
			v.sheet = pic
			v.looks.forget()
			v.pick(v.at)
		}
	})
}

func drawnSheet(j job, sheet *check.Sheet) (*session.Picture, error) {
	p, err := sheet.Draw(j)
	if err != nil {
		return nil, err
	}
	return shown(p, "check sheet")
}

// pick chooses how the sheet came out.
func (v *checkView) pick(i int) {
	if i < 0 || i >= len(v.ways) {
		return
	}
	v.at = i
	for k, w := range v.ways {
		w.row.Set(k == i)
	}
	w := v.ways[i]
	v.column.Reveal(w.row)
	v.say.SetText("The sheet is being drawn …")
	if v.sheet != nil {
		v.say.SetText(v.about(w))
	}
	v.column.Again()
	v.compose()
	if v.sheet != nil {
		v.looks.want(v.sheet, []setup.Setup{v.right, w.set, v.right.Original()}, proof.Good)
	}
}

// about says what is to be seen, by the slip's or mishap's own advice.
func (v *checkView) about(w checkWay) string {
	if s, ok := slip.ByID(w.set.Slips); ok {
		return session.Typeset(words.Stop(words.Capital(w.how)) + " " + s.Recognise)
	}
	stock, _ := v.h.Session.Store().Paper(v.right.Paper)
	if m, ok := mishap.ByID(stock.Paper, w.set.Mishap); ok {
		return session.Typeset(words.Stop(words.Capital(m.Detail)) + " " + m.Recognise)
	}
	return "Judge it dry and by daylight: greys without a cast, no two dark steps alike, no bands. Beside it the sheet as it is on file."
}

// compose says what the picture shows.
func (v *checkView) compose() {
	sc := pictureScene{size: 14}
	if v.sheet != nil && v.at < len(v.ways) {
		w := v.ways[v.at]
		right := lessonSheet{set: v.right, caption: "as it should be"}
		other := lessonSheet{set: w.set, caption: w.name}
		if v.at == 0 {
			right, other = lessonSheet{set: v.right.Original(), caption: "on file"}, right
		}
		sc.levels, sc.picture = [2][]raster.Pixels{v.sheet.Levels, nil}, v.sheet.Info.Key
		switch v.view.Chosen {
		case sideBySide:
			sc.sheets = []lessonSheet{right, other}
		case onlyFirst:
			sc.sheets = []lessonSheet{right}
		default:
			sc.sheets = []lessonSheet{other}
		}
	}
	v.pictures.set(sc)
	v.picture.Again()
}

func (v *checkView) show(i int) {
	v.view.Set(i)
	v.compose()
}

func (v *checkView) blink() {
	if v.view.Chosen == onlyFirst {
		v.show(onlySecond)
	} else {
		v.show(onlyFirst)
	}
}

func (v *checkView) typed(e *fyne.KeyEvent) bool {
	switch e.Name {
	case fyne.KeyDown:
		v.pick((v.at + 1) % len(v.ways))
	case fyne.KeyUp:
		v.pick((v.at + len(v.ways) - 1) % len(v.ways))
	case fyne.KeyB, fyne.KeySpace:
		v.blink()
	case fyne.KeyW:
		v.askWrite()
	default:
		return false
	}
	return true
}

// askWrite asks where the check sheet is to be written.
func (v *checkView) askWrite() {
	if v.files.busy() {
		return
	}
	page, _ := check.PageByID(v.options.Page)
	whereTo{
		title: "Check sheet", label: "File: its ending, .tif, .png or .pdf, says of what kind",
		path: checkPath(v.h, page),
		about: widget.NewProse(fmt.Sprintf("%s at %g ppi, %d bits, in sRGB with its profile. Beside it a text of the same name with its values. "+
			"Print it at its own size: nothing fitted to the page, nothing sharpened.", page.Name, v.options.PPI, v.options.Depth),
			toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5),
		kinds: []writable{{"Write it", checkFiles(keepOriginal(v.h)), v.writeFile}},
	}.ask(v.h)
}
