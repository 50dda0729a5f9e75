package session

import (
	"strings"
	"unicode/utf8"

	"wedgework/reports/nearest"
)

// unexpectedToken are the messages that speak of a token and give the place behind it.
var unexpectedToken = matching(`^got (?:'([^']+)'|identifier|int literal|float literal|string literal|newline)(?: after expression)?, want `)

// offender moves the place of such an error to the token itself, where the caret belongs.
func (s *Session) offender(e *Error, message string) {
	m := unexpectedToken().FindStringSubmatch(message)
	if m == nil || strings.HasPrefix(message, "got indent") || strings.HasPrefix(message, "got outdent") ||
		strings.HasPrefix(message, "got end of file") {
		return
	}
	s.mu.Lock()
	lines := s.sources[e.Cell]
	s.mu.Unlock()
	if e.Line < 1 || e.Line > len(lines) {
		return
	}
	behind := e.Column - 1
	for _, l := range lines[:e.Line-1] {
		behind += utf8.RuneCountInString(l) + 1
	}
	if m[1] != "" { // an operator or a bracket, written in the message
		n := utf8.RuneCountInString(m[1])
		line := []rune(lines[e.Line-1])
		if end := e.Column - 1; n <= end && end <= len(line) && string(line[end-n:end]) == m[1] {
			e.Column -= n
		}
		return
	}
	for _, t := range scan(strings.Join(lines, "\n")) {
		if t.end == behind {
			e.Line, e.Column = int(t.at.line), int(t.at.col)
			return
		}
	}
}

// misspelt returns the keyword that the first word of a line was meant to be, where the line cannot be read and the
// word is no name; "" when there is none.
func (s *Session) misspelt(line string) string {
	tokens := scan(line)
	if len(tokens) == 0 || tokens[0].kind != nameToken || reservedName[tokens[0].text] {
		return ""
	}
	if len(tokens) > 1 && tokens[1].kind == operatorToken && !tokens[1].is(":") {
		return "" // called, indexed or assigned: a name
	}
	word := tokens[0].text
	if _, known := s.Lookup(word); known {
		return ""
	}
	return nearest.To(word, languageWords)
}
