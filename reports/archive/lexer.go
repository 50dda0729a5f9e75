package archive

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Value is a value of PDF: nil, bool, Number, Name, String, Array, Dict, Ref, Stream, or Operator in a page's content.
type Value any

type (
	Number   string // as written
	Name     string
	String   string // bytes
	Array    []Value
	Dict     map[Name]Value
	Ref      int // number of an object; the files have one generation
	Operator string
)

// Stream is a dictionary with bytes, packed as it says.
type Stream struct {
	Dict Dict
	raw  []byte
}

// Int returns a number that is whole.
func (n Number) Int() (int, error) { return strconv.Atoi(string(n)) }

// Plain reports whether a number is written as reports write theirs: a sign or none, digits, and a point with digits or
// none. Others may be read as anything.
func (n Number) Plain() bool { return plainNumber(string(n)) }

// mostDigits of a number before the point and after it; a choice.
const mostDigits = 10

func plainNumber(w string) bool {
	whole, fraction, point := strings.Cut(strings.TrimPrefix(w, "-"), ".")
	for _, digits := range []string{whole, fraction} {
		if len(digits) > mostDigits || strings.Trim(digits, "0123456789") != "" {
			return false
		}
	}
	return whole != "" && (fraction != "" || !point)
}

// Float returns the number.
func (n Number) Float() (float64, error) {
	if !n.Plain() {
		return 0, fmt.Errorf("found %.20q, expected a number", string(n))
	}
	return strconv.ParseFloat(string(n), 64)
}

// Bounds on values: choices. Ours nest six deep, and ISO 19005-3 allows strings of 32,767 bytes.
const (
	maxDepth  = 64
	maxString = 1 << 20
)

// lexer reads values from bytes (ISO 32000-1, 7.2 and 7.3).
type lexer struct {
	data []byte
	at   int
	left *int // values that may still be read

	strict bool // comments, keys that come twice, and numbers that are none are errors
}

const (
	whites     = "\x00\t\n\f\r "
	delimiters = "()<>[]{}/%"
)

func in(set string, c byte) bool { return strings.IndexByte(set, c) >= 0 }

func (l *lexer) skip() {
	for l.at < len(l.data) {
		switch c := l.data[l.at]; {
		case in(whites, c):
			l.at++
		case c == '%' && !l.strict:
			for l.at < len(l.data) && !in("\r\n", l.data[l.at]) {
				l.at++
			}
		default:
			return
		}
	}
}

// word returns the run of regular characters ahead without taking it.
func (l *lexer) word() string {
	end := l.at
	for end < len(l.data) && !in(whites, l.data[end]) && !in(delimiters, l.data[end]) {
		end++
	}
	return string(l.data[l.at:end])
}

// keyword takes a word if it is the one ahead.
func (l *lexer) keyword(word string) bool {
	l.skip()
	if l.at >= len(l.data) || !bytes.HasPrefix(l.data[l.at:], []byte(word)) || l.word() != word {
		return false
	}
	l.at += len(word)
	return true
}

func (l *lexer) integer() (int, error) {
	l.skip()
	w := l.word()
	n, err := strconv.Atoi(w)
	if err != nil {
		return 0, fmt.Errorf("found %.20q at byte %d, expected a whole number", w, l.at)
	}
	l.at += len(w)
	return n, nil
}

var (
	errEnd  = errors.New("the data end within a value")
	errLong = fmt.Errorf("found a string of more than %d bytes", maxString)
)

// value reads a value. A bare word is an Operator.
func (l *lexer) value(depth int) (Value, error) {
	if depth > maxDepth {
		return nil, fmt.Errorf("values nest more than %d deep", maxDepth)
	}
	if *l.left--; *l.left < 0 {
		return nil, fmt.Errorf("found more than %d values", maxValues)
	}
	l.skip()
	if l.at >= len(l.data) {
		return nil, errEnd
	}
	switch c := l.data[l.at]; {
	case c == '/':
		return l.name()
	case c == '(':
		return l.literal()
	case c == '[':
		l.at++
		var a Array
		for {
			if l.skip(); l.at < len(l.data) && l.data[l.at] == ']' {
				l.at++
				return a, nil
			}
			v, err := l.value(depth + 1)
			if err != nil {
				return nil, err
			}
			a = append(a, v)
		}
	case bytes.HasPrefix(l.data[l.at:], []byte("<<")):
		l.at += 2
		return l.dict(depth)
	case c == '<':
		return l.hexadecimal()
	}
	return l.bare()
}

func (l *lexer) dict(depth int) (Value, error) {
	d := Dict{}
	for {
		l.skip()
		if bytes.HasPrefix(l.data[l.at:], []byte(">>")) {
			l.at += 2
			return d, nil
		}
		key, err := l.value(depth + 1)
		if err != nil {
			return nil, err
		}
		name, ok := key.(Name)
		if !ok {
			return nil, fmt.Errorf("found %v in a dictionary, expected a name", key)
		}
		if _, twice := d[name]; twice && l.strict {
			return nil, fmt.Errorf("found the key %s twice in a dictionary", name)
		}
		if d[name], err = l.value(depth + 1); err != nil {
			return nil, err
		}
	}
}

// bare reads a number, a reference, a word of the language, or an operator.
func (l *lexer) bare() (Value, error) {
	w := l.word()
	if w == "" {
		return nil, fmt.Errorf("found %q at byte %d, expected a value", l.data[l.at], l.at)
	}
	l.at += len(w)
	switch w {
	case "true", "false":
		return w == "true", nil
	case "null":
		return nil, nil
	}
	if c := w[0]; c != '+' && c != '-' && c != '.' && (c < '0' || c > '9') {
		return Operator(w), nil
	}
	if n, err := strconv.Atoi(w); err == nil && n >= 0 {
		ahead := *l
		if g, err := ahead.integer(); err == nil && ahead.keyword("R") {
			if l.strict && g != 0 {
				return nil, fmt.Errorf("found a reference to %d in generation %d, expected 0", n, g)
			}
			*l = ahead
			return Ref(n), nil
		}
	}
	if l.strict && !plainNumber(w) {
		return nil, fmt.Errorf("found %.20q, expected a number", w)
	}
	return Number(w), nil
}

func (l *lexer) name() (Value, error) {
	l.at++
	w := l.word()
	l.at += len(w)
	out := make([]byte, 0, len(w))
	for i := 0; i < len(w); i++ {
		if w[i] == '#' && i+2 < len(w) {
			if b, err := strconv.ParseUint(w[i+1:i+3], 16, 8); err == nil {
				out = append(out, byte(b))
				i += 2
				continue
			}
		}
		out = append(out, w[i])
	}
	return Name(out), nil
}

func (l *lexer) hexadecimal() (Value, error) {
	l.at++
	var out []byte
	high, half := byte(0), false
	for ; l.at < len(l.data); l.at++ {
		c := l.data[l.at]
		var v byte
		switch {
		case c == '>':
			l.at++
			if half {
				out = append(out, high)
			}
			return String(out), nil
		case in(whites, c):
			continue
		case c >= '0' && c <= '9':
			v = c - '0'
		case c >= 'a' && c <= 'f':
			v = c - 'a' + 10
		case c >= 'A' && c <= 'F':
			v = c - 'A' + 10
		default:
			return nil, fmt.Errorf("found %q in a hexadecimal string", c)
		}
		if half {
			out = append(out, high|v)
		}
		if len(out) > maxString {
			return nil, errLong
		}
		high, half = v<<4, !half
	}
	return nil, errEnd
}

func (l *lexer) literal() (Value, error) {
	l.at++
	var out []byte
	open := 1
	for ; l.at < len(l.data); l.at++ {
		switch c := l.data[l.at]; c {
		case '(':
			open++
		case ')':
			if open--; open == 0 {
				l.at++
				return String(out), nil
			}
		case '\\':
			l.at++
			out = l.escape(out)
			continue
		}
		if out = append(out, l.data[l.at]); len(out) > maxString {
			return nil, errLong
		}
	}
	return nil, errEnd
}

// escape appends what the characters after a backslash stand for; the last of them stays for the caller to pass.
func (l *lexer) escape(out []byte) []byte {
	if l.at >= len(l.data) {
		return out
	}
	switch c := l.data[l.at]; c {
	case 'n':
		return append(out, '\n')
	case 'r':
		return append(out, '\r')
	case 't':
		return append(out, '\t')
	case 'b':
		return append(out, '\b')
	case 'f':
		return append(out, '\f')
	case '\n':
		return out
	case '\r':
		if l.at+1 < len(l.data) && l.data[l.at+1] == '\n' {
			l.at++
		}
		return out
	default:
		if c < '0' || c > '7' {
			return append(out, c)
		}
	}
	v, n := 0, 0
	for n < 3 && l.at+n < len(l.data) && l.data[l.at+n] >= '0' && l.data[l.at+n] <= '7' {
		v = v<<3 | int(l.data[l.at+n]-'0')
		n++
	}
	l.at += n - 1
	return append(out, byte(v))
}
