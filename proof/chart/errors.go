package chart

import "fmt"

// FormatError says what is wrong with a measurement file or patch list.
type FormatError struct {
	Line int    // counted from 1; 0 when the fault has no one line
	Msg  string // what is wrong, with the values at fault
}

func (e *FormatError) Error() string {
	if e.Line == 0 {
		return "chart: " + e.Msg
	}
	return fmt.Sprintf("chart: line %d: %s", e.Line, e.Msg)
}

// UnsupportedError says that a file is sound but holds what this package does
// not work with: more rows than [MaxRows], another illuminant, n-colour values.
type UnsupportedError struct {
	Line int // counted from 1; 0 when there is no one line
	Msg  string
}

func (e *UnsupportedError) Error() string {
	if e.Line == 0 {
		return "chart: " + e.Msg
	}
	return fmt.Sprintf("chart: line %d: %s", e.Line, e.Msg)
}

func wrong(line int, format string, args ...any) error {
	return &FormatError{line, fmt.Sprintf(format, args...)}
}

func unsupported(line int, format string, args ...any) error {
	return &UnsupportedError{line, fmt.Sprintf(format, args...)}
}
