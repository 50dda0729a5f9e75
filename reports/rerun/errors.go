package rerun

import (
	"fmt"
	"strings"
)

// CellError is the failure of a cell. Line and Column count from 1 within the cell; both are 0 when the
// failure has no position.
type CellError struct {
	Number       int // of the cell, counting all cells of the notebook from 1
	Line, Column int
	Message      string
	Hint         string   // what to try, "" when there is nothing to say
	Lines        []string // the traceback as a person reads it, source line and caret included
	Err          error    // the session's own error, for errors.As
}

// Error gives place, message and hint in one line.
func (e *CellError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "cell %d", e.Number)
	if e.Line > 0 {
		fmt.Fprintf(&b, ", line %d", e.Line)
	}
	if e.Column > 0 {
		fmt.Fprintf(&b, ", column %d", e.Column)
	}
	fmt.Fprintf(&b, ": %s", e.Message)
	if e.Hint != "" {
		fmt.Fprintf(&b, " (%s)", e.Hint)
	}
	return b.String()
}

// Unwrap returns the session's own error.
func (e *CellError) Unwrap() error { return e.Err }
