package assets

import (
	_ "embed"
	"encoding/json"
)

//go:embed regatta.jpg
var regattaJPEG []byte

//go:embed regatta16.png
var regattaDeep []byte

//go:embed regatta.json
var regattaJSON []byte

// RegattaJPEG returns the demo picture: 3000x2000 pixels, 8 bits, ROMM RGB with its
// profile embedded. The caller must not change the bytes.
func RegattaJPEG() []byte { return regattaJPEG }

// RegattaDeep returns the demo picture at half the size, 1500x1000 pixels, as a 16-bit PNG
// in ROMM RGB of which the upper 11 bits carry the picture. The caller must not change the bytes.
func RegattaDeep() []byte { return regattaDeep }

// RegattaPin is a telling place in the demo picture.
type RegattaPin struct {
	Name string `json:"name"`
	// X and Y are the centre as shares of the width and the height, from the upper left.
	X float64 `json:"x"`
	Y float64 `json:"y"`
	// Radius of the circle to average over, as a share of the width.
	Radius float64 `json:"radius"`
}

// RegattaPins returns the demo picture's pins, the club shirt first. It fails only when
// the embedded list is damaged.
func RegattaPins() ([]RegattaPin, error) {
	var pins []RegattaPin
	err := json.Unmarshal(regattaJSON, &pins)
	return pins, err
}
