package session

import "testing"

// Beside a large picture garbage may grow to 128 MB and not to the picture's size.
func TestGarbage(t *testing.T) {
	for picture, want := range map[int]int{0: 100, 128 << 20: 100, 256 << 20: 50, 512 << 20: 25, 8 << 30: 10} {
		if got := garbage(picture); got != want {
			t.Errorf("beside %d MB: %d %%, want %d", picture>>20, got, want)
		}
	}
}
