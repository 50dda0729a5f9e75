package session

import (
	"strings"
	"unicode"
)

// tokenKind is what a token of unfinished source is.
type tokenKind uint8

const (
	nameToken tokenKind = iota + 1
	numberToken
	stringToken
	commentToken
	newlineToken
	operatorToken // one character, brackets and points included
)

// token is a piece of source, from start to end in code points.
type token struct {
	kind       tokenKind
	text       string
	start, end int
	closed     bool // of a string: it has its closing quotes
	quotes     int  // of a string: the characters before its text, prefix included
}

func (t token) is(text string) bool { return t.kind == operatorToken && t.text == text }

// scan cuts source that may be unfinished or wrong into tokens; it never fails. A string on one line ends
// at its line, as for the interpreter.
func scan(src []rune) []token {
	var list []token
	for i := 0; i < len(src); {
		t := token{start: i}
		switch r := src[i]; {
		case r == '\n':
			t.kind, i = newlineToken, i+1
		case unicode.IsSpace(r) || r == '\\' || r == '\ufeff':
			i++
			continue
		case r == '#':
			t.kind = commentToken
			for i < len(src) && src[i] != '\n' {
				i++
			}
		case opensString(src[i:]) > 0:
			t.kind = stringToken
			i = t.scanString(src, i)
		case unicode.IsDigit(r) || r == '.' && i+1 < len(src) && unicode.IsDigit(src[i+1]):
			t.kind = numberToken
			i = scanNumber(src, i)
		case isNameRune(r):
			t.kind = nameToken
			for i < len(src) && isNameRune(src[i]) {
				i++
			}
		default:
			t.kind, i = operatorToken, i+1
		}
		t.end = i
		t.text = string(src[t.start:t.end])
		list = append(list, t)
	}
	return list
}

// opensString returns how many characters of src begin a string, its prefix and its first quotes, or 0.
func opensString(src []rune) int {
	n := 0
	for n < len(src) && n < 2 && strings.ContainsRune("rbRB", src[n]) {
		n++
	}
	if n == len(src) || src[n] != '"' && src[n] != '\'' {
		return 0
	}
	if n+2 < len(src) && src[n+1] == src[n] && src[n+2] == src[n] {
		return n + 3
	}
	return n + 1
}

// scanString sets what is known of the string that begins at i and returns its end.
func (t *token) scanString(src []rune, i int) int {
	t.quotes = opensString(src[i:])
	quote := src[i+t.quotes-1]
	triple := t.quotes >= 3 && src[i+t.quotes-2] == quote && src[i+t.quotes-3] == quote
	for i += t.quotes; i < len(src); i++ {
		switch {
		case src[i] == '\\':
			i++
		case src[i] == '\n' && !triple:
			return i
		case src[i] == quote && !triple:
			t.closed = true
			return i + 1
		case src[i] == quote && i+2 < len(src) && src[i+1] == quote && src[i+2] == quote:
			t.closed = true
			return i + 3
		}
	}
	return len(src)
}

// scanNumber returns the end of the number that begins at i. The sign of an exponent belongs to it.
func scanNumber(src []rune, i int) int {
	hex := i+1 < len(src) && src[i] == '0' && (src[i+1] == 'x' || src[i+1] == 'X')
	for i < len(src) {
		switch r := src[i]; {
		case isNameRune(r) || r == '.':
			i++
		case (r == '+' || r == '-') && !hex && (src[i-1] == 'e' || src[i-1] == 'E') && i+1 < len(src) && unicode.IsDigit(src[i+1]):
			i++
		default:
			return i
		}
	}
	return i
}
