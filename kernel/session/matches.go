package session

import (
	"strings"

	"go.starlark.net/starlark"

	"wedgework/reports/document"
)

// Complete returns what may stand at the cursor, a count of code points from the start of the source. It
// runs nothing, may be called while a cell runs, and gives no matches rather than an error.
func (s *Session) Complete(source string, cursor int) Completion {
	src := []rune(source)
	cursor = min(max(cursor, 0), len(src))
	start := cursor
	for start > 0 && isNameRune(src[start-1]) {
		start--
	}
	c := Completion{Start: start, End: cursor}
	prefix := string(src[start:cursor])
	for _, name := range s.Names() {
		if strings.HasPrefix(name, prefix) {
			c.Matches = append(c.Matches, Match{Text: name, Kind: NameMatch})
		}
	}
	return c
}

// Inspect returns what is known of the thing at the cursor; see Describer for detail. It runs nothing and
// may be called while a cell runs.
func (s *Session) Inspect(source string, cursor, detail int) ([]document.Block, bool) {
	src := []rune(source)
	cursor = min(max(cursor, 0), len(src))
	start, end := cursor, cursor
	for start > 0 && isNameRune(src[start-1]) {
		start--
	}
	for end < len(src) && isNameRune(src[end]) {
		end++
	}
	v, ok := s.Lookup(string(src[start:end]))
	if !ok {
		return nil, false
	}
	if d, ok := v.(Describer); ok {
		return d.Describe(detail), true
	}
	if f, ok := v.(*starlark.Function); ok {
		return []document.Block{document.Code{Text: f.Name() + "\n\n" + f.Doc()}}, true
	}
	return []document.Block{document.Code{Text: Text(v, 2000)}}, true
}
