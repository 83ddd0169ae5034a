package screen

import (
	"fmt"
	"io"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

func profile() ([]byte, error) {
	// A server without an authority file is nothing to complain of.
	xgb.Logger.SetOutput(io.Discard)
	c, err := xgb.NewConn()
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrNone, err)
	}
	defer c.Close()
	const name = "_ICC_PROFILE"
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
