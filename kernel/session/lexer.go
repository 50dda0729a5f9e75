package session

import (
	"strings"
	"unicode"
	"unicode/utf8"
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

// point is a place in a cell, as the interpreter counts: from 1, columns in code points.
type point struct{ line, col int32 }

// token is a piece of source, from start to end in code points.
type token struct {
	kind       tokenKind
	text       string
	start, end int
	at         point
	offset     int  // of its first byte
	closed     bool // of a string: it has its closing quotes
	quotes     int  // of a string: the characters before its text, prefix included
}

func (t token) is(text string) bool { return t.kind == operatorToken && t.text == text }

// touches reports whether nothing stands between the token and the next one.
func (t token) touches(next token) bool { return t.end == next.start }

// lexer walks over source that may be unfinished or wrong.
type lexer struct {
	src    string
	offset int // in bytes
	count  int // in code points
	at     point
}

// scan cuts source into tokens; it never fails. A string on one line ends at its line, as for the interpreter.
func scan(src string) []token {
	var list []token
	l := lexer{src: src, at: point{1, 1}}
	for l.more() {
		if r := l.peek(); r != '\n' && unicode.IsSpace(r) || r == '\\' || r == '\ufeff' {
			l.next()
			continue
		}
		t := token{start: l.count, at: l.at, offset: l.offset}
		l.token(&t)
		t.end = l.count
		t.text = src[t.offset:l.offset]
		list = append(list, t)
	}
	return list
}

// token passes over one token and sets what is known of it besides its ends.
func (l *lexer) token(t *token) {
	r := l.peek()
	quotes := l.opensString()
	switch {
	case r == '\n':
		t.kind = newlineToken
		l.next()
	case r == '#':
		t.kind = commentToken
		l.while(func(r rune) bool { return r != '\n' })
	case quotes > 0:
		t.kind, t.quotes = stringToken, quotes
		t.closed = l.stringToken(quotes)
	case unicode.IsDigit(r) || r == '.' && unicode.IsDigit(l.second()):
		t.kind = numberToken
		l.number()
	case isNameRune(r):
		t.kind = nameToken
		l.while(isNameRune)
	default:
		t.kind = operatorToken
		l.next()
	}
}

func (l *lexer) more() bool { return l.offset < len(l.src) }

// peek returns the character at hand, and second the one behind it.
func (l *lexer) peek() rune {
	r, _ := utf8.DecodeRuneInString(l.src[l.offset:])
	return r
}

func (l *lexer) second() rune {
	_, n := utf8.DecodeRuneInString(l.src[l.offset:])
	r, _ := utf8.DecodeRuneInString(l.src[l.offset+n:])
	return r
}

func (l *lexer) has(text string) bool { return strings.HasPrefix(l.src[l.offset:], text) }

func (l *lexer) next() {
	if !l.more() {
		return
	}
	r, n := utf8.DecodeRuneInString(l.src[l.offset:])
	l.offset, l.count = l.offset+n, l.count+1
	if l.at.col++; r == '\n' {
		l.at = point{l.at.line + 1, 1}
	}
}

func (l *lexer) skip(n int) {
	for range n {
		l.next()
	}
}

func (l *lexer) while(in func(rune) bool) {
	for l.more() && in(l.peek()) {
		l.next()
	}
}

// opensString returns how many characters begin a string here, its prefix and its first quotes, or 0.
func (l *lexer) opensString() int {
	rest := l.src[l.offset:]
	n := 0
	for n < len(rest) && n < 2 && strings.IndexByte("rbRB", rest[n]) >= 0 {
		n++
	}
	if n == len(rest) || rest[n] != '"' && rest[n] != '\'' {
		return 0
	}
	if n+2 < len(rest) && rest[n+1] == rest[n] && rest[n+2] == rest[n] {
		return n + 3
	}
	return n + 1
}

// stringToken passes over a string that begins with so many characters and reports whether it has an end.
func (l *lexer) stringToken(quotes int) (closed bool) {
	head := l.src[l.offset : l.offset+quotes]
	mark := strings.TrimLeft(head, "rbRB")
	l.skip(quotes)
	for l.more() {
		switch {
		case l.has("\\"):
			l.skip(2)
		case l.has(mark):
			l.skip(len(mark))
			return true
		case l.has("\n") && len(mark) == 1:
			return false
		default:
			l.next()
		}
	}
	return false
}

// number passes over a number. The sign of an exponent belongs to it.
func (l *lexer) number() {
	hex := l.has("0x") || l.has("0X")
	for before := rune(0); l.more(); l.next() {
		r := l.peek()
		exponent := !hex && (r == '+' || r == '-') && (before == 'e' || before == 'E') && unicode.IsDigit(l.second())
		if !isNameRune(r) && r != '.' && !exponent {
			return
		}
		before = r
	}
}

func isNameRune(r rune) bool {
	return r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r)
}
