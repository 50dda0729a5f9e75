package session

import (
	"fmt"
	"strings"

	"go.starlark.net/starlark"
)

// remember keeps the source of a cell for the tracebacks of it and of later cells that call its functions. One that is
// too long to run has none.
func (s *Session) remember(name, src string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(src) > sourceSize {
		delete(s.sources, name)
		return
	}
	s.sources[name] = strings.Split(src, "\n")
}

// line returns a line of a cell, or "".
func (s *Session) line(cell string, number int) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	lines := s.sources[cell]
	if number < 1 || number > len(lines) {
		return ""
	}
	return lines[number-1]
}

// context is one place of a traceback: where, the source line, and a caret under the column.
func (s *Session) context(cell string, line, column int, note string) []string {
	head := fmt.Sprintf("%s, line %d, column %d", cell, line, column)
	if note != "" {
		head += ": " + note
	}
	src, caret := excerpt(s.line(cell, line), column)
	if src == "" {
		return []string{head}
	}
	return []string{head, "    " + src, "    " + caret}
}

// excerpt returns a line of source, without its indentation and cut to what fits a page around the
// column, and a line with a caret under that column. Tabs stay tabs in both.
func excerpt(line string, column int) (src, caret string) {
	const most, ahead = 120, 60
	runes := []rune(strings.TrimRight(line, " \t"))
	i := max(0, min(column-1, len(runes)))
	start := 0
	for start < i && (runes[start] == ' ' || runes[start] == '\t') {
		start++
	}
	front, back := "", ""
	if i-start > ahead {
		start, front = i-ahead, "..."
	}
	end := len(runes)
	if end-start > most {
		end, back = start+most, "..."
	}
	if start >= end {
		return "", ""
	}
	pad := strings.Map(func(r rune) rune {
		if r == '\t' {
			return r
		}
		return ' '
	}, front+string(runes[start:i]))
	return front + string(runes[start:end]) + back, pad + "^"
}

// traceback writes the calls that led to an error, outermost first; of a deep recursion its ends.
func (s *Session) traceback(frames []starlark.CallFrame) []string {
	const first, last = 4, 8
	var lines []string
	for i, f := range frames {
		if left := len(frames) - first - last; left > 0 && i >= first && i < first+left {
			if i == first {
				lines = append(lines, fmt.Sprintf("... %d more calls", left))
			}
			continue
		}
		note := ""
		if f.Name != "<toplevel>" {
			note = "in " + f.Name
		}
		lines = append(lines, s.context(f.Pos.Filename(), int(f.Pos.Line), int(f.Pos.Col), note)...)
	}
	return lines
}
