// Package screen asks the system for the profile of the screen that the window
// is on.
//
// On X11 it is the property _ICC_PROFILE of the root window (freedesktop.org,
// 'ICC Profiles in X Specification' 0.4), for the further Xinerama screens
// _ICC_PROFILE_1 and so on. On Windows it is the file that GetICMProfileW names for the
// monitor's own device. On macOS it is the main display's profile in ColorSync, wherever
// the window lies. Where there is none the answer is ErrNone, and the program assumes
// sRGB and says so.
package screen

import (
	"errors"
	"image"
)

// ErrNone says that the system knows no profile for the screen.
var ErrNone = errors.New("screen: the system has no profile for this screen")

// maxProfile bounds what is read: display profiles with large tables have about 2 MB.
const maxProfile = 16 << 20

// Window is a window by the system's own handle; 0 stands for none.
type Window uintptr

// Main is the main screen.
const Main = ""

// Of returns the screen that the middle of a window lies on, the main one where that
// can't be told. The name is good for [Profile] and for telling screens apart; it may come
// to mean another screen when one is plugged in or taken away.
func Of(w Window) string {
	if w == 0 {
		return Main
	}
	return of(w)
}

// Room returns how many pixels wide and high the screen that the middle of a window lies on
// is, without the system's own bars where the system tells; 0, 0 where nothing is known.
func Room(w Window) image.Point {
	if w == 0 {
		return image.Point{}
	}
	return room(w)
}

// Profile returns the bytes of a screen's ICC profile.
func Profile(screen string) ([]byte, error) { return profile(screen) }
