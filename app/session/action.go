package session

import (
	"image/color"
	"math"
	"strings"
)

// Action is one thing that happened: a person did something, or a result came.
type Action interface{}

// Actions of the person at the desk.
type (
	// Activate makes sheet N the active one.
	Activate struct{ N int }
	// SetSheets lays N sheets on the desk.
	SetSheets struct{ N int }
	// AddSheet lays a copy of the active proof beside the others.
	AddSheet struct{}
	// RemoveSheet takes sheet N away; the last one stays.
	RemoveSheet struct{ N int }
	// CopySetup gives sheet To the set-up of sheet From.
	CopySetup struct{ From, To int }
	// TakeDesk lays a ready-made desk. Papers names the papers at hand, in order.
	TakeDesk struct {
		ID     string
		Papers [MaxSheets]string
	}
	// SetPaper puts the active proof on a paper.
	SetPaper struct{ ID string }
	// SetOriginal makes the active sheet the original, or a proof again.
	SetOriginal struct{ On bool }
	// SetIntent sets the active proof's intent.
	SetIntent struct{ Intent Intent }
	// SetBPC sets the active proof's black point compensation.
	SetBPC struct{ On bool }
	// SetWhite sets the white of all sheets: beside each other, two whites would mislead.
	SetWhite struct{ White White }
	// SetWrong throws the large switch of the active proof.
	SetWrong struct{ On bool }
	// SetSlip chooses the active proof's slip and throws the switch.
	SetSlip struct{ Slip Slip }
	// SetShow chooses what the active sheet shows.
	SetShow struct {
		Show    Show
		Against int
	}
	// SetLooking replaces how the sheets are looked at.
	SetLooking struct{ Looking Looking }
	// Fit shows the whole picture.
	Fit struct{}
	// OneToOne shows a picture pixel on each device pixel, around a picture
	// point, or around the middle when X is below 0.
	OneToOne struct{ X, Y float64 }
	// ZoomAt zooms by a factor about a point of the cell in device pixels.
	ZoomAt struct{ X, Y, Factor float64 }
	// Zoom zooms by a factor about the cell's middle.
	Zoom struct{ Factor float64 }
	// Pan moves the picture by device pixels.
	Pan struct{ DX, DY float64 }
	// Resize tells the room that each cell has.
	Resize struct{ Cell Cell }
	// Hold shows something for as long as a key is held.
	Hold struct{ What Held }
	// HoldBands turns the bands round for as long as a key is held.
	HoldBands struct{ On bool }
	// Unfold folds or unfolds a part of the bench.
	Unfold struct{ Folds Folds }
	// PutPin puts a pin at a picture point.
	PutPin struct {
		X, Y float64
		Name string
	}
	// MovePin moves pin N.
	MovePin struct {
		N    int
		X, Y float64
	}
	// NamePin names pin N.
	NamePin struct {
		N    int
		Name string
	}
	// DeletePin takes pin N away.
	DeletePin struct{ N int }
	// SetPinRadius sets the radius of pin N in picture pixels.
	SetPinRadius struct {
		N      int
		Radius float64
	}
	// ProposePins asks the program for the picture's own telling colours.
	ProposePins struct{}
	// ChoosePin chooses pin N; -1 chooses none.
	ChoosePin struct{ N int }
	// SetPins replaces all pins, for instance by proposed ones.
	SetPins struct {
		Pins [MaxPins]Pin
		N    int
	}
	// Point tells where the mouse is over the picture.
	Point struct{ Pointer Pointer }
	// OpenPicture asks for a picture; Path "" with Demo opens the demo picture.
	OpenPicture struct {
		Path string
		Demo bool
	}
	// ReloadPicture reads the open picture anew and keeps pins and view.
	ReloadPicture struct{}
	// AssumeSource says what space the numbers are in: a space ID, "file:..." or
	// "" for what the file says.
	AssumeSource struct{ Source string }
	// AddPaper adds a profile file to the papers.
	AddPaper struct{ Path string }
	// TakeProfile asks for a profile file to become the screen's or the source's.
	TakeProfile struct {
		Path   string
		Source bool
	}
	// SetScreen sets the screen's profile.
	SetScreen struct{ Screen Screen }
	// OpenCard opens a card, or closes the open one when ID is "" or the same.
	OpenCard struct{ ID string }
	// AskFor makes the window put a question; AskNothing withdraws it.
	AskFor struct{ Ask Ask }
	// SetLight chooses light or dark surroundings.
	SetLight struct{ On bool }
	// DismissNotice takes the notice away.
	DismissNotice struct{}
	// Tell puts a sentence into the notice strip.
	Tell struct{ Notice Notice }
)

// Actions of the runner.
type (
	// PictureOpened tells that the picture of request Serial lies in the Store.
	PictureOpened struct {
		Serial int
		Info   PictureInfo
		Pins   [MaxPins]Pin
		NumPin int
	}
	// PinsProposed brings proposed pins for a picture.
	PinsProposed struct {
		Picture int
		Pins    [MaxPins]Pin
		N       int
	}
	// PictureFailed tells that it could not be opened.
	PictureFailed struct {
		Serial int
		Notice Notice
	}
	// LibraryChanged tells that the Store has a new list of papers; Use is a
	// paper to put the active proof on, or "".
	LibraryChanged struct {
		Serial int
		Use    string
		Notice Notice
	}
	// PapersSavedAnew tells that a profile in use has new content.
	PapersSavedAnew struct{}
	// PaperFailed tells that a paper could not be added.
	PaperFailed struct {
		Serial int
		Notice Notice
	}
	// RequestStarted gives sheet N's request its number.
	RequestStarted struct {
		N   int
		Gen uint64
	}
	// RouteFound carries the route of a request.
	RouteFound struct {
		N     int
		Gen   uint64
		Route Route
	}
	// PeekFound carries the route of what a held key shows.
	PeekFound struct {
		Held  Held
		Route Route
	}
	// SetupRefused tells that a set-up can't be.
	SetupRefused struct {
		N      int
		Gen    uint64
		Reason string
	}
	// FiguresFound carries figures, or progress towards them.
	FiguresFound struct {
		N       int
		Gen     uint64
		Done    float64
		Figures Figures
	}
	// ValuesFound carries the pins' values and the sentence of a sheet.
	ValuesFound struct {
		N      int
		Gen    uint64
		Values [MaxPins]PinValue
		Words  string
		Spoken int
	}
	// FrameDone tells that a new set of buffers lies in the Store.
	FrameDone struct {
		Frame  uint64
		Stale  [MaxSheets]bool
		Ground [MaxSheets]color.RGBA
	}
	// TaskChanged tells how long work goes on; an empty Name ends it.
	TaskChanged struct{ Task Task }
)

// Reduce returns the state after a. It changes nothing else and starts nothing.
func Reduce(s State, a Action) State {
	switch a := a.(type) {
	case Activate:
		if a.N >= 0 && a.N < s.Count {
			s.Active = a.N
		}
	case SetSheets:
		s = setCount(s, a.N)
	case AddSheet:
		if s.Count < MaxSheets {
			sh, _ := s.Proof()
			s.Sheets[s.Count] = sh
			s.Results[s.Count] = Result{}
			s.Active = s.Count
			s.Count++
			s.Desk = ""
		}
	case RemoveSheet:
		s = removeSheet(s, a.N)
	case CopySetup:
		if valid(s, a.From) && valid(s, a.To) && a.From != a.To {
			show, against := s.Sheets[a.To].Show, s.Sheets[a.To].Against
			s.Sheets[a.To] = s.Sheets[a.From]
			s.Sheets[a.To].Show, s.Sheets[a.To].Against = show, against
			s.Active = a.To
			s.Desk = ""
		}
	case TakeDesk:
		s = takeDesk(s, a)
	case SetPaper:
		s = change(s, func(sh *Sheet) { sh.Paper = a.ID })
	case SetOriginal:
		if valid(s, s.Active) {
			s.Sheets[s.Active].Original = a.On
			s.Desk = ""
		}
	case SetIntent:
		s = change(s, func(sh *Sheet) { sh.Intent = a.Intent })
	case SetBPC:
		s = change(s, func(sh *Sheet) { sh.BPC = a.On })
	case SetWhite:
		for i := range s.Sheets {
			s.Sheets[i].White = a.White
		}
		s.Default.White = a.White
	case SetWrong:
		s = change(s, func(sh *Sheet) { sh.Wrong = a.On })
	case SetSlip:
		s = change(s, func(sh *Sheet) { sh.Slip, sh.Wrong, sh.Slip.Chosen = a.Slip, true, true })
	case SetShow:
		if valid(s, s.Active) {
			s.Sheets[s.Active].Show, s.Sheets[s.Active].Against = a.Show, a.Against
		}
	case SetLooking:
		s.Looking = a.Looking
	case Fit:
		s.View = Viewport{Fit: true}
	case OneToOne:
		cx, cy := a.X, a.Y
		if cx < 0 {
			cx, cy = centre(s)
		}
		s.View = clampView(s.Cell, Viewport{Scale: 1, CX: cx, CY: cy}, s.Picture.W, s.Picture.H)
	case ZoomAt:
		s.View = zoomAt(s, a.X, a.Y, Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Scale*a.Factor)
	case Zoom:
		s.View = zoomAt(s, float64(s.Cell.W)/2, float64(s.Cell.H)/2,
			Place(s.Cell, s.View, s.Picture.W, s.Picture.H).Scale*a.Factor)
	case Pan:
		if !s.View.Fit {
			s.View.CX -= a.DX / s.View.Scale
			s.View.CY -= a.DY / s.View.Scale
			s.View = clampView(s.Cell, s.View, s.Picture.W, s.Picture.H)
		}
	case Resize:
		s.Cell = a.Cell
		s.View = clampView(s.Cell, s.View, s.Picture.W, s.Picture.H)
	case Hold:
		s.Held, s.Peek = a.What, Route{}
	case HoldBands:
		s.Looking.BandsHeld = a.On
	case Unfold:
		s.Folds = a.Folds
	case PutPin:
		if s.NumPins < MaxPins && inside(s, a.X, a.Y) {
			name := a.Name
			if name == "" {
				name = freeName(s)
			}
			s.Pins[s.NumPins] = Pin{Name: name, X: a.X, Y: a.Y, Radius: defaultRadius(s.Picture)}
			s.Pin = s.NumPins
			s.NumPins++
			s.Folds.Pins = true
		}
	case MovePin:
		if validPin(s, a.N) {
			s.Pins[a.N].X = clamp(a.X, 0, math.Max(float64(s.Picture.W)-1, 0))
			s.Pins[a.N].Y = clamp(a.Y, 0, math.Max(float64(s.Picture.H)-1, 0))
		}
	case NamePin:
		if validPin(s, a.N) && a.Name != "" {
			s.Pins[a.N].Name = a.Name
		}
	case DeletePin:
		s = deletePin(s, a.N)
	case SetPinRadius:
		if validPin(s, a.N) {
			s.Pins[a.N].Radius = clamp(a.Radius, 0, 500)
		}
	case ChoosePin:
		s.Pin = -1
		if validPin(s, a.N) {
			s.Pin = a.N
		}
	case ProposePins:
		s.Proposing++
	case PinsProposed:
		if a.Picture == s.Picture.Key {
			n := 0
			for ; n < a.N && s.NumPins < MaxPins; n++ {
				s.Pins[s.NumPins] = a.Pins[n]
				s.NumPins++
			}
			if n > 0 {
				s.Folds.Pins = true
			}
		}
	case SetPins:
		s.Pins, s.NumPins, s.Pin = a.Pins, clampInt(a.N, 0, MaxPins), -1
		s.Values = [MaxSheets][MaxPins]PinValue{}
	case Point:
		s.Pointer = a.Pointer
	case OpenPicture:
		s.Loading = Loading{Serial: s.Loading.Serial + 1, Path: a.Path, Demo: a.Demo}
	case ReloadPicture:
		s.Loading = Loading{Serial: s.Loading.Serial + 1, Path: s.Picture.Path, Demo: s.Picture.Path == "",
			Source: s.Picture.Assumed, Keep: true}
	case AssumeSource:
		s.Picture.Assumed = a.Source
	case AddPaper:
		s.Adding = AddingPaper{Serial: s.Adding.Serial + 1, Path: a.Path}
	case TakeProfile:
		s.Wish = Wish{Serial: s.Wish.Serial + 1, Path: a.Path, Source: a.Source}
	case SetScreen:
		s.Screen = a.Screen
	case OpenCard:
		if a.ID == s.Card {
			a.ID = ""
		}
		s.Card = a.ID
		s.Held, s.Looking.BandsHeld = HeldNone, false
	case AskFor:
		s.Ask = a.Ask
		s.Held, s.Looking.BandsHeld = HeldNone, false
	case SetLight:
		s.Light = a.On
	case DismissNotice:
		s.Notice = Notice{Serial: s.Notice.Serial}
	case Tell:
		s = tell(s, a.Notice)

	case PictureOpened:
		if a.Serial != s.Loading.Serial {
			return s
		}
		instead := s.Loading.Instead
		keep := s.Loading.Keep && a.Info.W == s.Picture.W && a.Info.H == s.Picture.H
		s.Picture = a.Info
		s.Loading = Loading{Serial: s.Loading.Serial}
		if !keep {
			s.Pins, s.NumPins, s.Pin = a.Pins, a.NumPin, -1
			s.View = Viewport{Fit: true}
		}
		s.Values = [MaxSheets][MaxPins]PinValue{}
		for i := range s.Results {
			s.Results[i].Figures, s.Results[i].Words = Figures{}, ""
		}
		s.Pointer = Pointer{}
		if s.Notice.Failure && !instead {
			s.Notice = Notice{Serial: s.Notice.Serial}
		}
		if a.Info.Notes != "" {
			s = tell(s, Notice{Headline: "About ‘" + a.Info.Name + "’: " + strings.ReplaceAll(a.Info.Notes, "\n", " ")})
		}
	case PictureFailed:
		if a.Serial == s.Loading.Serial {
			demo := s.Loading.Demo
			s.Loading = Loading{Serial: s.Loading.Serial}
			s = tell(s, a.Notice)
			if s.Picture.Key == 0 && !demo {
				// An empty desk serves nobody.
				s.Loading = Loading{Serial: s.Loading.Serial + 1, Demo: true, Instead: true}
			}
		}
	case LibraryChanged:
		s.Library++
		if a.Serial == s.Adding.Serial {
			s.Adding.Path = ""
		}
		if a.Use != "" {
			s = change(s, func(sh *Sheet) { sh.Paper = a.Use })
		}
		if a.Notice.Headline != "" {
			s = tell(s, a.Notice)
		}
	case PapersSavedAnew:
		s.Edition++
		s.Library++
	case PaperGone:
		s = paperGone(s, a)
	case PaperFailed:
		if a.Serial == s.Adding.Serial {
			s.Adding.Path = ""
			s = tell(s, a.Notice)
		}
	case RequestStarted:
		if a.N >= 0 && a.N < MaxSheets && a.Gen > s.Results[a.N].Gen {
			r := &s.Results[a.N]
			*r = Result{Gen: a.Gen, Computing: true, Route: r.Route, Ground: r.Ground, Spoken: -1}
			s.Stale[a.N] = true
		}
	case RouteFound:
		if r := current(&s, a.N, a.Gen); r != nil {
			r.Route = a.Route
		}
	case PeekFound:
		if a.Held == s.Held {
			s.Peek = a.Route
		}
	case SetupRefused:
		if r := current(&s, a.N, a.Gen); r != nil {
			r.Refused, r.Computing, r.Figures, r.Words = a.Reason, false, Figures{}, ""
			r.Route = Route{N: 1}
			r.Route.Stations[0] = Station{Kind: "refused", Plain: "This route can’t be run", Trade: a.Reason}
			s.Values[a.N] = [MaxPins]PinValue{}
			s.Stale[a.N] = false
		}
	case FiguresFound:
		if r := current(&s, a.N, a.Gen); r != nil {
			r.Progress = a.Done
			if a.Figures.Known {
				r.Figures, r.Computing, r.Progress = a.Figures, false, 1
			}
		}
	case ValuesFound:
		if r := current(&s, a.N, a.Gen); r != nil {
			s.Values[a.N] = a.Values
			r.Words, r.Spoken = a.Words, a.Spoken
		}
	case FrameDone:
		if a.Frame > s.Frame {
			s.Frame, s.Stale = a.Frame, a.Stale
			for i := range a.Ground {
				s.Results[i].Ground = a.Ground[i]
			}
		}
	case TaskChanged:
		s.Task = a.Task
	}
	return s
}

func current(s *State, n int, gen uint64) *Result {
	if n < 0 || n >= MaxSheets || s.Results[n].Gen != gen {
		return nil
	}
	return &s.Results[n]
}

func valid(s State, n int) bool    { return n >= 0 && n < s.Count }
func validPin(s State, n int) bool { return n >= 0 && n < s.NumPins }

// change applies f to the proof that the bench speaks of, and remembers it as
// the set-up of the next new proof.
func change(s State, f func(*Sheet)) State {
	_, n := s.Proof()
	if n >= 0 {
		f(&s.Sheets[n])
	}
	f(&s.Default)
	s.Default.Original, s.Default.Wrong = false, false
	s.Desk = ""
	return s
}

func setCount(s State, n int) State {
	n = clampInt(n, 1, MaxSheets)
	for i := s.Count; i < n; i++ {
		sh, _ := s.Proof()
		s.Sheets[i] = sh
	}
	s.Count = n
	s.Active = min(s.Active, n-1)
	s.Desk = ""
	return s
}

func removeSheet(s State, n int) State {
	if !valid(s, n) || s.Count == 1 {
		return s
	}
	copy(s.Sheets[n:], s.Sheets[n+1:])
	copy(s.Results[n:], s.Results[n+1:])
	copy(s.Values[n:], s.Values[n+1:])
	s.Count--
	// The last slot's request is no longer wanted; its number must never fit again.
	s.Results[s.Count] = Result{Gen: s.Results[s.Count].Gen}
	for i := range s.Sheets {
		sh := &s.Sheets[i]
		if sh.Show == ShowDifference {
			if sh.Against == n {
				sh.Against = -1
			} else if sh.Against > n {
				sh.Against--
			}
		}
	}
	if s.Active > n || s.Active >= s.Count {
		s.Active = max(s.Active-1, 0)
	}
	s.Desk = ""
	return s
}

func deletePin(s State, n int) State {
	if !validPin(s, n) {
		return s
	}
	copy(s.Pins[n:], s.Pins[n+1:])
	for i := range s.Values {
		copy(s.Values[i][n:], s.Values[i][n+1:])
		s.Values[i][MaxPins-1] = PinValue{}
	}
	s.NumPins--
	s.Pins[s.NumPins] = Pin{}
	s.Pin = -1
	return s
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

func inside(s State, x, y float64) bool {
	return x >= 0 && y >= 0 && x < float64(s.Picture.W) && y < float64(s.Picture.H)
}

// defaultRadius is a two-hundredth of the longer side: on a print of A3 that is
// a circle of about 4 mm, as much as an eye takes for one colour.
func defaultRadius(p PictureInfo) float64 {
	return math.Max(1, math.Round(float64(max(p.W, p.H))/200))
}

// freeName is "Pin 1", "Pin 2", ... the first that no pin has.
func freeName(s State) string {
	for i := 1; ; i++ {
		name := "Pin " + itoa(i)
		used := false
		for j := 0; j < s.NumPins; j++ {
			used = used || s.Pins[j].Name == name
		}
		if !used {
			return name
		}
	}
}
