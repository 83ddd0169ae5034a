package printfile

import (
	"fmt"
	"slices"
)

// Choices are stored as words, so that a ticket can be read by people and survives
// a new choice between two old ones.

func word(list []string, i int) string {
	if i < len(list) {
		return list[i]
	}
	return fmt.Sprint(i)
}

func marshal(list []string, i int, what string) ([]byte, error) {
	if i >= len(list) {
		return nil, fmt.Errorf("printfile: %s %d", what, i)
	}
	return []byte(list[i]), nil
}

func unmarshal[T ~uint8](list []string, v *T, b []byte, what string) error {
	i := slices.Index(list, string(b))
	if i < 0 {
		return fmt.Errorf("printfile: no %s is called %q", what, b)
	}
	*v = T(i)
	return nil
}
