package measured

import (
	"fmt"
	"strconv"
	"strings"
)

// Refusal says why a file is not taken: where, what was found and what was expected.
type Refusal struct {
	File   string
	Line   int    // 0 when the file as a whole is meant
	Column int    // counted in fields from 1; 0 when the line as a whole is meant
	Head   string // head of the column, "" when it is not known
	Found  string
	Want   string
}

// Error gives it all in one line.
func (e *Refusal) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ": line %d", e.Line)
	}
	if e.Column > 0 {
		fmt.Fprintf(&b, ", column %d", e.Column)
	}
	if e.Head != "" {
		fmt.Fprintf(&b, " (%s)", e.Head)
	}
	fmt.Fprintf(&b, ": found %s, expected %s", e.Found, e.Want)
	return b.String()
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
