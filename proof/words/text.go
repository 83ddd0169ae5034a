package words

import (
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
