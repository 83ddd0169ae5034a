package lesson

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/pin"
	"firstsheet/proof/setup"
	"firstsheet/proof/words"
)

// Five is the lesson in five pages: what went wrong, where the route broke, how to
// recognise it on paper, how to prevent it, and the same on a picture of one's own.
type Five struct {
	// Step is the mistake that it shows, and Lead the number of the row that it
	// speaks of.
	Step Step
	Lead int
	// Kept says that Step is the mistake of the material's Keep.
	Kept  bool
	Pages []Page
	// Rewritten is the picture in numbers of another space; without an ID there is none.
	Rewritten Rewritten
}

// The five pages, as indices of Five.Pages.
const (
	GaspPage = iota
	BrokenPage
	RecognisePage
	PreventPage
	OwnPage
)

// Page is one page for a room. It shows one of its views; the next one takes its place.
type Page struct {
	Title string
	Views []View
	// InTurn says that its views are shown in their order before the page is turned.
	InTurn bool
	// Routes are shown one under the other.
	Routes []Told
	// Figures are told on request, and the pins of Rows with them.
	Figures []string
	Rows    []Row
	// Asks says that it asks for a picture to be opened.
	Asks bool
	// Foot is a caution that belongs to the page.
	Foot string
}

// View is what a page shows at a time: one large sentence, what is said with it, and
// pictures side by side, as many in each view of a page that goes on in the same place.
type View struct {
	Say    string
	More   []string
	Prints []Print
}

// Print is a picture on a page.
type Print struct {
	Setup setup.Setup
	// Rewritten says that not the picture's own numbers go into the set-up but the same
	// colours in another space's numbers.
	Rewritten bool
	// Look is the place to look at, where no name says it; nil for none.
	Look *pin.Pin
	// Caption says in a few words what it is, Told what is to be seen in it; "" for
	// what the view's sentence says.
	Caption, Told string
}

// Told is a route with the colour that comes out at its end.
type Told struct {
	Title string
	Route proof.Route
	// Screen is the colour on screen, 0 to 1; Colour says it in words.
	Screen [3]float64
	Colour string
}

// five makes the five pages.
func (k *maker) five(ctx context.Context, l *Lesson, cannot []string) (Five, error) {
	step, lead, kept, ok := k.pick()
	if !ok {
		return Five{}, nil
	}
	w := &fiveMaker{maker: k, l: l, s: step, lead: lead, kept: kept, cannot: cannot}
	var err error
	if w.turn, err = k.direction(ctx, lead); err != nil {
		return Five{}, err
	}
	return Five{Step: step, Lead: lead, Kept: kept, Rewritten: w.turn.to,
		Pages: []Page{GaspPage: w.gasp(), BrokenPage: w.broken(), RecognisePage: w.recognise(), PreventPage: w.prevent(), OwnPage: w.own()}}, nil
}

// pick chooses what the pages show among all ways to go wrong: the one that turns a red
// farthest towards orange, and the red that turns. The first red pin counts, and where
// no way turns it so, the next. Without any it is the way that takes the pins farthest,
// one that changes the print before one that does not, and the pin that goes farthest.
// A mistake that is to be kept comes before both.
func (k *maker) pick() (s Step, row int, kept, ok bool) {
	from := k.tries
	if k.Keep.Slips != "" {
		same := slices.DeleteFunc(slices.Clone(from), func(s Step) bool { return s.Setup.Slips != k.Keep.Slips })
		if kept = len(same) > 0; kept {
			from = same
		}
		alike := slices.DeleteFunc(slices.Clone(same), func(s Step) bool { return s.Setup != s.Setup.With(k.Keep) })
		if len(alike) > 0 {
			from = alike
		}
	}
	for i, c := range k.right {
		if s, ok := turned(from, i); ok && words.Name(c.Original) == words.Red.String() {
			return s, i, kept, true
		}
	}
	if of := slices.DeleteFunc(slices.Clone(from), func(s Step) bool { return s.OnScreen }); len(of) > 0 {
		from = of
	}
	if len(from) == 0 {
		return s, 0, false, false
	}
	s = slices.MaxFunc(from, func(a, b Step) int { return compare(a.apart(), b.apart()) })
	for i, r := range s.Rows {
		if r.Change.DeltaE00 > s.Rows[row].Change.DeltaE00 {
			row = i
		}
	}
	return s, row, kept, true
}

// turned returns the way that turns a row farthest towards orange.
func turned(from []Step, row int) (Step, bool) {
	best, most := Step{}, 0.0
	for _, s := range from {
		c := s.Rows[row].Change
		if c.Hue != words.Unnamed && c.Towards == words.Orange && c.Turn > most {
			best, most = s, c.Turn
		}
	}
	return best, most > 0
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// compared stands before the pins' rows.
const compared = "Compared with the correct proof:"

// fiveMaker makes the pages about one mistake.
type fiveMaker struct {
	*maker
	l      *Lesson
	s      Step
	lead   int
	kept   bool
	turn   direction
	cannot []string
}

func (w *fiveMaker) row() Row { return w.s.Rows[w.lead] }

// plain is the name of the pin's colour where the pin has no other name, else "".
func (w *fiveMaker) plain() string {
	r := w.row()
	if name := words.Name(r.Right.Original); r.Pin == "" || r.Pin == name || strings.HasPrefix(r.Pin, name+" ") {
		return name
	}
	return ""
}

// what is the pin that the pages speak of: "the shirt", or "this red" where it has no name.
func (w *fiveMaker) what() string {
	if name := w.plain(); name != "" {
		return "this " + name
	}
	return words.The(w.row().Pin)
}

// prints is what a printed colour is called. A brown is a dull or dark orange: after a turn
// towards orange its hue is told too.
func prints(c cie.Lab) string {
	name := words.Name(c)
	if hue := words.HueOf(c); name == "brown" && hue == words.Orange {
		return hue.String() + "-" + name
	}
	return name
}

func (w *fiveMaker) original() Print {
	return Print{Setup: w.Right.Original(), Caption: "the original"}
}
func (w *fiveMaker) should() Print {
	return Print{Setup: w.Right, Caption: "the correct proof: " + w.l.Paper}
}
func (w *fiveMaker) wrong() Print {
	return Print{Setup: w.s.Setup, Caption: "gone wrong: " + w.s.Name}
}

// headline says what happened to the pin in large words, and what the mistake has done
// to it in more. A name that the paper gives it already is not blamed on the mistake.
func (w *fiveMaker) headline() (say, more string) {
	r := w.row()
	told := "compared with the correct proof: " + r.Change.Plainly() + "."
	is, should, got := words.Name(r.Right.Original), words.Name(r.Right.Relative), words.Name(r.Wrong.Seen)
	if is != should || is == got {
		return words.Capital(w.what()) + ", " + told, ""
	}
	if w.plain() == "" {
		is += " in the picture, "
	} else {
		is = "" // its name says it
	}
	return fmt.Sprintf("%s: %s%s on %s.", words.Capital(w.what()), is, prints(r.Wrong.Seen), w.l.Paper), words.Capital(told)
}

// inPlace are the views of the picture itself and, in its place, of the print gone wrong.
func (w *fiveMaker) inPlace(before ...string) []View {
	say, more := w.headline()
	wrong := View{Say: say, Prints: []Print{w.wrong()}}
	if more != "" {
		wrong.More = []string{more}
	}
	first := fmt.Sprintf("%s: %s in the picture.", words.Capital(w.what()), words.Name(w.row().Right.Original))
	original := w.original()
	if w.plain() != "" {
		first = "Watch " + w.what() + "."
		original.Look = &w.Pins[w.lead]
	}
	return []View{{Say: first, More: before, Prints: []Print{original}}, wrong}
}

func (w *fiveMaker) gasp() Page {
	r := w.row()
	return Page{Title: "What came out of the printer", InTurn: true, Views: w.inPlace("So it is on file. Now it is printed on " + w.l.Paper + "."),
		Figures: []string{
			fmt.Sprintf("%s: %s in the picture, %s in the correct proof, %s gone wrong.", words.Capital(w.what()),
				words.RoundLab(r.Right.Original), words.RoundLab(r.Right.Relative), words.RoundLab(r.Wrong.Seen)),
			compared},
		Rows: w.s.Rows}
}

func (w *fiveMaker) broken() Page {
	r := w.row()
	p := Page{Title: "Where the route broke",
		Routes: []Told{
			{"As it should be", print(w.plan.Route()), r.Right.Screen, w.comes(words.Name(r.Right.Relative))},
			{"Gone wrong", print(w.s.Route), r.Wrong.Screen, w.comes(prints(r.Wrong.Seen))}},
		Views: []View{{Say: words.Stop(words.Capital(w.s.Reason)), Prints: []Print{w.should(), w.wrong()}}}}
	if w.s.Chosen != "" {
		how, _, _ := strings.Cut(w.s.Chosen, ", of ")
		p.Figures = append(p.Figures, words.Stop(words.Capital(how)))
	}
	p.Figures = append(p.Figures, fmt.Sprintf("%s in the file: %s, numbers of %s.", words.Capital(w.what()), Numbers(r.Right.File, w.plan.Source), w.plan.Source.Name()))
	should, got := Numbers(r.Right.Device, w.plan.Paper), Numbers(r.Wrong.Device, w.s.Plan.Paper)
	if should == got {
		p.Figures = append(p.Figures, fmt.Sprintf("The printer gets %s, numbers of %s, as it should.", should, w.l.Paper))
	} else {
		p.Figures = append(p.Figures, fmt.Sprintf("The printer should get %s, numbers of %s. It got %s.", should, w.l.Paper, got))
	}
	return p
}

// comes says as what the pin comes out.
func (w *fiveMaker) comes(name string) string { return w.what() + ": " + name }

// print is a route as far as the print: the screen only matters where it is at fault.
func print(r proof.Route) proof.Route {
	return proof.Route{Stations: slices.DeleteFunc(slices.Clone(r.Stations), func(s proof.Station) bool {
		return s.Kind == proof.ScreenStation && s.Fault == proof.NoFault
	})}
}

func (w *fiveMaker) recognise() Page {
	p := Page{Title: "How to recognise it on paper"}
	if w.turn.to.ID == "" {
		p.Views = []View{{Say: w.s.Recognise, Prints: []Print{w.should(), w.wrong()}}}
		p.Figures, p.Rows = []string{compared}, w.s.Rows
		return p
	}
	p.Views = []View{{Say: w.s.Recognise, More: []string{w.turn.say()}, Prints: w.turn.prints()}}
	p.Figures = w.turn.figures(w.what())
	return p
}

func (w *fiveMaker) prevent() Page {
	r := w.row()
	right, wrong := w.should(), w.wrong()
	once := fmt.Sprintf("Here: %s numbers become those of %s once, %s.", w.plan.Source.Name(), w.l.Paper, how(w.plan))
	comes := fmt.Sprintf("So it comes out as it should. %s: %s.", words.Capital(w.what()), words.Name(r.Right.Relative))
	return Page{Title: "How to prevent it",
		Views: []View{{Say: w.s.Prevent, More: []string{once, comes}, Prints: []Print{right}},
			{Say: w.s.Prevent, More: []string{once, "This is what it prevents."}, Prints: []Print{wrong}}},
		Figures: []string{fmt.Sprintf("%s, the correct proof compared with the original: %s, %s.", words.Capital(w.what()),
			words.Compare(r.Right.Original, r.Right.Relative).Sentence(), words.DeltaE00(r.Right.DeltaE00))},
		Foot: strings.Join(w.l.Cautions, " ")}
}

// own is the page for a picture of one's own; once there is one it shows it.
func (w *fiveMaker) own() Page {
	p := Page{Title: "Try it on your own picture", Asks: true, Rows: w.s.Rows, Figures: []string{compared}, Foot: strings.Join(w.l.Cautions, " ")}
	if p.InTurn = w.Keep.Slips != "" && !w.Asked; !p.InTurn {
		p.Views = []View{{Say: fmt.Sprintf("What does ‘%s’ do to a picture of yours?", w.s.Name),
			More: []string{"Open one: the same mistake is worked out for it."}, Prints: []Print{w.original(), w.wrong()}}}
		return p
	}
	p.Views = w.inPlace("Now it is printed on " + w.l.Paper + ", with the same mistake: " + w.s.Name + ".")
	if !w.kept {
		p.Views = w.inPlace(append(w.reason(), "So it is printed on "+w.l.Paper+" with another mistake: "+w.s.Name+".")...)
	}
	return p
}

// reason says why the mistake that was to be kept can't be made.
func (w *fiveMaker) reason() []string {
	for _, no := range w.cannot {
		if name, _, ok := strings.Cut(no, ": "); ok && strings.EqualFold(name, w.keepName()) {
			return []string{no}
		}
	}
	return nil
}
