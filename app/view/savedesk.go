package view

import (
	"context"
	"fmt"
	"image"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
	"firstsheet/proof/tableau"
	"firstsheet/proof/words"
)

// askSaveSheet asks where the active sheet's picture is to be saved.
func askSaveSheet(h *Host) {
	now := h.State()
	if now.Picture.Key == 0 {
		return
	}
	sh, name := now.Sheets[now.Active], "original"
	if sh.Observed != 0 {
		name = observedInfo(h.Session.Store(), sh).Name
	} else if !sh.Original {
		p, _ := h.Session.Store().Paper(sh.Paper)
		name = "on " + p.Name
		if sh.Wrong {
			name += " gone wrong"
		}
	}
	about := "Sheet " + fmt.Sprint(now.Active+1) + " as it looks, with all its pixels, for a screen: no print file. " +
		"Take sRGB for other people’s screens; the screen’s own profile keeps all of what this screen shows. " + session.Typeset(tableau.Caution)
	askShown(h, "Save this sheet’s picture", bareName(now.Picture.Name)+" "+name, about, func(s shownAs, path string) { saveSheet(h, s, path) })
}

// askSaveDesk asks where all sheets are to be saved as one picture.
func askSaveDesk(h *Host) {
	now := h.State()
	if now.Picture.Key == 0 {
		return
	}
	about := "All sheets side by side, each with a longer side of " + fmt.Sprint(tableauSide) + " pixels at most, with legends, pins, the sentence and the caution. " +
		"Take sRGB for a slide or a client."
	askShown(h, "Save the desk as one picture", bareName(now.Picture.Name)+" desk", about, func(s shownAs, path string) { saveDesk(h, s, path) })
}

// tableauSide is the longer side of a sheet on the picture of the whole desk: four of them
// fill a slide of 3840 pixels.
const tableauSide = 1600

// shownAs says for which screen a picture is saved: this one, or one in sRGB.
type shownAs bool

const (
	forAnyScreen  shownAs = false
	forThisScreen shownAs = true
)

// askShown asks for a PNG or JPEG file and the screen that it is for.
func askShown(h *Host, title, name, about string, save func(s shownAs, path string)) {
	as := forAnyScreen
	var choice *widget.Choice
	choice = widget.NewChoice([]string{"sRGB", "this screen’s"}, 0, func(i int) {
		as = i == 1
		choice.Set(i)
	})
	whereTo{
		title: title, label: "File", path: filepath.Join(homeFor(h.State().Picture.Path), fileSafe(name)+".png"),
		about:  widget.NewProse(about, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5),
		choice: choice, choiceName: "Space",
		kinds: []writable{{"Save it", shownFile, func(path string) { save(as, path) }}},
	}.ask(h)
}

// shownFile is the file of a picture for screens by the name that was typed.
func shownFile(typed string) (path string, files []string, complaint string) {
	path = strings.TrimSpace(typed)
	if !slices.Contains([]string{".png", ".jpg", ".jpeg"}, strings.ToLower(filepath.Ext(path))) {
		return "", nil, "The name must end in .png or .jpg."
	}
	return path, []string{path}, ""
}

// on is a set-up for the screen that a picture is saved for.
func (s shownAs) on(set setup.Setup) setup.Setup {
	if s == forAnyScreen {
		set.Screen = ""
	}
	return set
}

// saveSheet saves the active sheet at full size.
func saveSheet(h *Host, as shownAs, path string) {
	now := h.State()
	sh, engine := now.Sheets[now.Active], h.Session.Engine()
	pic, set := h.Session.Store().Picture(now.PictureOf(sh)), as.on(now.Setup(sh))
	keep := keepOriginal(h)
	inFront(h, "The sheet’s picture", path, func(ctx context.Context, progress func(float64)) error {
		plan, err := engine.Plan(pic, set)
		if err != nil {
			return err
		}
		look, err := engine.Look(ctx, pic, set, proof.Fine)
		if err != nil {
			return err
		}
		px := pic.Levels[0]
		rows := photo.Rows{W: px.W, H: px.H, Channels: 3, Depth: 8, ICC: plan.Screen.Data(), Padded: true,
			Band: func(ctx context.Context, y0, y1 int) (raster.Pixels, error) {
				shown := raster.New(px.W, y1-y0, 4, false)
				return shown, look.Proof(ctx, shown.P8, px.Rows(y0, y1))
			}}
		return photo.WriteRows(ctx, path, rows, photo.WriteOptions{Keep: keep, Progress: func(rows int) { progress(float64(rows) / float64(px.H)) }})
	})
}

// saveDesk saves all sheets side by side.
func saveDesk(h *Host, as shownAs, path string) {
	d := deskPicture{now: h.State(), as: as, engine: h.Session.Engine()}
	d.pic = h.Session.Store().Picture(d.now.Picture.Key)
	for n := range d.now.Count {
		d.lies[n] = h.Session.Store().Picture(d.now.PictureOf(d.now.Sheets[n]))
	}
	keep := keepOriginal(h)
	inFront(h, "The desk’s picture", path, func(ctx context.Context, progress func(float64)) error {
		img, screen, err := d.draw(ctx, progress)
		if err != nil {
			return err
		}
		return photo.WriteRows(ctx, path, photo.Painted(img, screen.Data()), photo.WriteOptions{Keep: keep})
	})
}

// deskPicture lays the sheets of a desk out as one picture.
type deskPicture struct {
	now    session.State
	as     shownAs
	engine session.Engine
	pic    *session.Picture
	lies   [session.MaxSheets]*session.Picture // what lies on each sheet
}

func (d deskPicture) draw(ctx context.Context, progress func(float64)) (*image.RGBA, *proof.Profile, error) {
	small, err := d.small(ctx)
	if err != nil {
		return nil, nil, err
	}
	out := tableau.Desk{Sentence: d.now.Told().Text, Foot: tableau.Caution}
	if out.Sentence == "…" {
		out.Sentence = ""
	}
	for i, p := range d.now.Pins[:d.now.NumPins] {
		out.Marks = append(out.Marks, tableau.Mark{Name: p.Name, X: p.X, Y: p.Y})
		out.Foot = strings.Replace(out.Foot, tableau.Caution, fmt.Sprintf("%d %s.  ", i+1, p.Name)+tableau.Caution, 1)
	}
	var screen *proof.Profile
	for n := range d.now.Count {
		progress((float64(n) + 0.5) / float64(d.now.Count+1))
		s, shown, err := d.sheet(ctx, n, small)
		if err != nil {
			return nil, nil, err
		}
		out.Sheets, screen = append(out.Sheets, s), shown
	}
	img, err := tableau.Draw(out)
	return img, screen, err
}

// small is the picture at the size that it has on the tableau.
func (d deskPicture) small(ctx context.Context) (raster.Pixels, error) {
	px := d.pic.Levels[0]
	long := max(px.W, px.H)
	if long <= tableauSide {
		return px, nil
	}
	plan, err := d.engine.Plan(d.pic, d.now.Setup(d.now.Default))
	if err != nil {
		return px, err
	}
	return printfile.Resize(ctx, d.engine, plan.Source, px, max(1, px.W*tableauSide/long), max(1, px.H*tableauSide/long))
}

// sheet makes one sheet and returns the screen that it is for.
func (d deskPicture) sheet(ctx context.Context, n int, px raster.Pixels) (s tableau.Sheet, screen *proof.Profile, err error) {
	set, pic := d.as.on(d.now.Setup(d.now.Sheets[n])), d.lies[n]
	plan, err := d.engine.Plan(pic, set)
	if err != nil {
		return s, nil, err
	}
	if pic != d.pic {
		full := pic.Levels[0]
		if px, err = raster.Cut(ctx, pic.Levels, image.Rect(0, 0, full.W, full.H), px.W, px.H); err != nil {
			return s, nil, err
		}
	}
	look, err := d.engine.Look(ctx, pic, set, proof.Fine)
	if err != nil {
		return s, nil, err
	}
	var figures *proof.Figures
	if r := d.now.Results[n]; r.Measured {
		figures = &r.Figures
	}
	s.Title, s.Legend = tableau.Legend(plan, figures)
	if pic != d.pic {
		s.Title, s.Legend = words.Capital(pic.Info.Name), []string{pic.Info.Notes}
	}
	s.Paper = look.Ground()
	s.Picture = image.NewRGBA(image.Rect(0, 0, px.W, px.H))
	return s, plan.Screen, look.Proof(ctx, s.Picture.Pix, px)
}

// inFront does a job behind a dialog that shows how far it is and stops it. The notice
// strip tells how it ended.
func inFront(h *Host, what, path string, do func(ctx context.Context, progress func(float64)) error) {
	w := h.newWork()
	l := w.lane()
	gauge := widget.NewGauge()
	said := widget.NewProse(what+" is being made: "+path, toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 3)
	halt := widget.NewPress("Stop", l.stop)
	body := container.New(freeLayout{fyne.NewSize(420, 90), func(s fyne.Size) {
		set(said, 0, 0, s.Width, 60)
		set(gauge, 0, 68, s.Width, 12)
	}}, said, gauge)
	d := dialog.NewCustomWithoutButtons(what, body, h.Window)
	d.SetButtons([]fyne.CanvasObject{halt})
	h.front(d, front{closed: l.stop})
	d.Show()
	l.start(func(j job) func() {
		err := do(j, func(done float64) { j.post(func() { gauge.Set(done) }) })
		return func() {
			d.Hide()
			w.close()
			n := session.Notice{Headline: what + " is saved: " + path + "."}
			if err != nil {
				n = session.Explain(err, path)
			}
			h.Do(session.Tell{Notice: n})
		}
	})
}
