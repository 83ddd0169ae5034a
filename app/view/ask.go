package view

import (
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof/space"
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

// IsProfile tells an ICC profile by its ending.
func IsProfile(path string) bool {
	return profileFiles.takes(path)
}

// dropped takes files that were dropped on the window: profiles become papers, the first
// picture is opened, a job ticket lays the desk.
func dropped(h *Host, files []fyne.URI) {
	opened := false
	for _, f := range files {
		switch path := f.Path(); {
		case IsProfile(path):
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
		askFile(h, pictureFiles, "Open", func(path string) { h.Do(session.OpenPicture{Path: path}) })
	case session.AskPaper:
		askFile(h, profileFiles, "Add this paper", func(path string) { h.Do(session.AddPaper{Path: path}) })
	case session.AskScreen:
		askScreen(h)
	case session.AskSource:
		askSource(h)
	case session.AskPinName:
		askPinName(h)
	case session.AskTicket:
		askFile(h, ticketFiles, "Lay this desk", h.Session.OpenTicket)
	case session.AskSaveSheet:
		askSaveSheet(h)
	case session.AskSaveDesk:
		askSaveDesk(h)
	case session.AskMenus:
		openMenus(h, 0)
	case session.AskSlip:
		slipMenu(h, h.askedAt(what))
	case session.AskPapers:
		paperMenu(h, h.askedAt(what))
	case session.AskSheet:
		h.sheetMenu()
	}
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
	var lines []offer
	for _, sp := range space.All() {
		l := doing(h, sp.Name, session.AssumeSource{Source: sp.ID})
		l.Set = sp.ID == s.Picture.Assumed
		lines = append(lines, l)
	}
	lines = append(lines, offer{Item: widget.Item{Text: "a profile file…"}, act: func() {
		askFile(h, profileFiles, "Take this space", func(path string) { h.Do(session.TakeProfile{Path: path, Source: true}) })
	}})
	openMenu(h, h.askedAt(session.AskSource), lines)
}

// askScreen offers what the screen may be.
func askScreen(h *Host) {
	s := h.State()
	assumed := doing(h, "sRGB, for want of a profile",
		session.SetScreen{Screen: session.Screen{Key: "srgb", Name: "sRGB", Assumed: true}})
	assumed.Set = s.Screen.Key == "srgb"
	openMenu(h, h.askedAt(session.AskScreen), []offer{assumed, {Item: widget.Item{Text: "a display profile file…"}, act: func() {
		askFile(h, profileFiles, "This is my screen", func(path string) { h.Do(session.TakeProfile{Path: path}) })
	}}})
}

func askPinName(h *Host) {
	s := h.State()
	if s.Pin < 0 || s.Pin >= s.NumPins {
		return
	}
	n := s.Pin
	var d *dialog.CustomDialog
	name := newField(s.Pins[n].Name, nil, nil, func() { d.Hide() })
	done := func() {
		d.Hide()
		h.Do(session.NamePin{N: n, Name: strings.TrimSpace(name.Text)})
	}
	name.OnSubmitted = func(string) { done() }
	take := widget.NewPress("Take this name", done)
	leave := widget.NewPress("Leave it", func() { d.Hide() })
	d = dialog.NewCustomWithoutButtons("What does this pin stand on?", name, h.Window)
	d.SetButtons([]fyne.CanvasObject{leave, take})
	d.Resize(fyne.NewSize(420, 170))
	h.front(d, front{})
	d.Show()
	focusField(h, name, true)
}
