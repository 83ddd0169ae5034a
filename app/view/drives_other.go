//go:build !windows

package view

// drives is empty where all folders hang from one root.
func drives() []string { return nil }
