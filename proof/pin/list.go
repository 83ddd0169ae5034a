package pin

import (
	"encoding/json"
	"fmt"

	"firstsheet/proof/words"
)

// MaxList is the most pins of one file: far more than anybody reads.
const MaxList = 64

// ReadList reads a JSON list of pins, each an object with name, x, y and radius. It fails
// where the text is no such list, holds none or more than [MaxList], and with the reason
// of [Pin.Check] for a pin that can't be.
func ReadList(data []byte) ([]Pin, error) {
	var given []struct {
		Name   string
		X, Y   *float64
		Radius float64
	}
	if err := json.Unmarshal(data, &given); err != nil {
		return nil, fmt.Errorf("pin: no list of pins: %w", words.Unfit(err))
	}
	if len(given) == 0 || len(given) > MaxList {
		return nil, fmt.Errorf("pin: %d pins, want 1 to %d", len(given), MaxList)
	}
	out := make([]Pin, len(given))
	for i, g := range given {
		if g.X == nil || g.Y == nil {
			return nil, fmt.Errorf("pin: pin %d, %q, has no place: x and y are wanted", i+1, g.Name)
		}
		out[i] = Pin{Name: g.Name, X: *g.X, Y: *g.Y, Radius: g.Radius}
		if err := out[i].Check(); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Check reports what can't be: a place outside the picture, a disc larger than it.
func (p Pin) Check() error {
	within := func(v float64) bool { return v >= 0 && v <= 1 } // false for NaN
	switch {
	case !within(p.X) || !within(p.Y):
		return fmt.Errorf("pin: %q lies at %g, %g, in fractions of the picture, which go from 0 to 1", p.Name, p.X, p.Y)
	case !within(p.Radius):
		return fmt.Errorf("pin: %q has a radius of %g, in fractions of the picture's longer side, which go from 0 to 1", p.Name, p.Radius)
	case len(p.Name) > maxName:
		return fmt.Errorf("pin: a name of %d bytes, at most %d", len(p.Name), maxName)
	}
	return nil
}

const maxName = 200
