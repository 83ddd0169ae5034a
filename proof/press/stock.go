package press

// Finish is how the sheet's surface looks.
type Finish uint8

const (
	Matte Finish = iota
	Pearl
	Gloss
)

func (f Finish) String() string { return [...]string{"matte", "pearl", "gloss"}[f] }

// Stock is a sheet of paper.
type Stock struct {
	// ID is short and lower case; Name is what a person reads.
	ID, Name string
	Finish   Finish
	// Notes says in a sentence what the stock is.
	Notes string

	// Peak is the reflectance of the bare sheet in the red, without brightener;
	// Warmth is how much less it reflects at 400 nm (natural fibre and size
	// absorb blue).
	Peak, Warmth float64
	// Brightener is what the brightener adds at 440 nm under D50 with its share
	// of ultraviolet (measuring condition M1).
	Brightener float64
	// Surface is the share of light that the surface itself throws into the eye
	// or the instrument: it sets the deepest black.
	Surface float64
	// Inner is the share of light that the surface throws back into the sheet.
	Inner float64
	// N is the Yule-Nielsen factor: how far light spreads in the sheet beside the
	// dots. Gain is how much dots grow by ink spreading, at half coverage.
	N, Gain float64
	// Capacity is how much ink the coating takes up, 1 being a full layer.
	Capacity float64
	// Sink is the share of each layer's density that stays effective; the rest
	// sinks between the fibres.
	Sink float64
	// Trap is the share of its density that an ink keeps for each other ink under
	// it, against what it has on the bare sheet.
	Trap float64

	// Right is the setting that the stock is made for.
	Right Setting
	// Wrong are settings that belong to other stock and get used by mistake.
	Wrong []Setting
	// DryHours is how long a print is to dry before it is judged.
	DryHours int
}

// Printer is the invented eight-ink printer that all of this is for.
const Printer = "Halyard Eight"

// Mill is the invented paper mill.
const Mill = "Withyholm Mill"

// Condition is the measuring condition that the model imitates.
const Condition = "M1"

func (s Stock) paper() Spectrum {
	var r Spectrum
	r.flat(s.Peak)
	r.edge(-s.Warmth, 410, 48)
	return r
}

// hold returns the share of an ink's density that works on this stock. Matte
// black is made for rough stock; on a closed glossy coating it lies as dust and
// scatters, and photo black sinks into rough stock.
func (s Stock) hold(n int, black BlackInk) float64 {
	if n != Black {
		return s.Sink
	}
	switch {
	case black == MatteBlack && s.Finish != Matte:
		return 0.42
	case black == PhotoBlack && s.Finish == Matte:
		return 0.5
	}
	return s.Sink
}

// Stocks returns the demo papers.
func Stocks() []Stock {
	return []Stock{
		{
			ID: "cotton", Name: "Cotton Matte", Finish: Matte,
			Notes: "Natural white cotton, no brightener, matte coating.",
			Peak:  0.905, Warmth: 0.085, Surface: 0.0150, Inner: 0.36, N: 2.1, Gain: 0.10,
			Capacity: 2.3, Sink: 0.86, Trap: 0.8,
			Right:    matteSetting(),
			Wrong:    []Setting{pearlSetting(), thinMatteSetting()},
			DryHours: 2,
		},
		{
			ID: "pearl", Name: "Pearl", Finish: Pearl,
			Notes: "Resin-coated, fine texture, mild brightener.",
			Peak:  0.885, Warmth: 0.035, Brightener: 0.085, Surface: 0.0036, Inner: 0.52, N: 1.7, Gain: 0.05,
			Capacity: 3.0, Sink: 1, Trap: 0.8,
			Right:    pearlSetting(),
			Wrong:    []Setting{matteSetting(), glossSetting()},
			DryHours: 24,
		},
		{
			ID: "gloss", Name: "Gloss", Finish: Gloss,
			Notes: "Resin-coated, mirror smooth, strong brightener.",
			Peak:  0.90, Warmth: 0.02, Brightener: 0.135, Surface: 0.00275, Inner: 0.55, N: 1.6, Gain: 0.04,
			Capacity: 3.3, Sink: 1.02, Trap: 0.78,
			Right:    glossSetting(),
			Wrong:    []Setting{matteSetting(), thinMatteSetting()},
			DryHours: 24,
		},
		{
			ID: "washi", Name: "Soft Washi", Finish: Matte,
			Notes: "Thin, warm, long-fibred sheet with a light matte coating.",
			Peak:  0.865, Warmth: 0.15, Surface: 0.0150, Inner: 0.34, N: 2.4, Gain: 0.14,
			Capacity: 1.9, Sink: 0.82, Trap: 0.8,
			Right:    thinMatteSetting(),
			Wrong:    []Setting{matteSetting(), pearlSetting()},
			DryHours: 4,
		},
	}
}

// StockByID returns the demo paper with that ID, and whether there is one.
func StockByID(id string) (Stock, bool) {
	for _, s := range Stocks() {
		if s.ID == id {
			return s, true
		}
	}
	return Stock{}, false
}
