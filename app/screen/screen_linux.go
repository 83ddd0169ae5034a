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

// of returns the number of the Xinerama screen, "" for the first.
func of(w Window) string {
	c, err := connect()
	if err != nil {
		return Main
	}
	defer c.Close()
	if err := xinerama.Init(c); err != nil {
		return Main
	}
	size, err := xproto.GetGeometry(c, xproto.Drawable(w)).Reply()
	if err != nil {
		return Main
	}
	root := xproto.Setup(c).DefaultScreen(c).Root
	middle, err := xproto.TranslateCoordinates(c, xproto.Window(w), root, int16(size.Width/2), int16(size.Height/2)).Reply()
	if err != nil {
		return Main
	}
	screens, err := xinerama.QueryScreens(c).Reply()
	if err != nil {
		return Main
	}
	at := image.Pt(int(middle.DstX), int(middle.DstY))
	for i, s := range screens.ScreenInfo {
		from := image.Pt(int(s.XOrg), int(s.YOrg))
		switch {
		case !at.In(image.Rectangle{from, from.Add(image.Pt(int(s.Width), int(s.Height)))}):
		case i == 0:
			return Main
		default:
			return strconv.Itoa(i)
		}
	}
	return Main
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
