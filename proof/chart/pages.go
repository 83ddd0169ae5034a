package chart

import (
	"fmt"
	"slices"
	"strings"
)

// wholeChart reads the measurements of a table whose columns are known, together with the
// tables after it that go on with the same chart: programs export large charts page by
// page. A table with colours that does not go on is named in the notes.
func wholeChart(tables []Table, first int, c columns, opts ReadOptions) (*Measurements, error) {
	whole := tables[first]
	// The rows of the table itself stay as they are.
	whole.Rows, whole.Lines = slices.Clip(whole.Rows), slices.Clip(whole.Lines)
	var notes []string
	joined := 1
	for k, t := range tables[first+1:] {
		other, err := findColumns(t)
		if err != nil {
			return nil, err
		}
		if other.colour == noColour || (other.device == nil) != (c.device == nil) {
			continue // it holds something else: calibration curves, the device values alone
		}
		if why := another(tables[first], t); why != "" {
			notes = append(notes, fmt.Sprintf("Table %d of the file, %d rows from line %d on, was not read: %s.", first+k+2, len(t.Rows), t.line, why))
			continue
		}
		if len(whole.Rows)+len(t.Rows) > MaxRows {
			return nil, unsupported(t.line, "%d rows together with those of the tables before, more than %d", len(whole.Rows)+len(t.Rows), MaxRows)
		}
		whole.Rows, whole.Lines = append(whole.Rows, t.Rows...), append(whole.Lines, t.Lines...)
		joined++
	}
	ms, err := measurements(whole, c, opts)
	if err != nil {
		return nil, err
	}
	if joined > 1 {
		ms.note("The file holds the chart in %d tables, which were joined: %d patches.", joined, len(ms.Patches))
	}
	ms.Notes = append(ms.Notes, notes...)
	return ms, nil
}

// another tells why a table does not go on with the chart of the first one, or "".
func another(first, t Table) string {
	if !slices.EqualFunc(first.Fields, t.Fields, strings.EqualFold) {
		return "its columns are others than those of the table before"
	}
	var a, b Measurements
	a.describe(first)
	b.describe(t)
	if a.Condition != "" && b.Condition != "" && a.Condition != b.Condition {
		return "it was measured under " + b.Condition + ", the table before under " + a.Condition
	}
	if readAgain(first, t) {
		return "it holds the same patches as the table before, read again"
	}
	return ""
}

// readAgain tells whether all rows of a table name patches of the first one: the same device
// values row by row, or the same names where there are none.
func readAgain(first, t Table) bool {
	c, err := findColumns(first)
	if err != nil || len(t.Rows) > len(first.Rows) {
		return false
	}
	cols := c.device
	if cols == nil {
		cols = []int{c.id, c.loc}
	}
	for i, row := range t.Rows {
		for _, k := range cols {
			if k >= 0 && row[k] != first.Rows[i][k] {
				return false
			}
		}
	}
	return c.device != nil || c.id >= 0 || c.loc >= 0
}
