package view

import (
	"context"
	"image"
	"image/color"
	"sync"

	"fyne.io/fyne/v2"

	"firstsheet/app/session"
	"firstsheet/app/widget"
	"firstsheet/proof"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// looks keeps the set-ups that a card shows ready for the pixels of one picture. They
// are made one after the other; painters ask for them from any goroutine, all other
// methods belong to the drawing one.
type looks struct {
	h    *Host
	lane *lane
	// came is told each look that has become ready or finer; failed why one can't be made.
	came   func(setup.Setup)
	failed func(error)

	mu   sync.Mutex
	made map[setup.Setup]madeLook
}

type madeLook struct {
	session.Look
	quality proof.Quality
}

func newLooks(w *work, came func(setup.Setup), failed func(error)) *looks {
	return &looks{h: w.h, lane: w.lane(), came: came, failed: failed, made: map[setup.Setup]madeLook{}}
}

// forget drops all looks: they were of another picture, or of papers that have changed.
func (k *looks) forget() {
	k.lane.drop()
	k.mu.Lock()
	defer k.mu.Unlock()
	clear(k.made)
}

// of returns the look of a set-up, nil while it is not ready.
func (k *looks) of(s setup.Setup) session.Look {
	k.mu.Lock()
	defer k.mu.Unlock()
	if l, ok := k.made[s]; ok {
		return l.Look
	}
	return nil
}

// has tells whether a look is as fine as that.
func (k *looks) has(s setup.Setup, q proof.Quality) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	l, ok := k.made[s]
	return ok && l.quality >= q
}

func (k *looks) put(s setup.Setup, l madeLook) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.made[s] = l
}

// want makes looks in their order, all at each quality before the next, in place of what
// was wanted before and is not ready.
func (k *looks) want(pic *session.Picture, list []setup.Setup, qualities ...proof.Quality) {
	engine := k.h.Session.Engine()
	k.lane.start(func(j job) func() {
		for _, q := range qualities {
			for _, s := range list {
				if k.has(s, q) {
					continue
				}
				l, err := engine.Look(j, pic, s, q)
				if j.Err() != nil {
					return nil
				}
				j.post(func() {
					if err != nil {
						k.failed(err)
						return
					}
					k.put(s, madeLook{l, q})
					k.came(s)
				})
			}
		}
		return nil
	})
}

// layPixels paints pixels by a look into an image, the top left one at p. The error is the
// context's.
func layPixels(ctx context.Context, img *image.RGBA, p image.Point, l session.Look, px raster.Pixels) error {
	tight := make([]uint8, px.W*px.H*4)
	if err := l.Proof(ctx, tight, px); err != nil {
		return err
	}
	for row := range px.H {
		copy(img.Pix[img.PixOffset(p.X, p.Y+row):], tight[row*px.W*4:(row+1)*px.W*4])
	}
	return nil
}

// pending is a word in the middle of where a picture is to come.
func pending(text string, where image.Rectangle, size float32) widget.Word {
	return widget.Word{Text: text, X: float64(where.Min.X + where.Dx()/2), Y: float64(where.Min.Y + where.Dy()/2),
		Align: fyne.TextAlignCenter, Size: size, Ink: color.White}
}
