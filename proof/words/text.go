package words

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Capital returns s with its first letter large.
func Capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// Stop ends a sentence with a full stop, if it has none.
func Stop(s string) string {
	if s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

// Unfit says in plain words where a JSON text holds another kind of value than is
// wanted, which Go tells by its own types. Other errors it returns as they are.
func Unfit(err error) error {
	e, ok := errors.AsType[*json.UnmarshalTypeError](err)
	if !ok {
		return err
	}
	kind := "the " + e.Value // "number 1e400" and the like
	if plain, ok := map[string]string{"string": "a text", "number": "a number", "array": "a list", "object": "an object", "bool": "true or false"}[e.Value]; ok {
		kind = plain
	}
	if e.Field == "" {
		return fmt.Errorf("it cannot be %s", kind)
	}
	return fmt.Errorf("its %q cannot be %s", strings.ToLower(e.Field), kind)
}

// escapes are commands to a terminal: control sequences and strings of ECMA-48 (5.4, 5.6),
// from memory.
var escapes = regexp.MustCompile("(?:\x1b\\[|\u009b)[0-?]*[ -/]*[@-~]|(?:\x1b[PX\\]^_]|[\u0090\u0098\u009d-\u009f])[^\x07\x1b\u009c]*(?:\x07|\x1b\\\\|\u009c|$)|\x1b[ -/]*[0-~]?")

// Clean makes a text from somebody's file fit to stand in a sentence and on a terminal:
// one line, without control characters, escape sequences and marks that turn the
// direction of writing, blanks joined, and not longer than most characters; 0 leaves the
// length.
func Clean(s string, most int) string {
	s = escapes.ReplaceAllString(strings.ToValidUTF8(s, "\ufffd"), "")
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == '\u200c' || r == '\u200d': // join letters in scripts that need it
			return r
		case unicode.Is(unicode.C, r) && !unicode.Is(unicode.Co, r):
			return -1
		}
		return r
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	if most > 0 && utf8.RuneCountInString(s) > most {
		s = strings.TrimSpace(string([]rune(s)[:most-1])) + "…"
	}
	return s
}
