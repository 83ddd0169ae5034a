package session

import (
	"bytes"
	"context"

	"firstsheet/assets"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
)

// Regatta opens the demo picture that comes with the program, with its pins.
func Regatta(ctx context.Context) (*photo.Picture, []pin.Pin, error) {
	p, err := photo.OpenReader(ctx, "regatta.jpg", bytes.NewReader(assets.RegattaJPEG()))
	if err != nil {
		return nil, nil, err
	}
	marks, err := assets.RegattaPins()
	if err != nil {
		return nil, nil, err
	}
	var pins []pin.Pin
	for _, m := range marks {
		pins = append(pins, pin.Pin{Name: m.Name, X: m.X, Y: m.Y, Radius: m.Radius})
	}
	return p, pins, nil
}
