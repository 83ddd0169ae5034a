package words

import (
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
