package view

import "fyne.io/fyne/v2"

// wholeScreen gives the screen to the window's content alone, without the menu bar, and
// brings the window back as it was: for the sheets, and for a card that is projected.
//
// The window changes only after what is being handled now: a menu that the card was
// chosen from must not vanish under the click.
type wholeScreen struct {
	win    fyne.Window
	post   func(func())
	wanted bool
	given  bool

	menu   *fyne.MainMenu // of the window as it was
	filled bool           // it filled the screen already
}

func (s *wholeScreen) give(on bool) {
	if on == s.wanted {
		return
	}
	s.wanted = on
	s.post(s.settle)
}

// settle does what was asked for last.
func (s *wholeScreen) settle() {
	if s.wanted == s.given {
		return
	}
	s.given = s.wanted
	if s.given {
		s.menu, s.filled = s.win.MainMenu(), s.win.FullScreen()
		s.win.SetFullScreen(true)
		s.setMenu(nil)
	} else {
		s.win.SetFullScreen(s.filled)
		s.setMenu(s.menu)
	}
	s.win.Content().Refresh()
}

// setMenu sets the menu bar, or takes it away. The toolkit gives the bar its room but
// does not give its room back to the window.
func (s *wholeScreen) setMenu(menu *fyne.MainMenu) {
	s.win.SetMainMenu(menu)
	if content := s.win.Content(); menu == nil && content != nil {
		content.Move(fyne.NewPos(0, 0))
		content.Resize(s.win.Canvas().Size())
	}
}
