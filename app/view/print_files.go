package view

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"time"

	toolkittheme "fyne.io/fyne/v2/theme"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/pin"
	"firstsheet/proof/printfile"
	"firstsheet/proof/ticket"
)

// ticketFiles are the job tickets beside a print file.
func (k printKept) ticketFiles(path string) []string {
	var out []string
	stem := strings.TrimSuffix(path, filepath.Ext(path))
	if k.JSON {
		out = append(out, stem+".ticket.json")
	}
	if k.PDF {
		out = append(out, stem+".ticket.pdf")
	}
	return out
}

// askFile asks where the print file is to be written.
func (v *printView) askFile() {
	if v.print == nil || v.files.busy() || v.preparing.busy() {
		return
	}
	now, l := v.h.State(), v.print.Layout()
	name := bareName(now.Picture.Name) + " on " + v.print.Paper().Name + " " + strings.NewReplacer(" × ", "x", " ", "").Replace(v.form.kept.Unit.area(l.Picture))
	whereTo{
		title: "The print file", label: "File",
		path:  filepath.Join(homeFor(now.Picture.Path), fileSafe(name)+printKinds[v.form.kept.Kind].ending),
		about: widget.NewProse(session.Typeset(printfile.Instruction(v.print.Job().Converts, v.print.Paper().Name)), toolkittheme.SizeNameText, toolkittheme.ColorNameForeground, 5),
		kinds: []writable{{"Write it", v.printFiles, v.writeFile}},
	}.ask(v.h)
}

// printFiles are the files that are written by the name that was typed.
func (v *printView) printFiles(typed string) (path string, files []string, complaint string) {
	path = strings.TrimSpace(typed)
	ext := strings.ToLower(filepath.Ext(path))
	tiff := ext == ".tif" || ext == ".tiff"
	switch {
	case v.print == nil:
		return "", nil, "There is nothing to print any more."
	case !tiff && !slices.Contains([]string{".png", ".jpg", ".jpeg"}, ext):
		return "", nil, "The name must end in .tif, .png or .jpg."
	case !tiff && v.print.Embedded().Channels() > 3:
		return "", nil, "Only a TIFF holds inks: let the name end in .tif."
	}
	return path, append([]string{path}, v.form.kept.ticketFiles(path)...), ""
}

// printWriting is all that is needed to write a print file.
type printWriting struct {
	engine  session.Engine
	pic     *session.Picture
	job     printfile.Job
	pins    []pin.Pin
	keep    []string
	tickets []string
	archive *session.Archive // nil where prints are not kept
}

// writeFile writes the print file and its tickets.
func (v *printView) writeFile(path string) {
	if v.print == nil || v.files.busy() {
		return
	}
	now := v.h.State()
	w := printWriting{engine: v.h.Session.Engine(), pic: v.h.Session.Store().Picture(v.of.picture), job: v.of.job,
		pins: append([]pin.Pin(nil), now.Pins[:now.NumPins]...), keep: keepOriginal(v.h), tickets: v.form.kept.ticketFiles(path), archive: v.h.Session.Archive()}
	if p := v.print.Paper().Path; p != "" {
		w.keep = append(w.keep, p)
	}
	v.files.start("The print file", path, func(ctx context.Context, progress func(float64)) (string, error) { return w.write(ctx, path, progress) })
}

func (w printWriting) write(ctx context.Context, path string, progress func(float64)) (string, error) {
	p, err := preparePrint(ctx, w.engine, w.pic, w.job)
	if err != nil {
		return "", err
	}
	defer p.Close()
	if err := p.Write(ctx, path, w.keep, progress); err != nil {
		return "", err
	}
	done := "The print file is written: " + path + "."
	t, err := w.record(ctx, p, path)
	if err != nil {
		return "", &partly{done + " Its job ticket is not.", err}
	}
	var beside []string
	for _, f := range w.tickets {
		if err := t.Write(ctx, f, append(w.keep, path)); err != nil {
			return "", &partly{done, err}
		}
		beside = append(beside, filepath.Base(f))
	}
	if len(beside) > 0 {
		done += " Beside it: " + strings.Join(beside, ", ") + "."
	}
	if w.archive != nil {
		if err := w.archive.Keep(t); err != nil {
			return "", &partly{done + " It is not among the past prints.", err}
		}
		done += " It is among the past prints."
	}
	return done, nil
}

// record makes the ticket of a print that was written.
func (w printWriting) record(ctx context.Context, p *printfile.Print, path string) (ticket.Ticket, error) {
	hash := ""
	if w.pic.Info.Path != "" {
		var err error
		if hash, err = ticket.Hash(ctx, w.pic.Info.Path); err != nil {
			return ticket.Ticket{}, err
		}
	}
	t, err := ticket.New(ctx, w.engine, p, path, hash, w.pins, time.Now())
	t.Picture.Name = w.pic.Info.Name
	t.Picture.Path = w.pic.Info.Path // the demo has none
	return t, err
}
