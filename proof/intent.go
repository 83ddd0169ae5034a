package proof

import "fmt"

// Intent is a rendering intent, with the numbers of ICC.1.
type Intent uint8

// The four rendering intents.
const (
	Perceptual Intent = iota
	RelativeColorimetric
	Saturation
	AbsoluteColorimetric
)

// Intents returns all four in the order of their numbers.
func Intents() []Intent {
	return []Intent{Perceptual, RelativeColorimetric, Saturation, AbsoluteColorimetric}
}

// String returns the intent's name in the trade.
func (i Intent) String() string {
	switch i {
	case Perceptual:
		return "perceptual"
	case RelativeColorimetric:
		return "relative colorimetric"
	case Saturation:
		return "saturation"
	case AbsoluteColorimetric:
		return "absolute colorimetric"
	}
	return fmt.Sprintf("intent %d", uint8(i))
}

// Short returns the word that names the intent on a command line.
func (i Intent) Short() string {
	switch i {
	case RelativeColorimetric:
		return "relative"
	case AbsoluteColorimetric:
		return "absolute"
	}
	return i.String()
}

// ParseIntent returns the intent that the word of [Intent.Short] names.
func ParseIntent(word string) (Intent, error) {
	for _, i := range Intents() {
		if i.Short() == word {
			return i, nil
		}
	}
	return 0, fmt.Errorf("proof: no rendering intent is called %q", word)
}
