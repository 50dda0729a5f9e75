package measured

import (
	"fmt"
	"strconv"
	"strings"
)

// Refusal is the reason why a file is not a table of readings. Lines and columns count from 1; zero means
// that the whole file, or the whole line, is meant.
type Refusal struct {
	File   string
	Sheet  string // of a workbook: Line and Column are then a cell's
	Line   int
	Column int
	Head   string // head of the column, "" when it is not known
	Found  string
	Want   string

	OtherCondition bool // the file holds readings, of other conditions than the one asked for
}

// Error gives it all in one line.
func (e *Refusal) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if place := placeOf(e.Sheet, e.Line, e.Column); place != "" {
		b.WriteString(": " + place)
	}
	if e.Head != "" {
		fmt.Fprintf(&b, " (%s)", e.Head)
	}
	fmt.Fprintf(&b, ": found %s, expected %s", e.Found, e.Want)
	return b.String()
}

// placeOf words a place in a file: "line 7, column 3", or "sheet Sweep, cell C7" in a workbook.
func placeOf(sheet string, line, column int) string {
	switch {
	case line == 0 && sheet == "":
		return ""
	case line == 0:
		return "sheet " + sheet
	case sheet != "" && column > 0:
		return fmt.Sprintf("sheet %s, cell %s%d", sheet, letters(column), line)
	case sheet != "":
		return fmt.Sprintf("sheet %s, row %d", sheet, line)
	case column > 0:
		return fmt.Sprintf("line %d, column %d", line, column)
	}
	return fmt.Sprintf("line %d", line)
}

// letters names a column of a sheet: A to Z, AA and on.
func letters(column int) string {
	s := ""
	for ; column > 0; column = (column - 1) / 26 {
		s = string(rune('A'+(column-1)%26)) + s
	}
	return s
}

// refuse makes the error of a place in the grid.
func (g *grid) refuse(line, column int, found, want string) error {
	return &Refusal{File: g.file.Name, Sheet: g.sheet, Line: line, Column: column, Found: found, Want: want}
}

// quote shows a field in an error, shortened when it is long.
func quote(field string) string {
	const most = 40
	if field == "" {
		return "an empty field"
	}
	if r := []rune(field); len(r) > most {
		field = string(r[:most]) + "…"
	}
	return strconv.Quote(field)
}
