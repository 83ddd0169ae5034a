package rank

import (
	"cmp"
	"slices"
)

// Ranked is one picture of a portfolio with its own ranking.
type Ranked struct {
	Picture string // its name, as it is to be told
	Outcome Outcome
}

// Served is how one picture fares on a paper: the best of the ways on it.
type Served struct {
	Picture string `json:"picture"`
	// Way is nil where none of the ways on that paper can be printed.
	Way *Place `json:"way"`
}

// failed counts the checks that fail: all of them where nothing can be printed.
func (s Served) failed() int {
	if s.Way == nil {
		return len(Checks())
	}
	return len(s.Way.Failed)
}

func (s Served) tones() int {
	if s.Way == nil {
		return 0
	}
	return s.Way.Figures.tones()
}

func (s Served) lost() int {
	if s.Way == nil {
		return 0
	}
	return s.Way.Figures.lost()
}

func (s Served) mean() float64 {
	if s.Way == nil {
		return 0
	}
	return s.Way.Figures.Mean
}

// better compares what two papers do to one picture by the rule up to the mean:
// below 0 where s is the better.
func (s Served) better(t Served) int {
	return cmp.Or(s.failed()-t.failed(), t.tones()-s.tones(), s.lost()-t.lost())
}

// PaperPlace is a paper with what it does to all pictures.
type PaperPlace struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Pictures are in the order in which they were given.
	Pictures []Served `json:"pictures"`
	// Failed counts the checks that fail over all pictures, Whole the pictures that
	// pass every one. Mean is the mean of their mean ΔE00, each picture counting alike.
	Failed int     `json:"failed"`
	Whole  int     `json:"whole"`
	Mean   float64 `json:"mean"`
	// AsGood says that the paper is as good as the first by the rule.
	AsGood bool `json:"asGood"`

	tones, lost, printed int
}

// Portfolio says which of the papers serves several pictures.
type Portfolio struct {
	// Order holds the papers, best first.
	Order []PaperPlace `json:"order"`
	// Reason says in one sentence why the first is first, For names the pictures that
	// decide it, Against those that another paper would serve better.
	Reason  string   `json:"reason"`
	For     []string `json:"for"`
	Against []string `json:"against"`
	// Deciding are the places of the pictures of For among those of each paper.
	Deciding []int `json:"deciding"`
	// Rule is the rule itself, a line each.
	Rule []string `json:"rule"`
}

// Together puts papers in order for several pictures, each of which may be printed in
// its own best way on them: a paper is bought for a portfolio, an intent is chosen for
// a picture. The rule is that of [Order], summed over the pictures: the paper on which
// fewer checks fail is before the other; then the one that keeps more separation; then
// the one that loses fewer gradients; then the one with the smaller mean ΔE00.
func Together(pictures []Ranked) Portfolio {
	p := Portfolio{Order: paperPlaces(pictures), Rule: togetherRule()}
	if len(p.Order) == 0 {
		return p
	}
	slices.SortStableFunc(p.Order, func(a, b PaperPlace) int { return cmp.Or(a.better(b), cmp.Compare(a.Mean, b.Mean)) })
	best := p.Order[0]
	equals := 0
	for i := range p.Order {
		o := &p.Order[i]
		o.AsGood = best.better(*o) == 0 && o.Mean-best.Mean < alike
		if o.AsGood {
			equals++
		}
	}
	p.Reason = togetherReason(p.Order, equals)
	if equals < len(p.Order) {
		p.Deciding, p.For = deciding(best, p.Order[equals])
	}
	p.Against = betterElsewhere(p.Order)
	return p
}

// paperPlaces gathers each paper's best way for every picture.
func paperPlaces(pictures []Ranked) []PaperPlace {
	var out []PaperPlace
	at := func(id, name string) *PaperPlace {
		i := slices.IndexFunc(out, func(p PaperPlace) bool { return p.ID == id })
		if i < 0 {
			i = len(out)
			out = append(out, PaperPlace{ID: id, Name: name, Pictures: make([]Served, len(pictures))})
			for k, r := range pictures {
				out[i].Pictures[k].Picture = r.Picture
			}
		}
		return &out[i]
	}
	for k, r := range pictures {
		for i := range r.Outcome.Verdict.Order {
			place := &r.Outcome.Verdict.Order[i]
			way := r.Outcome.Ways[place.ID]
			// The order is best first, so the first way on a paper is its best.
			if s := &at(way.Paper, way.Name).Pictures[k]; s.Way == nil {
				s.Way = place
			}
		}
		for _, w := range r.Outcome.Refused {
			at(w.Paper, w.Name)
		}
	}
	for i := range out {
		out[i].sum()
	}
	return out
}

func (p *PaperPlace) sum() {
	for _, s := range p.Pictures {
		p.Failed += s.failed()
		p.tones += s.tones()
		p.lost += s.lost()
		if s.Way == nil {
			continue
		}
		p.printed++
		p.Mean += s.Way.Figures.Mean
		if s.failed() == 0 {
			p.Whole++
		}
	}
	p.Mean /= float64(max(p.printed, 1))
}

func (p PaperPlace) better(q PaperPlace) int {
	return cmp.Or(p.Failed-q.Failed, q.tones-p.tones, p.lost-q.lost)
}

// toldPictures is how many pictures are named, the most telling ones.
const toldPictures = 5

// deciding names the pictures that put best before next, those that weigh most first.
func deciding(best, next PaperPlace) (places []int, clauses []string) {
	type weight struct {
		at, failed, tones, lost int
		mean                    float64
	}
	var all []weight
	for i := range best.Pictures {
		b, n := best.Pictures[i], next.Pictures[i]
		w := weight{i, n.failed() - b.failed(), b.tones() - n.tones(), n.lost() - b.lost(), n.mean() - b.mean()}
		if d := b.better(n); d < 0 || d == 0 && w.mean >= alike {
			all = append(all, w)
		}
	}
	slices.SortStableFunc(all, func(a, b weight) int {
		return cmp.Or(b.failed-a.failed, b.tones-a.tones, b.lost-a.lost, cmp.Compare(b.mean, a.mean))
	})
	for _, w := range all[:min(len(all), toldPictures)] {
		places = append(places, w.at)
		clauses = append(clauses, togetherFor(best.Pictures[w.at], next, next.Pictures[w.at]))
	}
	return places, clauses
}

// betterElsewhere names the pictures that another paper serves better than the first.
func betterElsewhere(order []PaperPlace) []string {
	best := order[0]
	var out []string
	for i, s := range best.Pictures {
		var other *PaperPlace
		for k := range order[1:] {
			o := &order[1+k]
			if o.Pictures[i].better(s) < 0 && (other == nil || o.Pictures[i].better(other.Pictures[i]) < 0) {
				other = o
			}
		}
		if other != nil && len(out) < toldPictures {
			out = append(out, togetherAgainst(s, *other, other.Pictures[i]))
		}
	}
	return out
}
