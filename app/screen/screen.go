// Package screen asks the system for the profile of the screen that the window
// is on.
//
// On X11 it is the property _ICC_PROFILE of the root window (freedesktop.org,
// 'ICC Profiles in X Specification' 0.4), further monitors _ICC_PROFILE_1 and so
// on. On Windows it is the file named by GetICMProfileW. On macOS it is the main
// display's profile in ColorSync. Where there is none the answer is ErrNone, and
// the program assumes sRGB and says so.
package screen

import "errors"

// ErrNone says that the system knows no profile for the screen.
var ErrNone = errors.New("screen: the system has no profile for this screen")

// maxProfile bounds what is read: display profiles with large tables have about 2 MB.
const maxProfile = 16 << 20

// Profile returns the bytes of the main screen's ICC profile.
func Profile() ([]byte, error) { return profile() }
