package main

import (
	"context"
	"errors"
	"image"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver"

	"firstsheet/app/screen"
	"firstsheet/app/session"
)

// screenOf asks the system for a screen's profile; without one sRGB is assumed.
func screenOf(e session.Engine, name string) (session.Screen, session.Notice) {
	assumed := session.Start("").Screen
	data, err := screen.Profile(name)
	if err != nil {
		if errors.Is(err, screen.ErrNone) {
			return assumed, session.Notice{} // the route line says so
		}
		return assumed, session.Explain(err, "")
	}
	found, err := e.Screen(context.Background(), "", data)
	if err != nil {
		n := session.Explain(err, "")
		n.Headline = "The screen’s own profile can’t be used, so sRGB is assumed. " + n.Headline
		return assumed, n
	}
	return found, session.Notice{}
}

// lookAgain is how often the window asks which screen it lies on: soon enough after it was
// moved.
const lookAgain = time.Second

// follow tells the session which screen's profile counts, whenever the window's middle has
// come to lie on another one. It returns when ctx ends.
func follow(ctx context.Context, win fyne.Window, e session.Engine, s *session.Session) {
	var handle screen.Window
	fyne.DoAndWait(func() { handle = handleOf(win) })
	tick := time.NewTicker(lookAgain)
	defer tick.Stop()
	on, fitted := screen.Main, false
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if !fitted { // not before it has its first size
			fitted = true
			fyne.Do(func() { fit(win, screen.Room(handle)) })
		}
		now := screen.Of(handle)
		if now == on {
			continue
		}
		on = now
		found, notice := screenOf(e, on)
		fyne.Do(func() {
			s.Do(session.MeetScreen{Screen: found})
			if notice != (session.Notice{}) {
				s.Do(session.Tell{Notice: notice})
			}
		})
	}
}

// titleBar is what a window's frame takes of the screen's height, roughly.
const titleBar = 40

// fit makes a window no larger than its screen, of so many pixels: where everything is drawn
// larger, the usual size can be more than there is.
func fit(win fyne.Window, room image.Point) {
	c := win.Canvas()
	if room.X <= 0 || room.Y <= titleBar || c.Scale() <= 0 {
		return
	}
	most := fyne.NewSize(float32(room.X)/c.Scale(), float32(room.Y-titleBar)/c.Scale())
	if size := c.Size(); size.Width > most.Width || size.Height > most.Height {
		win.Resize(size.Min(most))
	}
}

// handleOf returns a window's handle, where the system is one that we know to ask by it.
func handleOf(win fyne.Window) (handle screen.Window) {
	if n, ok := win.(driver.NativeWindow); ok {
		n.RunNative(func(c any) {
			switch c := c.(type) {
			case driver.X11WindowContext:
				handle = screen.Window(c.WindowHandle)
			case driver.WindowsWindowContext:
				handle = screen.Window(c.HWND)
			}
		})
	}
	return handle
}
