package notebook

import (
	"encoding/json"
	"fmt"
	"strconv"
)

// Invalid says where a notebook departs from nbformat 4.
type Invalid struct {
	Cell  int    // counted from 1; 0 for the notebook as a whole
	Field string // "outputs[0].name"; "" for the cell or the notebook itself
	Found string // "the number 7", "nothing"
	Want  string // "a string or a list of strings"
}

// Error names cell and field, what was found and what was expected.
func (e *Invalid) Error() string {
	where := "notebook"
	if e.Cell > 0 {
		where = fmt.Sprintf("cell %d", e.Cell)
	}
	if e.Field != "" {
		where += ": " + e.Field
	}
	return fmt.Sprintf("%s: found %s, expected %s", where, e.Found, e.Want)
}

// describe words a JSON value for an error: short, and of long strings only the beginning.
func describe(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case bool:
		return strconv.FormatBool(v)
	case json.Number:
		return "the number " + clip(v.String())
	case string:
		return strconv.Quote(clip(v))
	case []any:
		return fmt.Sprintf("a list of %d", len(v))
	case map[string]any:
		return fmt.Sprintf("an object with %d fields", len(v))
	}
	return fmt.Sprintf("%T", v)
}

func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
