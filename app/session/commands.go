package session

import (
	"slices"

	"firstsheet/app/overlay"
	"firstsheet/proof"
)

// Commands lists everything a person can do by key or menu, menu by menu in the order
// of the items.
func Commands(papers Papers) []Command {
	return slices.Concat(pictureCommands(), sheetCommands(), deskCommands(papers), routeCommands(papers),
		movingCommands(), heldCommands(), overlayCommands(), lookingCommands(), pinCommands(), helpCommands())
}

// do is an action that is always the same.
func do(a Action) func(State) Action { return func(State) Action { return a } }

// havingPicture returns an action where a picture is open.
func havingPicture(a Action) func(State) Action {
	return func(s State) Action {
		if s.Picture.Key == 0 {
			return nil
		}
		return a
	}
}

// pictureCommands open pictures and say what they and the screen are.
func pictureCommands() []Command {
	return []Command{
		{ID: "open", Menu: MenuPicture, Name: "Open a picture…", Key: "O", Ctrl: true,
			Help: "open a photograph: JPEG, PNG, TIFF, WebP, HEIC or AVIF", Act: do(AskFor{AskPicture})},
		{ID: "demo", Menu: MenuPicture, Name: "Demo picture",
			Help: "open the regatta picture that comes with the program", Act: do(OpenPicture{Demo: true})},
		{ID: "reload", Menu: MenuPicture, Name: "Read the picture anew", Key: "R", Ctrl: true,
			Help: "read the picture’s file again, pins kept", Act: do(ReloadPicture{})},
		{ID: "ticket", Menu: MenuPicture, Name: "Job ticket: open…", Key: "J", Ctrl: true,
			Help: "lay the desk as a job ticket says, and tell what has changed since", Act: do(AskFor{AskTicket})},
		{ID: "savesheet", Menu: MenuPicture, Name: "Save this sheet’s picture…", Key: "S", Ctrl: true,
			Help: "save the active sheet as it looks, at full size, for a screen: PNG or JPEG", Act: havingPicture(AskFor{AskSaveSheet})},
		{ID: "savedesk", Menu: MenuPicture, Name: "Export the desk as one picture…", Key: "E", Ctrl: true,
			Help: "save all sheets side by side with legends, pins and the sentence, for a slide or a client", Act: havingPicture(AskFor{AskSaveDesk})},
		{ID: "source", Menu: MenuPicture, Name: "Say what space its numbers are in…", Key: "U",
			Help: "say which space an unlabelled picture’s numbers are in",
			Act:  do(AskFor{AskSource})},
		{ID: "screen", Menu: MenuPicture, Name: "The screen’s profile…",
			Help: "say which profile the screen has", Act: do(AskFor{AskScreen})},
	}
}

// sheetCommands lay, take away and choose sheets.
func sheetCommands() []Command {
	list := []Command{
		{ID: "undo", Menu: MenuSheets, Name: "Undo", Key: "Z", Ctrl: true,
			Help: "take back the last change of what is set on the desk",
			Act: func(s State) Action {
				if !s.CanUndo {
					return nil
				}
				return Undo{}
			}},
		{ID: "redo", Menu: MenuSheets, Name: "Redo", Key: "Y", Ctrl: true,
			Help: "make again what was taken back",
			Act: func(s State) Action {
				if !s.CanRedo {
					return nil
				}
				return Redo{}
			}},

		{ID: "add", Menu: MenuSheets, Name: "Lay another sheet beside", Key: "Insert",
			Help: "lay another sheet on the desk, up to four", Act: do(AddSheet{})},
		{ID: "remove", Menu: MenuSheets, Name: "Take this sheet away", Key: "Delete",
			Help: "take the active sheet away",
			Act:  func(s State) Action { return RemoveSheet{s.Active} }},
		{ID: "asoriginal", Menu: MenuSheets, Name: "Make this sheet the original",
			Help: "make the active sheet the original, or a proof again",
			Act: func(s State) Action {
				return SetOriginal{!s.Sheets[s.Active].Original}
			},
			On: func(s State) bool { return s.Sheets[s.Active].Original }},
		{ID: "sheetmenu", Menu: MenuSheets, Name: "All for this sheet…", Key: "F9",
			Help: "open the active sheet’s own menu, with that of the chosen pin", Act: havingPicture(AskFor{AskSheet})},
		{ID: "givesetup", Menu: MenuSheets, Name: "Give the next sheet this set-up",
			Help: "give the sheet after the active one the same paper, intent and slip",
			Act: func(s State) Action {
				if s.Count < 2 {
					return nil
				}
				return CopySetup{s.Active, (s.Active + 1) % s.Count}
			}},
		{ID: "difference", Menu: MenuSheets, Name: "Difference from the original", Key: "D",
			Help: "show the active sheet as a map of ΔE00 against the original",
			Act: func(s State) Action {
				if sh := s.Sheets[s.Active]; sh.Show == ShowDifference && sh.Against < 0 {
					return SetShow{ShowPicture, -1}
				}
				return SetShow{ShowDifference, -1}
			},
			On: func(s State) bool {
				sh := s.Sheets[s.Active]
				return sh.Show == ShowDifference && sh.Against < 0
			}},
		{ID: "differencenext", Menu: MenuSheets, Name: "Difference from the next sheet",
			Help: "show the active sheet as a map of ΔE00 against the sheet after it",
			Act: func(s State) Action {
				next := (s.Active + 1) % s.Count
				if sh := s.Sheets[s.Active]; sh.Show == ShowDifference && sh.Against == next {
					return SetShow{ShowPicture, -1}
				}
				if next == s.Active {
					return nil
				}
				return SetShow{ShowDifference, next}
			},
			On: func(s State) bool {
				sh := s.Sheets[s.Active]
				return sh.Show == ShowDifference && sh.Against >= 0
			}},
	}
	for i := range MaxSheets {
		list = append(list, Command{ID: "sheet" + itoa(i+1), Menu: MenuSheets,
			Name: "Sheet " + itoa(i+1), Key: itoa(i + 1), Help: "make sheet " + itoa(i+1) + " the active one",
			Act: func(s State) Action {
				if i >= s.Count {
					return nil
				}
				return Activate{i}
			},
			On: func(s State) bool { return s.Active == i }})
	}
	return list
}

// deskCommands lay ready-made desks.
func deskCommands(papers Papers) (list []Command) {
	for i, d := range Desks() {
		list = append(list, Command{ID: "desk-" + d.ID, Menu: MenuSheets, Name: "Desk: " + d.Name,
			Key: itoa(i + 1), Ctrl: true, Help: d.Help,
			Act: func(State) Action { return TakeDesk{d.ID, papers.First()} },
			On:  func(s State) bool { return s.Desk == d.ID }})
	}
	return list
}

// routeCommands choose paper, conversion and slip.
func routeCommands(papers Papers) []Command {
	return []Command{
		{ID: "paper", Menu: MenuRoute, Name: "Another paper", Key: "A",
			Help: "put the proof on the next paper of the list",
			Act: func(s State) Action {
				sh, _ := s.Proof()
				return SetPaper{papers.Next(sh.Paper)}
			}},
		{ID: "papers", Menu: MenuRoute, Name: "Choose the paper…",
			Help: "open the list of your papers", Act: do(AskFor{AskPapers})},
		{ID: "addpaper", Menu: MenuRoute, Name: "New paper from a profile…", Key: "N", Ctrl: true,
			Help: "add a printer profile to your papers", Act: do(AskFor{AskPaper})},
		{ID: "intent", Menu: MenuRoute, Name: "Next intent", Key: "I",
			Help: "perceptual, relative, saturation, absolute in turn",
			Act: func(s State) Action {
				sh, _ := s.Proof()
				return SetIntent{(sh.Intent + 1) % proof.Intent(len(proof.Intents()))}
			}},
		{ID: "compensation", Menu: MenuRoute, Name: "Compensation", Key: "C",
			Help: "black point compensation on or off",
			Act: func(s State) Action {
				sh, _ := s.Proof()
				return SetBPC{!sh.BPC}
			},
			On: func(s State) bool { sh, _ := s.Proof(); return sh.BPC }},
		{ID: "slip", Menu: MenuRoute, Name: "Choose the slip…",
			Help: "open the list of what can go wrong", Act: do(AskFor{AskSlip})},
		{ID: "wrong", Menu: MenuRoute, Name: "Gone wrong", Key: "G",
			Help: "as it should be, or gone wrong by the chosen slip",
			Act: func(s State) Action {
				sh, _ := s.Proof()
				return SetWrong{!sh.Wrong}
			},
			On: func(s State) bool { sh, _ := s.Proof(); return sh.Wrong }},
	}
}

// movingCommands move all sheets.
func movingCommands() []Command {
	list := []Command{
		{ID: "fit", Menu: MenuMoving, Name: "Fit the whole picture", Key: "F",
			Help: "show the whole picture", Act: do(Fit{}), On: func(s State) bool { return s.View.Fit }},
		{ID: "each", Menu: MenuMoving, Name: "Each pixel, one to one", Key: "E",
			Help: "show each picture pixel as one screen pixel, at the pointer",
			Act: func(s State) Action {
				if s.Pointer.Over {
					return OneToOne{s.Pointer.X, s.Pointer.Y}
				}
				return OneToOne{-1, -1}
			},
			On: func(s State) bool { return !s.View.Fit && s.View.Scale == 1 }},
		{ID: "in", Menu: MenuMoving, Name: "Nearer", Key: "+", Help: "nearer; the wheel does it at the pointer", Act: do(Zoom{1.25})},
		{ID: "out", Menu: MenuMoving, Name: "Farther", Key: "-", Help: "farther", Act: do(Zoom{0.8})},
	}
	for _, p := range []struct {
		id, name, key string
		dx, dy        float64
	}{
		{"panleft", "Look further left", "Left", 80, 0}, {"panright", "Look further right", "Right", -80, 0},
		{"panup", "Look further up", "Up", 0, 80}, {"pandown", "Look further down", "Down", 0, -80},
	} {
		list = append(list, Command{ID: p.id, Menu: MenuMoving, Name: p.name, Key: p.key,
			Help: "move all sheets", Act: do(Pan{p.dx, p.dy})})
	}
	return list
}

// heldCommands show something in the active sheet's place while a key is held.
func heldCommands() (list []Command) {
	for _, h := range []struct {
		id, name, help, key string
		what                Held
	}{
		{"holdoriginal", "Original in place", "hold: the original in the active sheet’s place", "O", HeldOriginal},
		{"holdproof", "Proof in place", "hold: the proof as it should be in the active sheet’s place", "P", HeldProof},
		{"holdslip", "Slip in place", "hold: the chosen slip in the active sheet’s place", "S", HeldSlip},
		{"holdnext", "Next sheet in place", "hold: the next sheet in the active sheet’s place (blink)", "N", HeldNext},
	} {
		list = append(list, Command{ID: h.id, Menu: MenuLooking, Name: h.name, Key: h.key, Help: h.help,
			Held: true, Act: do(Hold{h.what}), Release: do(Hold{HeldNone}),
			On: func(s State) bool { return s.Held == h.what }})
	}
	return list
}

// looking is an action that changes how one looks.
func looking(f func(*Looking)) func(State) Action {
	return func(s State) Action {
		l := s.Looking
		f(&l)
		return SetLooking{l}
	}
}

// overlayCommands say where sheets differ and what is drawn over them.
func overlayCommands() []Command {
	list := []Command{{ID: "differ", Menu: MenuLooking, Name: "Where do they differ?", Key: "X",
		Help: "take all sheets to the place where they differ most, then to the next; hold N to blink",
		Act:  do(FindDifference{})}}
	for _, o := range overlay.Switched() {
		list = append(list, Command{ID: o.ID, Menu: MenuLooking, Name: o.Switch, Key: o.Key, Help: o.Help,
			Act: looking(func(l *Looking) { l.Overlays = l.Overlays.With(o.ID, !l.Overlays.Has(o.ID)) }),
			On:  func(s State) bool { return s.Looking.Overlays.Has(o.ID) }})
	}
	return list
}

// lookingCommands change how the sheets and what is round them are seen.
func lookingCommands() []Command {
	return []Command{
		{ID: "holdbands", Menu: MenuLooking, Name: "Bands for a moment", Key: "B", Held: true,
			Help:    "hold: reach bands, or the sheet without them",
			Act:     do(HoldBands{true}),
			Release: do(HoldBands{false}),
			On:      func(s State) bool { return s.Looking.BandsHeld }},
		{ID: "white", Menu: MenuLooking, Name: "Paper’s white", Key: "W",
			Help: "show paper and ink as printed, or the paper’s white as the screen’s white",
			Act: func(s State) Action {
				sh, _ := s.Proof()
				if sh.White == proof.PaperWhite {
					return SetWhite{proof.ScreenWhite}
				}
				return SetWhite{proof.PaperWhite}
			},
			On: func(s State) bool { sh, _ := s.Proof(); return sh.White == proof.PaperWhite }},
		{ID: "toobright", Menu: MenuLooking, Name: "Screen too bright",
			Help: "darken the sheets as prints look beside a screen that is set too bright",
			Act:  looking(func(l *Looking) { l.TooBright = !l.TooBright }),
			On:   func(s State) bool { return s.Looking.TooBright }},
		{ID: "looking", Menu: MenuLooking, Name: "More ways of looking", Key: "L",
			Help: "unfold all papers, the picture’s numbers, reach bands and other ways of looking",
			Act: func(s State) Action {
				f := s.Folds
				f.Looking = !f.Looking
				return Unfold{f}
			},
			On: func(s State) bool { return s.Folds.Looking }},
		{ID: "bare", Menu: MenuLooking, Name: "Only the sheets, on the whole screen", Key: "F11",
			Help: "leave nothing but the sheets; every key goes on working, the same key or Escape brings the rest back",
			Act:  func(s State) Action { return SetBare{!s.Bare} },
			On:   func(s State) bool { return s.Bare }},
		{ID: "light", Menu: MenuLooking, Name: "Light surroundings",
			Help: "light or dark surroundings; the desk stays the same grey",
			Act:  func(s State) Action { return SetLight{!s.Light} },
			On:   func(s State) bool { return s.Light }},
	}
}

// helpCommands help to find the others.
func helpCommands() []Command {
	return []Command{{ID: "menus", Menu: MenuHelp, Name: "Menus by the keyboard", Key: "F10",
		Help: "open the menus: arrows move, Return takes; Alt with a menu’s letter opens that one: P S R M L C H, I for Pins",
		Act:  do(AskFor{AskMenus})}}
}

// withPin returns an action where a pin is chosen.
func withPin(act func(State) Action) func(State) Action {
	return func(s State) Action {
		if s.Pin < 0 {
			return nil
		}
		return act(s)
	}
}

// pinCommands put, choose and name pins.
func pinCommands() []Command {
	return []Command{
		{ID: "mark", Menu: MenuPins, Name: "Mark with a pin", Key: "M",
			Help: "put a pin where the pointer is, or in the middle",
			Act: func(s State) Action {
				if s.Pointer.Over {
					return PutPin{X: s.Pointer.X, Y: s.Pointer.Y}
				}
				x, y := centre(s)
				return PutPin{X: x, Y: y}
			}},
		{ID: "propose", Menu: MenuPins, Name: "Key colours: propose pins", Key: "K", Ctrl: true,
			Help: "put pins on the picture’s own key colours: vivid ones, skin-like, neutral, darkest and lightest with texture",
			Act:  do(ProposePins{})},
		{ID: "pinname", Menu: MenuPins, Name: "Name the chosen pin…",
			Help: "give the chosen pin a name",
			Act:  withPin(func(State) Action { return AskFor{AskPinName} })},
		{ID: "pincentre", Menu: MenuPins, Name: "Move the chosen pin to the middle",
			Help: "move the chosen pin to the middle of what the sheets show",
			Act: withPin(func(s State) Action {
				x, y := centre(s)
				return MovePin{N: s.Pin, X: x, Y: y}
			})},
		{ID: "pinwider", Menu: MenuPins, Name: "Read a wider circle",
			Help: "the chosen pin reads the mean of a wider circle",
			Act:  withPin(func(s State) Action { return WidenPin{N: s.Pin, Factor: 1.5} })},
		{ID: "pinnarrower", Menu: MenuPins, Name: "Read a narrower circle",
			Help: "the chosen pin reads the mean of a narrower circle",
			Act:  withPin(func(s State) Action { return WidenPin{N: s.Pin, Factor: 1 / 1.5} })},
		{ID: "pindelete", Menu: MenuPins, Name: "Pull the chosen pin out", Key: "BackSpace",
			Help: "take the chosen pin away",
			Act:  withPin(func(s State) Action { return DeletePin{s.Pin} })},
		{ID: "pinnext", Menu: MenuPins, Name: "Choose the next pin", Key: "J",
			Help: "jump to the next pin",
			Act: func(s State) Action {
				if s.NumPins == 0 {
					return nil
				}
				return ChoosePin{(s.Pin + 1) % s.NumPins}
			}},
		{ID: "pinless", Menu: MenuPins, Name: "Zero pins in sight", Key: "Z",
			Help: "hide the pins on the sheets, or show them again",
			Act:  looking(func(l *Looking) { l.NoPins = !l.NoPins }),
			On:   func(s State) bool { return s.Looking.NoPins }},
		{ID: "table", Menu: MenuPins, Name: "Table of pins", Key: "T",
			Help: "fold or unfold the table of pins",
			Act: func(s State) Action {
				f := s.Folds
				f.Pins = !f.Pins
				return Unfold{f}
			},
			On: func(s State) bool { return s.Folds.Pins }},
	}
}
