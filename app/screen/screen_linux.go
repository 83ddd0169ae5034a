package screen

import (
	"fmt"
	"image"
	"io"
	"strconv"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xinerama"
	"github.com/jezek/xgb/xproto"
)

func connect() (*xgb.Conn, error) {
	// A server without an authority file is nothing to complain of.
	xgb.Logger.SetOutput(io.Discard)
	return xgb.NewConn()
}

// lies returns the number of the Xinerama screen that the middle of a window lies on, and
// where that screen is; ok is false where the server does not tell.
func lies(w Window) (n int, r image.Rectangle, ok bool) {
	c, err := connect()
	if err != nil {
		return 0, r, false
	}
	defer c.Close()
	if err := xinerama.Init(c); err != nil {
		return 0, r, false
	}
	size, err := xproto.GetGeometry(c, xproto.Drawable(w)).Reply()
	if err != nil {
		return 0, r, false
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	middle, err := xproto.TranslateCoordinates(c, xproto.Window(w), root, int16(size.Width/2), int16(size.Height/2)).Reply()
	if err != nil {
		return 0, r, false
	}
	screens, err := xinerama.QueryScreens(c).Reply()
	if err != nil {
		return 0, r, false
	}
	at := image.Pt(int(middle.DstX), int(middle.DstY))
	for i, s := range screens.ScreenInfo {
		from := image.Pt(int(s.XOrg), int(s.YOrg))
		if r = (image.Rectangle{from, from.Add(image.Pt(int(s.Width), int(s.Height)))}); at.In(r) {
			return i, r, true
		}
	}
	return 0, r, false
}

// of returns the number of the Xinerama screen, "" for the first.
func of(w Window) string {
	if n, _, ok := lies(w); ok && n > 0 {
		return strconv.Itoa(n)
	}
	return Main
}

func room(w Window) image.Point {
	if _, r, ok := lies(w); ok {
		return r.Size()
	}
	return image.Point{}
}

func profile(screen string) ([]byte, error) {
	c, err := connect()
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrNone, err)
	}
	defer c.Close()
	name := "_ICC_PROFILE"
	if screen != Main {
		name += "_" + screen
	}
	atom, err := xproto.InternAtom(c, true, uint16(len(name)), name).Reply()
	if err != nil || atom.Atom == 0 {
		return nil, ErrNone
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	p, err := xproto.GetProperty(c, false, root, atom.Atom, xproto.GetPropertyTypeAny, 0, maxProfile/4).Reply()
	switch {
	case err != nil:
		return nil, fmt.Errorf("screen: %s: %v", name, err)
	case p.Format != 8 || len(p.Value) == 0:
		return nil, ErrNone
	case p.BytesAfter > 0:
		return nil, fmt.Errorf("screen: the screen's profile is larger than %d bytes", maxProfile)
	}
	return p.Value, nil
}
