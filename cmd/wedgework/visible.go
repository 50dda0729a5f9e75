package main

import (
	"fmt"
	"io"
	"unicode"
	"unicode/utf8"
)

// visible writes text with its control characters as visible escapes, \x1b for the first of a terminal's commands:
// what a notebook, a record or a file says must not drive the terminal of who reads it. Line feeds and tabs stay. So
// do all other characters, but those that turn the direction of the text, which can make one line read as another. What
// can stand in JSON is escaped as there.
type visible struct {
	to   io.Writer
	rest []byte // the begin of a character whose end has not come yet
}

// Write reports all of p as written where the escapes of it are.
func (v *visible) Write(p []byte) (int, error) {
	data := append(v.rest, p...)
	v.rest = nil
	out := make([]byte, 0, len(data))
	for len(data) > 0 {
		if !utf8.FullRune(data) {
			v.rest = append([]byte(nil), data...)
			break
		}
		r, n := utf8.DecodeRune(data)
		switch {
		case r == utf8.RuneError && n == 1:
			out = fmt.Appendf(out, `\x%02x`, data[0])
		case r == '\n' || r == '\t':
			out = append(out, byte(r))
		case r < ' ':
			out = fmt.Appendf(out, `\x%02x`, r)
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == '\u2028', r == '\u2029':
			out = fmt.Appendf(out, `\u%04x`, r)
		default:
			out = append(out, data[:n]...)
		}
		data = data[n:]
	}
	if _, err := v.to.Write(out); err != nil {
		return 0, err
	}
	return len(p), nil
}

// flush writes what is left of a character without an end.
func (v *visible) flush() {
	for _, b := range v.rest {
		fmt.Fprintf(v.to, `\x%02x`, b)
	}
	v.rest = nil
}
