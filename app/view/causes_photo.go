package view

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"firstsheet/app/layout"
	"firstsheet/app/session"
	"firstsheet/app/theme"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/cause"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/register"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// toldPhoto is a photograph of the bad print.
type toldPhoto struct {
	path    string
	shot    *session.Picture // as it was taken, nil for none
	laid    *session.Picture // as it lies on the original, nil where it does not
	corners [4]register.Point
	read    cause.Photo
	refused string // why it was not read
}

// causePhoto opens a photograph, finds the print in it or has its corners set by hand.
type causePhoto struct {
	p       *causePrint
	path    *widget.Field
	open    *fyne.Container
	picture *widget.Drawing
	frame   *fyne.Container
	painter *cornersPicture
	again   *widget.Press
	next    *widget.Press
	away    *widget.Press
	tools   *fyne.Container
	said    *widget.Prose
	notes   *widget.Prose
	reading *lane
	looks   *looks // of the photograph as it was taken
	set     setup.Setup
	at      int // the corner that the keys move
}

func newCausePhoto(p *causePrint) *causePhoto {
	f := &causePhoto{p: p, reading: p.v.readingLane(), said: prose("", 8), notes: layout.Caption("")}
	f.looks = newLooks(p.v.work, func(setup.Setup) { f.picture.Again() }, func(err error) { f.said.SetText(session.Explain(err, "").Headline) })
	f.painter = &cornersPicture{ctx: p.v.work.ctx, looks: f.looks}
	f.picture = p.v.work.drawing(f.painter.paint)
	f.picture.Ground = theme.Desk
	f.frame = container.New(photoFrame{}, f.picture, newGrip(f.grab, f.drag, func() { f.read(true) }))
	f.path = widget.NewField("a photo or scan, then Return", nil)
	f.path.Text = f.told().path
	browse := widget.NewPress("choose…  (O)", f.ask)
	f.open = p.fileRow(f.path, browse, f.take)
	f.next = widget.NewPress("next corner  (N)", func() { f.at = (f.at + 1) % 4; f.show() })
	f.again = widget.NewPress("read it again  (J)", f.readOrStop)
	f.away = widget.NewPress("take it out", f.forget)
	f.tools = container.New(layout.Abreast{Gap: 8}, f.next, f.again, f.away)
	p.v.explain(p.column, f.path, "Even daylight, no glare, all of the print and some of its bare paper in sight. The picture must fill most of it.")
	p.v.explain(p.column, browse, "Choose the photo by a dialog.")
	p.v.explain(p.column, f.next, "Which corner of the printed picture the arrows move; it is marked. Corners can be dragged too.")
	p.v.explain(p.column, f.again, "Lay the photo onto the picture anew, from the corners as they are now.")
	p.v.explain(p.column, f.away, "The photo no longer counts and is forgotten.")
	return f
}

// photoFrame sets a drawing, and what is dragged over it, in two thirds of its width.
type photoFrame struct{}

func (photoFrame) Layout(o []fyne.CanvasObject, s fyne.Size) {
	for _, c := range o {
		set(c, 0, 0, s.Width, s.Height)
	}
}
func (photoFrame) HeightFor(_ []fyne.CanvasObject, w float32) float32 { return w * 0.68 }
func (l photoFrame) MinSize(o []fyne.CanvasObject) fyne.Size          { return fyne.NewSize(120, 90) }

func (f *causePhoto) objects() []fyne.CanvasObject {
	if f.told().shot == nil {
		return []fyne.CanvasObject{f.open, f.said}
	}
	return []fyne.CanvasObject{f.open, f.frame, f.tools, f.said, f.notes}
}

func (f *causePhoto) told() *toldPhoto { return &f.p.v.told.photo }

func (f *causePhoto) listPins() {}

func (f *causePhoto) update(now session.State) {
	if set := (setup.Setup{Screen: now.Screen.Key}); set != f.set {
		f.set = set
		f.want()
	}
}

// want has the photograph made ready for the screen.
func (f *causePhoto) want() {
	f.looks.forget()
	if shot := f.told().shot; shot != nil {
		f.looks.want(shot, []setup.Setup{photoSetup(shot, f.set.Screen)}, proof.Good)
	}
}

// photoSetup shows a photograph as it is.
func photoSetup(shot *session.Picture, screen string) setup.Setup {
	return setup.Setup{Source: shot.Info.Assumed, Screen: screen}
}

func (f *causePhoto) show() {
	t := f.told()
	if t.shot != nil {
		f.painter.set(cornersPlan{levels: t.shot.Levels, set: photoSetup(t.shot, f.set.Screen), corners: t.corners, at: f.at})
		f.picture.Again()
	}
	switch {
	case f.reading.busy(), t.shot == nil:
	case t.refused != "":
		f.said.SetText(t.refused)
	default:
		f.said.SetText(fmt.Sprintf("%d regions were compared; the likeness is %.2f of 1.", len(t.read.Regions), t.read.Match.Alike))
	}
	f.notes.SetText(session.Typeset(strings.Join(t.read.Notes, " ")))
	f.again.SetText(map[bool]string{false: "read it again  (J)", true: "stop  (J)"}[f.reading.busy()])
}

func (f *causePhoto) ask() { askFile(f.p.v.h, pictureFiles, "Read this photo", f.take) }

func (f *causePhoto) forget() {
	f.reading.drop()
	*f.told() = toldPhoto{}
	f.said.SetText("")
	f.p.v.answer.pair.forget()
	f.p.v.changed()
}

// take opens a photograph and reads it.
func (f *causePhoto) take(path string) {
	if path == "" {
		return
	}
	f.path.Put(path)
	f.reading.start(func(j job) func() {
		shot, err := openShot(j, path)
		return func() {
			if err != nil {
				f.say(causeRefusal(err, path))
				return
			}
			*f.told() = toldPhoto{path: path, shot: shot, corners: inset(shot)}
			f.want()
			f.read(false)
		}
	})
	f.say("The photo is being opened …")
}

func (f *causePhoto) say(s string) {
	f.said.SetText(s)
	f.p.column.Again()
}

func openShot(ctx context.Context, path string) (*session.Picture, error) {
	p, err := photo.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return shown(p, filepath.Base(path))
}

// shown makes a decoded picture one that a look can be applied to.
func shown(p *photo.Picture, name string) (*session.Picture, error) {
	src, err := setup.SourceOf(p, nil)
	if err != nil {
		return nil, err
	}
	pic := &session.Picture{Info: session.PictureInfo{Name: name, W: src.Picture.W, H: src.Picture.H, Channels: src.Picture.Channels},
		Levels: raster.Levels(src.Pixels()), Source: src}
	if src.Origin == setup.Assumed {
		pic.Info.Assumed = checkSpace
	}
	return pic, nil
}

// inset are corners to begin with where none are found.
func inset(shot *session.Picture) [4]register.Point {
	w, h := float64(shot.Info.W), float64(shot.Info.H)
	const in = 0.1
	return [4]register.Point{{X: in * w, Y: in * h}, {X: (1 - in) * w, Y: in * h}, {X: (1 - in) * w, Y: (1 - in) * h}, {X: in * w, Y: (1 - in) * h}}
}

func (f *causePhoto) readOrStop() {
	if f.reading.busy() {
		f.reading.stop()
		return
	}
	f.read(true)
}

// read lays the photograph onto the picture; byHand from the corners that were set.
func (f *causePhoto) read(byHand bool) {
	t, v := *f.told(), f.p.v
	pic := v.h.Session.Store().Picture(v.of.picture)
	if t.shot == nil || pic == nil {
		return
	}
	engine := v.h.Session.Engine()
	var corners []register.Point
	if byHand {
		corners = t.corners[:]
	}
	f.reading.start(func(j job) func() {
		read, err := cause.ReadPhoto(j, engine, pic.Source, t.shot.Source.Picture, corners, func(done float64) {
			j.post(func() { f.say("The print is sought in the photo … " + words.Share(done)) })
		})
		var laid *session.Picture
		if err == nil {
			j.post(func() { f.say("It is laid onto the picture, and its light evened …") })
			laid, err = laidOn(j, engine, t.shot, read, pic, t.shot.Info.Name, "")
		}
		return func() { f.done(t, read, laid, err) }
	})
	f.say("The print is sought in the photo …")
	f.p.v.changed()
}

// done takes what came of a reading. Of one that failed the corners stay as they were.
func (f *causePhoto) done(t toldPhoto, read cause.Photo, laid *session.Picture, err error) {
	t.read, t.laid, t.refused = read, laid, ""
	switch {
	case errors.Is(err, context.Canceled):
		t.read, t.refused = cause.Photo{}, "Stopped: the photo does not count."
	case err != nil:
		t.read, t.refused = cause.Photo{}, causeRefusal(err, t.path)
	default:
		t.corners = read.Match.Corners
	}
	*f.told() = t
	clear(f.p.v.told.laid)
	f.p.v.answer.pair.forget()
	f.p.v.changed()
}

func (f *causePhoto) typed(e *fyne.KeyEvent) bool {
	if e.Name == fyne.KeyO {
		f.ask()
		return true
	}
	t := f.told()
	if t.shot == nil {
		return false
	}
	step := float64(max(t.shot.Info.W, t.shot.Info.H)) / 250
	move := map[fyne.KeyName]register.Point{fyne.KeyUp: {Y: -step}, fyne.KeyDown: {Y: step}, fyne.KeyLeft: {X: -step}, fyne.KeyRight: {X: step}}
	by, is := move[e.Name]
	switch {
	case is:
		f.move(register.Point{X: t.corners[f.at].X + by.X, Y: t.corners[f.at].Y + by.Y})
	case e.Name == fyne.KeyN:
		f.at = (f.at + 1) % 4
		f.show()
	case e.Name == fyne.KeyJ:
		f.readOrStop()
	default:
		return false
	}
	return true
}

// move puts the corner that is moved to a place of the photograph.
func (f *causePhoto) move(to register.Point) {
	t := f.told()
	t.corners[f.at] = register.Point{X: min(max(to.X, 0), float64(t.shot.Info.W)), Y: min(max(to.Y, 0), float64(t.shot.Info.H))}
	f.show()
}

// point is the place of the photograph under a place of the drawing.
func (f *causePhoto) point(at fyne.Position) register.Point {
	s := f.picture.Size()
	k, x, y := fit(f.told().shot.Info.W, f.told().shot.Info.H, float64(s.Width), float64(s.Height))
	return register.Point{X: (float64(at.X) - x) / k, Y: (float64(at.Y) - y) / k}
}

// grab takes the corner nearest to a place.
func (f *causePhoto) grab(at fyne.Position) {
	if f.told().shot == nil {
		return
	}
	p, nearest := f.point(at), math.Inf(1)
	for i, c := range f.told().corners {
		if d := math.Hypot(c.X-p.X, c.Y-p.Y); d < nearest {
			nearest, f.at = d, i
		}
	}
	f.show()
}

func (f *causePhoto) drag(at fyne.Position) {
	if f.told().shot != nil {
		f.move(f.point(at))
	}
}
