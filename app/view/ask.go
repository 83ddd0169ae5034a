package view

import (
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	toolkit "fyne.io/fyne/v2/widget"

	"firstsheet/app/session"
	"firstsheet/proof/space"
)

// Endings of the files that can be opened.
var (
	pictureEndings = []string{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".hif", ".avif", ".JPG", ".JPEG", ".PNG", ".TIF", ".TIFF", ".WEBP", ".HEIC", ".HEIF", ".HIF", ".AVIF"}
	profileEndings = []string{".icc", ".icm", ".ICC", ".ICM"}
	ticketEndings  = []string{".json", ".JSON"}
)

func fileName(path string) string {
	if path == "" {
		return "the demo picture"
	}
	return filepath.Base(path)
}

// IsTicket tells a job ticket by its ending.
func IsTicket(path string) bool { return strings.ToLower(filepath.Ext(path)) == ".json" }

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

func isProfile(path string) bool {
	e := strings.ToLower(filepath.Ext(path))
	return e == ".icc" || e == ".icm"
}

// dropped takes files that were dropped on the window: profiles become papers, the first
// picture is opened, a job ticket lays the desk.
func dropped(h *Host, files []fyne.URI) {
	opened := false
	for _, f := range files {
		switch path := f.Path(); {
		case isProfile(path):
			h.Do(session.AddPaper{Path: path})
		case isFolder(path):
			h.Do(session.Tell{Notice: session.Notice{Headline: "‘" + filepath.Base(path) + "’ is a folder. To print all its pictures by one job, open the card ‘Print this’ (Ctrl P) and drop it there."}})
		case IsTicket(path):
			opened = true
			h.Session.OpenTicket(path)
		case !opened:
			opened = true
			h.Do(session.OpenPicture{Path: path})
		}
	}
}

// ask puts a question of the session by a dialog.
func ask(h *Host, what session.Ask) {
	switch what {
	case session.AskPicture:
		askFile(h, pictureEndings, "Open", func(path string) { h.Do(session.OpenPicture{Path: path}) })
	case session.AskPaper:
		askFile(h, profileEndings, "Add this paper", func(path string) { h.Do(session.AddPaper{Path: path}) })
	case session.AskScreen:
		askScreen(h)
	case session.AskSource:
		askSource(h)
	case session.AskPinName:
		askPinName(h)
	case session.AskTicket:
		askFile(h, ticketEndings, "Lay this desk", h.Session.OpenTicket)
	case session.AskSaveSheet:
		askSaveSheet(h)
	case session.AskSaveDesk:
		askSaveDesk(h)
	}
}

// askFile opens the file dialog, as large as the window allows.
func askFile(h *Host, endings []string, verb string, use func(path string)) {
	// Pictures and profiles lie in different places: each kind is looked for where
	// the last one was found.
	place := "folder of " + endings[0]
	d := dialog.NewFileOpen(func(f fyne.URIReadCloser, err error) {
		defer h.Focus()
		if err != nil {
			h.Do(session.Tell{Notice: session.Explain(err, "")})
			return
		}
		if f == nil {
			return
		}
		path := f.URI().Path()
		f.Close()
		h.Keep(place, filepath.Dir(path))
		use(path)
	}, h.Window)
	d.SetFilter(storage.NewExtensionFileFilter(endings))
	d.SetConfirmText(verb)
	d.SetDismissText("Leave it")
	from, _ := h.Kept(place).(string)
	switch endings[0] {
	default:
		d.SetTitleText("Choose a file")
	case profileEndings[0]:
		d.SetTitleText("Choose a profile: .icc or .icm")
	case ticketEndings[0]:
		d.SetTitleText("Choose a job ticket: .ticket.json")
	case pictureEndings[0]:
		d.SetTitleText("Choose a picture: JPEG, PNG, TIFF, WebP, HEIC or AVIF")
		if p := h.State().Picture.Path; p != "" {
			from = filepath.Dir(p)
		}
	}
	if from != "" {
		if l, err := storage.ListerForURI(storage.NewFileURI(from)); err == nil {
			d.SetLocation(l)
		}
	}
	s := h.Window.Canvas().Size()
	d.Resize(fyne.NewSize(min(s.Width-40, 1000), min(s.Height-40, 700)))
	escape(h, d)
	d.Show()
}

// escape lets the Escape key close a dialog, which the toolkit does not do of
// itself. closed is told that the dialog has gone.
func escape(h *Host, d dialog.Dialog, closed ...func()) {
	c := h.Window.Canvas()
	before := c.OnTypedKey()
	c.SetOnTypedKey(func(e *fyne.KeyEvent) {
		if e.Name == fyne.KeyEscape {
			d.Hide()
		}
	})
	d.SetOnClosed(func() {
		c.SetOnTypedKey(before)
		h.Focus()
		for _, f := range closed {
			f()
		}
	})
}

// askSource offers the spaces that the numbers may be in.
func askSource(h *Host) {
	s := h.State()
	if s.Picture.Key == 0 {
		return
	}
	if s.Picture.Assumed == "" {
		h.Do(session.Tell{Notice: session.Notice{
			Headline: "‘" + s.Picture.Name + "’ says itself which space its numbers are in: " + s.Picture.Named + ".",
			Hint:     "To see what happens when that is overridden, choose the slip ‘wrong source space’."}})
		return
	}
	var items []*fyne.MenuItem
	for _, sp := range space.All() {
		it := fyne.NewMenuItem(sp.Name, func() { h.Do(session.AssumeSource{Source: sp.ID}) })
		it.Checked = sp.ID == s.Picture.Assumed
		items = append(items, it)
	}
	items = append(items, fyne.NewMenuItemSeparator(), fyne.NewMenuItem("a profile file…", func() {
		askFile(h, profileEndings, "Take this space", func(path string) { h.Do(session.TakeProfile{Path: path, Source: true}) })
	}))
	openMenu(h, h.askedAt(session.AskSource), items)
}

// askScreen offers what the screen may be.
func askScreen(h *Host) {
	s := h.State()
	var items []*fyne.MenuItem
	assumed := fyne.NewMenuItem("sRGB, for want of a profile", func() {
		h.Do(session.SetScreen{Screen: session.Screen{Key: "srgb", Name: "sRGB", Assumed: true}})
	})
	assumed.Checked = s.Screen.Key == "srgb"
	items = append(items, assumed, fyne.NewMenuItem("a display profile file…", func() {
		askFile(h, profileEndings, "This is my screen", func(path string) {
			h.Do(session.TakeProfile{Path: path})
		})
	}))
	openMenu(h, h.askedAt(session.AskScreen), items)
}

func askPinName(h *Host) {
	s := h.State()
	if s.Pin < 0 || s.Pin >= s.NumPins {
		return
	}
	n := s.Pin
	name := toolkit.NewEntry()
	name.SetText(s.Pins[n].Name)
	var d *dialog.CustomDialog
	done := func() {
		d.Hide()
		h.Do(session.NamePin{N: n, Name: strings.TrimSpace(name.Text)})
	}
	name.OnSubmitted = func(string) { done() }
	take := toolkit.NewButton("Take this name", done)
	leave := toolkit.NewButton("Leave it", func() { d.Hide() })
	d = dialog.NewCustomWithoutButtons("What does this pin stand on?", name, h.Window)
	d.SetButtons([]fyne.CanvasObject{leave, take})
	d.Resize(fyne.NewSize(420, 170))
	escape(h, d)
	d.Show()
	h.Window.Canvas().Focus(name)
}
