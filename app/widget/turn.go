package widget

import "fyne.io/fyne/v2"

// turn makes many rows one stop of the Tab key: only the row whose turn it is takes the
// keyboard, and arrows give the turn to another. The toolkit passes over what says that
// it is disabled.
type turn struct {
	// Passed is set for all rows but one.
	Passed bool
	// OnArrow is told by how many rows the keyboard is to move; a large number for the ends.
	OnArrow func(by int)
}

var _ fyne.Disableable = (*turn)(nil)

// Enable implements fyne.Disableable.
func (t *turn) Enable() { t.Passed = false }

// Disable implements fyne.Disableable.
func (t *turn) Disable() { t.Passed = true }

// Disabled implements fyne.Disableable.
func (t *turn) Disabled() bool { return t.Passed }

// keys puts the arrows before the keys of a row.
func (t *turn) keys(others func(*fyne.KeyEvent) bool) func(*fyne.KeyEvent) bool {
	const all = 1 << 20
	by := map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1, fyne.KeyHome: -all, fyne.KeyEnd: all, fyne.KeyPageUp: -5, fyne.KeyPageDown: 5}
	return func(e *fyne.KeyEvent) bool {
		if n, ok := by[e.Name]; ok && t.OnArrow != nil {
			t.OnArrow(n)
			return true
		}
		return others(e)
	}
}
