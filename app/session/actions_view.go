package session

// Fit shows the whole picture.
type Fit struct{}

func (Fit) reduce(s State) State {
	s.View = Viewport{Fit: true}
	return s
}

// OneToOne shows a picture pixel on each device pixel, around a picture
// point, or around the middle when X is below 0.
type OneToOne struct{ X, Y float64 }

func (a OneToOne) reduce(s State) State {
	cx, cy := a.X, a.Y
	if cx < 0 {
		cx, cy = centre(s)
	}
	s.View = clampView(s.Cell, Viewport{Scale: 1, CX: cx, CY: cy}, s.Picture.W, s.Picture.H)
	return s
}

// ZoomAt zooms by a factor about a point of the cell in device pixels.
type ZoomAt struct{ X, Y, Factor float64 }

func (a ZoomAt) reduce(s State) State {
	s.View = zoomAt(s, a.X, a.Y, a.Factor)
	return s
}

// Zoom zooms by a factor about the cell's middle.
type Zoom struct{ Factor float64 }

func (a Zoom) reduce(s State) State {
	s.View = zoomAt(s, float64(s.Cell.W)/2, float64(s.Cell.H)/2, a.Factor)
	return s
}

// Pan moves the picture by device pixels.
type Pan struct{ DX, DY float64 }

func (a Pan) reduce(s State) State {
	if s.View.Fit {
		return s
	}
	s.View.CX -= a.DX / s.View.Scale
	s.View.CY -= a.DY / s.View.Scale
	s.View = clampView(s.Cell, s.View, s.Picture.W, s.Picture.H)
	return s
}

// Resize tells the room that each cell has.
type Resize struct{ Cell Cell }

func (a Resize) reduce(s State) State {
	s.Cell = a.Cell
	s.View = clampView(s.Cell, s.View, s.Picture.W, s.Picture.H)
	return s
}

// Hold shows something for as long as a key is held.
type Hold struct{ What Held }

func (a Hold) reduce(s State) State {
	s.Held, s.Peek = a.What, Route{}
	return s
}

// HoldBands turns the bands round for as long as a key is held.
type HoldBands struct{ On bool }

func (a HoldBands) reduce(s State) State {
	s.Looking.BandsHeld = a.On
	return s
}

// Unfold folds or unfolds a part of the bench.
type Unfold struct{ Folds Folds }

func (a Unfold) reduce(s State) State {
	s.Folds = a.Folds
	return s
}

// Point tells where the mouse is over the picture.
type Point struct{ Pointer Pointer }

func (a Point) reduce(s State) State {
	s.Pointer = a.Pointer
	return s
}

// OpenCard opens a card, or closes the open one when ID is "" or the same.
type OpenCard struct{ ID string }

func (a OpenCard) reduce(s State) State {
	if a.ID == s.Card {
		a.ID = ""
	}
	s.Card, s.Bare, s.Lesson = a.ID, false, LessonOn{}
	return letGo(s)
}

// OpenLesson opens the lesson on a slip at one of its five pages.
type OpenLesson struct{ On LessonOn }

func (a OpenLesson) reduce(s State) State {
	s.Card = ""
	s = OpenCard{ID: LessonCard}.reduce(s)
	s.Lesson = a.On
	return s
}

// LessonCard is the ID of the card that holds the lesson.
const LessonCard = "lesson"

// AskFor makes the window put a question; AskNothing withdraws it.
type AskFor struct{ Ask Ask }

func (a AskFor) reduce(s State) State {
	s.Ask = a.Ask
	return letGo(s)
}

// letGo ends what lasts as long as a key is held: its release goes elsewhere now.
func letGo(s State) State {
	s.Held, s.Looking.BandsHeld = HeldNone, false
	return s
}

// SetLight chooses light or dark surroundings.
type SetLight struct{ On bool }

func (a SetLight) reduce(s State) State {
	s.Light = a.On
	return s
}

// SetBare leaves nothing but the sheets, or brings the rest back.
type SetBare struct{ On bool }

func (a SetBare) reduce(s State) State {
	s.Bare = a.On
	return s
}

// DismissNotice takes the notice away.
type DismissNotice struct{}

func (DismissNotice) reduce(s State) State {
	s.Notice = Notice{Serial: s.Notice.Serial}
	return s
}

// Tell puts a sentence into the notice strip.
type Tell struct{ Notice Notice }

func (a Tell) reduce(s State) State {
	return tell(s, a.Notice)
}

func tell(s State, n Notice) State {
	n.Serial = s.Notice.Serial + 1
	s.Notice = n
	return s
}

func centre(s State) (float64, float64) {
	if s.View.Fit {
		return float64(s.Picture.W) / 2, float64(s.Picture.H) / 2
	}
	return s.View.CX, s.View.CY
}
