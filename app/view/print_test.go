package view

import (
	"bytes"
	"context"
	"image"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/storage"

	"firstsheet/app/session"
	"firstsheet/app/session/sessiontest"
	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/printfile"
	"firstsheet/proof/setup"
	"firstsheet/proof/ticket"
)

// printDesk opens the print card on the real engine, with a place to keep prints.
func printDesk(t *testing.T) (*Host, *sessiontest.Queue, *printView) {
	t.Helper()
	h, q := realDesk(t)
	a, err := session.OpenArchive(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	h.Session.Resume(a, "")
	h.Do(session.OpenCard{ID: "print"})
	v := newPrintCard(h)
	b := v.built()
	t.Cleanup(func() {
		b.Close()
		h.jobs.Wait()
	})
	b.Content.Resize(fyne.NewSize(984, 628))
	h.Session.Watch(func(_, now session.State) { b.Update(now) })
	b.Update(h.State())
	j := h.State().Print
	j.Size, j.PPI = printfile.Size{By: printfile.LongEdge, Length: 30}, 100
	h.Do(session.SetPrint{Job: j})
	if !q.Until(func() bool { return v.print != nil && v.print.Job().PPI == 100 && !v.preparing.busy() }) {
		t.Fatal("there is no print")
	}
	return h, q, v
}

// What is written is the print that the card shows, with its tickets, and is kept.
func TestPrintCardWrites(t *testing.T) {
	h, q, v := printDesk(t)
	path := filepath.Join(t.TempDir(), "a.tif")
	if p, files, no := v.printFiles(" " + path + " "); p != path || len(files) != 3 || no != "" {
		t.Fatalf("it would write %v: %s", files, no)
	}
	v.writeFile(path)
	if !q.Until(func() bool { return !v.files.busy() }) {
		t.Fatal("it is never written")
	}
	if !strings.Contains(v.foot.Text, "is written") {
		t.Fatalf("it says %q", v.foot.Text)
	}
	p, err := photo.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	stock, _ := h.Session.Store().Paper("pearl")
	// 30 mm at 100 ppi are 118 pixels; the picture is three times as wide as it is high.
	if p.W != 118 || p.H != 39 || p.Depth != 16 || !bytes.Equal(p.ICC, stock.Profile.Data()) {
		t.Errorf("%d by %d pixels of %d bits, profile of %d bytes", p.W, p.H, p.Depth, len(p.ICC))
	}
	k, err := ticket.Open(filepath.Join(filepath.Dir(path), "a.ticket.json"))
	if err != nil {
		t.Fatal(err)
	}
	want, _ := h.State().PrintJob()
	k.Job.Sharpen.Finish = want.Sharpen.Finish // found out from the paper's card
	if k.Job != want || len(k.Pins) != h.State().NumPins || k.Picture.Name != "regatta" {
		t.Errorf("the ticket says %+v, %d pins of %q", k.Job, len(k.Pins), k.Picture.Name)
	}
	if b, err := os.ReadFile(filepath.Join(filepath.Dir(path), "a.ticket.pdf")); err != nil || !bytes.HasPrefix(b, []byte("%PDF")) {
		t.Errorf("the page: %v", err)
	}

	// It is among the past prints, takes a note, and can be made again.
	v.show(pastPrints)
	if !q.Until(func() bool { return len(v.past.prints) == 1 }) {
		t.Fatal("the print is not listed")
	}
	v.past.verdict.OnChosen(1)
	v.past.notes.SetText("lovely reds")
	v.past.note()
	if !q.Until(func() bool { return len(v.past.prints) == 1 && v.past.prints[0].Outcome.Notes == "lovely reds" }) {
		t.Fatal("the note is not kept")
	}
	if o := v.past.prints[0].Outcome; o.Verdict != ticket.Good || o.Judged == "" {
		t.Errorf("noted is %+v", o)
	}
	j := h.State().Print
	j.PPI = 300
	h.Do(session.SetPrint{Job: j})
	h.Do(session.SetIntent{Intent: proof.Perceptual})
	v.past.repeat()
	if st := h.State(); st.Print.PPI != 100 || st.Sheets[1].Intent != proof.RelativeColorimetric {
		t.Errorf("it is not set as it was: %+v", st.Print)
	}
}

// The card names the sheet that is active, also where another one with the same set-up was.
func TestPrintCardNamesTheActiveSheet(t *testing.T) {
	h, _, v := printDesk(t)
	if !strings.HasPrefix(v.form.of.Text, "Sheet 2:") || !strings.Contains(v.form.of.Text, "relative, with compensation") {
		t.Fatalf("it prints %q", v.form.of.Text)
	}
	h.Do(session.CopySetup{From: 1, To: 0})
	if !strings.HasPrefix(v.form.of.Text, "Sheet 1:") {
		t.Errorf("with sheet 1 active it prints %q", v.form.of.Text)
	}
	h.Do(session.SetIntent{Intent: proof.AbsoluteColorimetric})
	if strings.Contains(v.form.of.Text, "compensation") {
		t.Errorf("the absolute intent knows no compensation, and it prints %q", v.form.of.Text)
	}
}

// A card that is closed while it writes ends the writing, and this is told.
func TestClosingTheCardEndsTheWriting(t *testing.T) {
	h, q, v := printDesk(t)
	v.files.start("The print file", "a.tif", func(ctx context.Context, _ func(float64)) (string, error) {
		<-ctx.Done()
		return "", ctx.Err()
	})
	v.work.close()
	h.jobs.Wait()
	for q.Step() {
	}
	if n := h.State().Notice; !strings.Contains(n.Headline, "card was closed") || !strings.Contains(n.Headline, "half written") || n.Failure {
		t.Errorf("it says %+v", n)
	}
}

// Original and mistakes are not printed, and the card offers what mends it.
func TestPrintCardRefuses(t *testing.T) {
	h, q, v := printDesk(t)
	for _, c := range []struct {
		do   session.Action
		says string
	}{{session.SetWrong{On: true}, "right way"}, {session.Activate{N: 0}, "original"}} {
		h.Do(c.do)
		if v.print != nil || !v.write.Off || !strings.Contains(v.facts.Text, c.says) || !v.mend.Visible() {
			t.Errorf("%T: it says %q, writing off %t, mending %t", c.do, v.facts.Text, v.write.Off, v.mend.Visible())
		}
		v.askFile()
		v.writeFile(filepath.Join(t.TempDir(), "x.tif"))
		if v.files.busy() {
			t.Fatalf("%T: it is written", c.do)
		}
		h.Do(v.mending)
		if !q.Until(func() bool { return v.print != nil && !v.write.Off }) {
			t.Fatalf("%T: it is not mended", c.do)
		}
	}
}

// What is typed goes to the job at once; what is none is told and stops writing.
func TestPrintFormTakesWhatIsTyped(t *testing.T) {
	h, _, v := printDesk(t)
	f := v.form
	field := func(name string) *fieldOf {
		for i := range f.fields {
			if f.fields[i].name == name {
				return &f.fields[i]
			}
		}
		t.Fatalf("no field %s", name)
		return nil
	}
	typed := func(name, s string) { field(name).f.SetText(s) }
	typed("length", "4cm")
	if j := h.State().Print; j.Size != (printfile.Size{By: printfile.LongEdge, Length: 40}) {
		t.Errorf("size %+v", j.Size)
	}
	typed("sheet", "12x16in")
	typed("margins", "5 6 7 20")
	typed("shift right", "-3")
	j := h.State().Print
	if math.Abs(j.Sheet.W-12*25.4) > 1e-9 || j.Sheet.Margins != (printfile.Margins{Left: 5, Top: 6, Right: 7, Bottom: 20}) || j.ShiftX != -3 {
		t.Errorf("sheet %+v, shift %g", j.Sheet, j.ShiftX)
	}
	typed("ppi", "many")
	if !v.write.Off || !strings.Contains(v.facts.Text, "‘many’") || h.State().Print.PPI != 100 {
		t.Errorf("‘many’ ppi: writing off %t, it says %q", v.write.Off, v.facts.Text)
	}
	typed("ppi", "")
	if h.State().Print.PPI != 0 {
		t.Error("the picture's own pixels can't be chosen")
	}
	typed("ppi", "240")
	// No sheet leaves nothing to fit.
	j = h.State().Print
	j.Size.By = printfile.FitSheet
	h.Do(session.SetPrint{Job: j})
	typed("sheet", "")
	if j := h.State().Print; !j.Sheet.None() || j.Size.By != printfile.LongEdge || j.PPI != 240 {
		t.Errorf("without a sheet: %+v, %+v", j.Sheet, j.Size)
	}
	f.kept.Unit = inches
	f.show()
	if got := field("length").f.Text; got != "1.57" { // 40 mm
		t.Errorf("40 mm are %q in", got)
	}
}

func TestLengths(t *testing.T) {
	for _, c := range []struct {
		unit   lengthUnit
		text   string
		signed bool
		mm     float64
		ok     bool
	}{
		{millimetres, "12", false, 12, true}, {inches, "2", false, 50.8, true}, {inches, "2 cm", false, 20, true}, {centimetres, "1,5", false, 15, true},
		{millimetres, "", false, 0, true}, {millimetres, "0", false, 0, true}, {millimetres, "-2", true, -2, true}, {centimetres, "−2", true, -20, true},
		{millimetres, "-2", false, 0, false}, {millimetres, "two", false, 0, false}, {millimetres, "NaN", true, 0, false}, {millimetres, "1e9", false, 0, false},
	} {
		mm, ok := c.unit.parse(c.text, c.signed)
		if ok != c.ok || ok && mm != c.mm {
			t.Errorf("%q in %s is %g, %t; want %g, %t", c.text, lengthUnits[c.unit], mm, ok, c.mm, c.ok)
		}
	}
}

// At print size an inch of the print is as many of the screen's pixels as an inch has.
func TestPrintSizeIsTrue(t *testing.T) {
	_, _, v := printDesk(t)
	l := v.print.Layout() // 118 by 39 pixels at 100 ppi
	s := printShown{print: v.print, ppi: 200, x: 0.5, y: 0.5}
	part, to := s.seen(100, 400)
	if part.Dx() != 50 || to.Dx() != 100 || part.Dy() != l.H || to.Dy() != 2*l.H {
		t.Errorf("%v of the print is seen on %v", part, to)
	}
	// The edge is reached, and not more than it.
	s.x = 1
	if part, _ = s.seen(100, 400); part.Max.X != l.W {
		t.Errorf("at the right edge %v is seen of %d", part, l.W)
	}
	s.ppi = 50
	if part, to = s.seen(1000, 400); part != image.Rect(0, 0, l.W, l.H) || to.Dx() != l.W/2 {
		t.Errorf("a whole print of %d pixels: %v on %v", l.W, part, to)
	}
}

// A dropped folder is printed by the card's job; one that fails is named and the others
// are done. One picture that is dropped is the desk's.
func TestPrintCardPrintsFolders(t *testing.T) {
	h, q, v := printDesk(t)
	dir, out := t.TempDir(), filepath.Join(t.TempDir(), "prints")
	pic, _, _ := fieldPicture(context.Background())
	if err := photo.Write(context.Background(), filepath.Join(dir, "good.png"), pic, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "bad.jpg"), []byte("no picture"), 0o666); err != nil {
		t.Fatal(err)
	}
	if v.many.dropped([]string{filepath.Join(dir, "good.png")}) {
		t.Error("the card takes a picture that is for the desk")
	}
	if !v.many.dropped([]string{dir}) || v.tabs.Chosen != int(manyPictures) || h.Window.Canvas().Overlays().Top() == nil {
		t.Error("the card does not ask what to do with a folder")
	}
	// The open picture's space is not offered where it is sRGB, as everything is taken for.
	if v.many.space.Visible() || v.many.untagged() != "" {
		t.Errorf("offered is %q", v.many.space.Items)
	}
	now := h.State()
	now.Picture.Assumed = "romm"
	if v.many.follow(now); !v.many.space.Visible() || v.many.untagged() != "" || !strings.HasPrefix(v.many.space.Items[1], "ROMM RGB") {
		t.Errorf("offered is %q", v.many.space.Items)
	}
	v.many.space.OnChosen(1)
	if v.many.untagged() != "romm" {
		t.Errorf("chosen is %q", v.many.untagged())
	}
	v.many.follow(h.State())
	if v.many.untagged() != "" {
		t.Error("another picture keeps what was chosen for the one before")
	}
	v.many.start([]string{filepath.Join(dir, "bad.jpg"), filepath.Join(dir, "good.png")}, out)
	if !q.Until(func() bool { return !v.files.busy() }) {
		t.Fatal("it never ends")
	}
	for q.Step() {
	}
	if !strings.HasPrefix(v.foot.Text, "1 of 2 pictures could not be printed") || len(v.many.lines) != 2 {
		t.Errorf("it says %q, with %d lines", v.foot.Text, len(v.many.lines))
	}
	if p, err := photo.Open(context.Background(), filepath.Join(out, "good.tif")); err != nil || p.W != 118 {
		t.Errorf("the good one: %v", err)
	}
}

// The active sheet is saved pixel by pixel as the engine shows it, for the screen that was
// asked for.
func TestSaveSheetAndDesk(t *testing.T) {
	h, q := realDesk(t)
	t.Cleanup(h.jobs.Wait)
	dir := t.TempDir()
	sheet, all := filepath.Join(dir, "sheet.png"), filepath.Join(dir, "all.png")
	saved := func(path string) *photo.Picture {
		t.Helper()
		if !q.Until(func() bool { return strings.Contains(h.State().Notice.Headline, path) }) {
			t.Fatalf("%s is not saved: %q", path, h.State().Notice.Headline)
		}
		p, err := photo.Open(context.Background(), path)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	saveSheet(h, forAnyScreen, sheet)
	p := saved(sheet)
	pic := h.Session.Store().Picture(h.State().Picture.Key)
	set := setup.Usual("pearl")
	set.White = proof.PaperWhite
	plan, err := h.Session.Engine().Plan(pic, set)
	if err != nil {
		t.Fatal(err)
	}
	chain, err := h.Session.Engine().Chain(plan)
	if err != nil {
		t.Fatal(err)
	}
	defer chain.Close()
	if p.W != 90 || p.H != 30 || !bytes.Equal(p.ICC, plan.Screen.Data()) {
		t.Errorf("%d by %d, a profile of %d bytes", p.W, p.H, len(p.ICC))
	}
	for i, c := range fields {
		want := chain.Value([]float64{float64(c[0]) / 255, float64(c[1]) / 255, float64(c[2]) / 255}).Screen
		got := p.At(15+30*i, 15)
		for k := range 3 {
			// A fine grid is within a step and a half of the exact chain.
			if d := (got[k] - want[k]) * 255; d > 1.5 || d < -1.5 {
				t.Errorf("field %d is saved as %v, want %v", i, got, want)
			}
		}
	}
	saveDesk(h, forThisScreen, all)
	if p := saved(all); p.W < 2*90 || p.H < 30 || len(p.ICC) == 0 {
		t.Errorf("the desk: %d by %d", p.W, p.H)
	}
	// Nothing is saved over the picture itself.
	if _, _, no := shownFile("x.tif"); no == "" {
		t.Error("a TIFF for a screen is taken")
	}
}

// A file that holds a paper's numbers says so when it is opened.
func TestConvertedPictureIsTold(t *testing.T) {
	h, q := realDesk(t)
	path := filepath.Join(t.TempDir(), "done.tif")
	pic, _, _ := fieldPicture(context.Background())
	pic.Space = nil
	for _, p := range paper.All() {
		if p.ID == "cotton" {
			pic.ICC = p.Profile.Data()
		}
	}
	if err := photo.Write(context.Background(), path, pic, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	dropped(h, []fyne.URI{storage.NewFileURI(path)})
	if !q.Until(func() bool { return strings.Contains(h.State().Notice.Headline, "converted for printing already") }) {
		t.Fatalf("it says %q", h.State().Notice.Headline)
	}
	if n := h.State().Notice; !n.Failure || !strings.Contains(n.Hint, "as it is") {
		t.Errorf("the notice %+v", n)
	}
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
}

// A print file that lost its profile is known by the ticket that was kept of it.
func TestPrintFileWithoutProfileIsKnown(t *testing.T) {
	h, q, v := printDesk(t)
	dir := t.TempDir()
	v.writeFile(filepath.Join(dir, "print.tif"))
	if !q.Until(func() bool { return !v.files.busy() }) {
		t.Fatal("it is never written")
	}
	p, err := photo.Open(context.Background(), filepath.Join(dir, "print.tif"))
	if err != nil {
		t.Fatal(err)
	}
	p.ICC = nil
	bare := filepath.Join(dir, "bare.tif")
	if err := photo.Write(context.Background(), bare, p, photo.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	dropped(h, []fyne.URI{storage.NewFileURI(bare)})
	if !q.Until(func() bool { return strings.Contains(h.State().Notice.Headline, "lost its profile") }) {
		t.Fatalf("it says %q", h.State().Notice.Headline)
	}
	if n := h.State().Notice; n.Failure || !strings.Contains(n.Headline, "for Pearl") || !strings.Contains(n.Hint, "as it is") {
		t.Errorf("the notice %+v", n)
	}
}

// The print is moved on its sheet, and the picture in its frame, by mouse and keys; both end
// in the job, and are drawn to scale on the way.
func TestPrintMoves(t *testing.T) {
	h, q, v := printDesk(t)
	settled := func(do func(j *printfile.Job)) {
		j := h.State().Print
		do(&j)
		h.Do(session.SetPrint{Job: j})
		if !q.Until(func() bool {
			return v.print != nil && v.print.Job().Sheet == j.Sheet && v.print.Job().Crop == j.Crop && v.print.Job().Size == j.Size && !v.preparing.busy()
		}) {
			t.Fatal("there is no print")
		}
		v.picture.onSheet(400, 300, 1)
	}
	settled(func(j *printfile.Job) {
		j.Sheet, _ = printfile.ParseSheet("200x200mm")
		j.Sheet.Margins = printfile.Even(10)
	})
	for !q.Until(func() bool { return v.picture.look(v.picture.now()) != nil }) {
		t.Fatal("it is never seen")
	}
	v.picture.onSheet(400, 300, 1)
	before := v.picture.part
	k := v.picture.perMM
	v.sheet.OnDrag(20*k, -10*k)
	v.picture.onSheet(400, 300, 1)
	if got := v.picture.part; math.Abs(got[0]-before[0]-20*k) > 1 || math.Abs(got[1]-before[1]+10*k) > 1 || math.Abs(got[2]-before[2]) > 1 {
		t.Errorf("while it is dragged it lies at %v, before at %v, %g pixels to a millimetre", got, before, k)
	}
	if h.State().Print.ShiftX != 0 {
		t.Error("the job changes before the mouse lets go")
	}
	v.sheet.OnDragEnd()
	if j := h.State().Print; math.Abs(j.ShiftX-20) > 1e-9 || math.Abs(j.ShiftY+10) > 1e-9 {
		t.Errorf("it was moved by %g, %g", j.ShiftX, j.ShiftY)
	}
	// Strokes count though the print is not made anew between them.
	v.typed(&fyne.KeyEvent{Name: fyne.KeyLeft})
	v.typed(&fyne.KeyEvent{Name: fyne.KeyLeft})
	if j := h.State().Print; math.Abs(j.ShiftX-18) > 1e-9 {
		t.Errorf("a key moved it to %g", j.ShiftX)
	}
	q.Until(func() bool { return !v.preparing.busy() })
	v.typed(&fyne.KeyEvent{Name: fyne.KeyHome})
	if j := h.State().Print; j.ShiftX != 0 || j.ShiftY != 0 {
		t.Error("Home leaves it aside")
	}

	// A filled sheet: the picture slides in its frame, as far as there is more of it.
	settled(func(j *printfile.Job) { j.Size.By = printfile.FillSheet })
	if !v.move.slides() {
		t.Fatal("a filled sheet moves as a whole")
	}
	v.sheet.OnDrag(1e6, 0)
	v.sheet.OnDragEnd()
	if j := h.State().Print; j.KeepX != -1 || j.KeepY != 0 || j.ShiftX != 0 {
		t.Errorf("dragged far to the right it keeps %g, %g", j.KeepX, j.KeepY)
	}

	// A crop that was typed.
	f := v.form
	typeInto := func(name, text string) {
		for _, o := range f.fields {
			if o.name == name {
				o.f.SetText(text)
			}
		}
	}
	typeInto("cut", "10 0 20 0")
	if c := h.State().Print.Crop; math.Abs(c.X-0.1) > 1e-9 || math.Abs(c.W-0.7) > 1e-9 || c.H != 1 {
		t.Errorf("typed is a crop of %+v", c)
	}
	if s := cutText(h.State().Print.Crop); s != "10 0 20 0" {
		t.Errorf("it shows %q", s)
	}
	for _, no := range []string{"60 0 60 0", "1 2", "x"} {
		if _, ok := parseCut(no); ok {
			t.Errorf("%q is taken for a cut", no)
		}
	}
}

// An edge or a corner is pulled by the mouse, drawn where it is pulled to, and an edge by the keys.
func TestPrintEdges(t *testing.T) {
	h, q, v := printDesk(t)
	for !q.Until(func() bool { return v.picture.look(v.picture.now()) != nil }) {
		t.Fatal("it is never seen")
	}
	v.picture.onSheet(400, 300, 1)
	r, l := v.picture.part, v.print.Layout()
	perMM := v.picture.perMM
	scale := v.sheet.Scale()
	v.sheet.OnGrab(r[0]+r[2]-2*scale, r[1]+2*scale) // the upper right corner
	v.sheet.OnDrag(-3*perMM, 0)
	v.sheet.OnDrag(-3*perMM, 2*perMM)
	v.picture.onSheet(400, 300, 1)
	if got := v.picture.part; math.Abs(got[2]-r[2]+6*perMM) > 2 || math.Abs(got[1]-r[1]-2*perMM) > 2 || math.Abs(got[0]-r[0]) > 1 {
		t.Errorf("while it is pulled it lies at %v, before at %v, %g pixels to a millimetre", got, r, perMM)
	}
	if h.State().Print.Crop != (printfile.Crop{}) {
		t.Error("the job changes before the mouse lets go")
	}
	v.sheet.OnDragEnd()
	c := h.State().Print.Crop
	if math.Abs(c.W-(1-6/l.Picture.W)) > 0.02 || math.Abs(c.Y-2/l.Picture.H) > 0.04 || c.X != 0 {
		t.Errorf("it is cut to %+v", c)
	}
	if !q.Until(func() bool { return v.print != nil && v.print.Job().Crop == c && !v.preparing.busy() }) {
		t.Fatal("there is no print")
	}
	v.picture.onSheet(400, 300, 1)
	r = v.picture.part
	v.sheet.OnGrab(r[0]+r[2]/2, r[1]+r[3]/2)
	if v.move.pulled != 0 {
		t.Error("the middle of the print is an edge")
	}

	v.typed(&fyne.KeyEvent{Name: fyne.KeyX})
	v.typed(&fyne.KeyEvent{Name: fyne.KeyRight})
	v.typed(&fyne.KeyEvent{Name: fyne.KeyRight})
	if got := h.State().Print.Crop; got.X <= 0 || math.Abs(got.X+got.W-c.X-c.W) > 0.01 || got.Y != c.Y {
		t.Errorf("the left edge was pulled by keys: %+v", got)
	}
	for range 4 {
		v.typed(&fyne.KeyEvent{Name: fyne.KeyX})
	}
	if v.move.held != 0 {
		t.Error("after the last edge one is still held")
	}
}
