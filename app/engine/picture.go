package engine

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"firstsheet/app/session"
	"firstsheet/assets"
	"firstsheet/proof"
	"firstsheet/proof/cie"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/pin"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
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

// Open implements session.Pictures.
func (e *Engine) Open(ctx context.Context, path string) (*session.Picture, error) {
	p, err := photo.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return picture(ctx, p, filepath.Base(path), path)
}

// Demo implements session.Pictures.
func (e *Engine) Demo(ctx context.Context) (*session.Picture, error) {
	p, pins, err := e.demo(ctx)
	if err != nil {
		return nil, err
	}
	pic, err := picture(ctx, p, "regatta", "")
	if err != nil {
		return nil, err
	}
	pic.Pins = pins
	return pic, nil
}

// picture makes a decoded picture one for the desk.
func picture(ctx context.Context, p *photo.Picture, name, path string) (*session.Picture, error) {
	src, err := setup.SourceOf(p, nil)
	if err != nil {
		return nil, err
	}
	p = src.Picture
	info := session.PictureInfo{Path: path, Name: name, W: p.W, H: p.H, Channels: p.Channels, Depth: p.Depth, Origin: src.Origin,
		Alpha: p.Alpha != nil}
	if src.Origin == setup.Assumed {
		info.Assumed = assumedSpace
	} else {
		info.Named = src.Profile.Name()
	}
	// That a space is assumed is said by route line and bench; why a profile is not used,
	// by nothing else, and there it is news.
	unused := src.Unused
	if unused != "" && src.Origin == setup.Assumed {
		unused += " What its numbers mean is assumed; U chooses their space."
	}
	info.Notes = strings.TrimSpace(strings.Join(append(p.Notes[:len(p.Notes):len(p.Notes)], unused), "\n"))
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return &session.Picture{Info: info, Levels: raster.Levels(src.Pixels()), Source: src}, nil
}

// assumedSpace is the ID of what setup.SourceOf assumes.
const assumedSpace = "srgb"

// CheckSource implements session.Pictures.
func (e *Engine) CheckSource(pic *session.Picture, path string) error {
	p, err := paper.ReadProfile(path)
	if err == nil {
		err = p.CheckSource()
	}
	if err != nil {
		return err
	}
	if have, want := pic.Info.Channels, p.Channels(); have != want {
		return &proof.ProfileError{Op: "use as the picture’s space", Profile: p.Name(), Kind: proof.WrongChannels,
			Err: fmt.Errorf("it has %d channels, the picture has %d", want, have)}
	}
	e.keep(path, p)
	return nil
}

// suggestSide is the least longer side of the picture that telling colours are sought in.
const suggestSide = 400

// Propose implements session.Pictures.
func (e *Engine) Propose(ctx context.Context, pic *session.Picture, have []pin.Pin) ([]pin.Pin, error) {
	c, err := e.chain(pic, setup.Setup{Source: pic.Info.Assumed})
	if err != nil {
		return nil, err
	}
	defer c.Close()
	small := pic.Small(suggestSide)
	tiny := pin.Picture{W: small.W, H: small.H, Lab: make([]cie.Lab, 0, small.W*small.H)}
	if err := c.Picture(ctx, small, func(_ int, row []proof.Value) {
		for _, v := range row {
			tiny.Lab = append(tiny.Lab, v.Original)
		}
	}); err != nil {
		return nil, err
	}
	found, err := pin.Suggest(ctx, tiny, have)
	if err != nil {
		return nil, err
	}
	long := float64(max(pic.Info.W, pic.Info.H))
	var out []pin.Pin
	for _, f := range found {
		p := f.Pin
		p.Radius = math.Max(1, math.Round(p.Radius*long)) / long
		out = append(out, p)
	}
	return out, nil
}
