//go:build !linux && !windows && !(darwin && cgo)

package screen

func of(Window) string { return Main }

func profile(string) ([]byte, error) { return nil, ErrNone }
