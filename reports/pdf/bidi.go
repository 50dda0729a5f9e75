package pdf

import (
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/bidi"
)

// Text is kept in the order in which it is read and drawn from left to right. Where a line holds a script that
// is read from right to left, arrange says where each character is seen (UAX #9). Marks that turn the direction
// never come here: fonts.clean prints them as code points.

// seen is a character of a line as it is seen, and its place in the order of reading.
type seen struct {
	r  rune
	at int
}

// leftward reports whether a text begins, by its first letter, in a script that is read from right to left.
func leftward(s string) bool {
	for _, r := range s {
		if r < 0x0590 { // no such script lies below
			if r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r > 0xBF {
				return false
			}
			continue
		}
		switch class(r) {
		case bidi.L:
			return false
		case bidi.R, bidi.AL:
			return true
		}
	}
	return false
}

func class(r rune) bidi.Class {
	p, _ := bidi.LookupRune(r)
	return p.Class()
}

// turns reports whether a text holds a character read from right to left.
func turns(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool {
		if r < 0x0590 {
			return false
		}
		c := class(r)
		return c == bidi.R || c == bidi.AL
	})
}

// visual returns a line in the order in which it is seen.
func visual(s string) string {
	if !turns(s) {
		return s
	}
	var b strings.Builder
	for _, g := range arrange(s, leftward(s)) {
		b.WriteRune(g.r)
	}
	return b.String()
}

// spell returns the characters of a stretch that is read from left to right, the first at a place of the line.
func spell(s string, at int) []seen {
	var out []seen
	for _, r := range s {
		out = append(out, seen{r, at + len(out)})
	}
	return out
}

// arrange returns the characters of a line of a paragraph of a direction in the order in which they are seen, brackets
// mirrored where they are turned.
func arrange(s string, left bool) []seen {
	var p bidi.Paragraph
	d := bidi.LeftToRight
	if left {
		d = bidi.RightToLeft
	}
	if _, err := p.SetString(s, bidi.DefaultDirection(d)); err != nil {
		return spell(s, 0)
	}
	order, err := p.Order()
	if err != nil {
		return spell(s, 0)
	}
	// The library gives stretches of one direction in the order of reading. Turned are those read from right to
	// left; then, around them, the stretches change places.
	var parts [][]seen
	read := 0
	var turned []int // first and last part of a sequence that changes places as a whole
	flush := func() {
		if len(turned) == 2 {
			slices.Reverse(parts[turned[0] : turned[1]+1])
		}
		turned = nil
	}
	for i := range order.NumRuns() {
		r := order.Run(i)
		text := r.String()
		at := read
		read += utf8.RuneCountInString(text)
		if r.Direction() == bidi.RightToLeft {
			part := spell(bidi.ReverseString(text), 0)
			for k := range part {
				part[k].at = read - 1 - k
			}
			parts = append(parts, part)
			if turned == nil {
				turned = []int{len(parts) - 1, 0}
			}
			turned[1] = len(parts) - 1
			continue
		}
		number, rest := text, ""
		if !left {
			number, rest = leadingNumber(text)
		}
		if number != "" && (turned != nil || left) {
			parts = append(parts, spell(number, at))
			at += utf8.RuneCountInString(number)
			if turned == nil {
				turned = []int{len(parts) - 1, 0}
			}
			turned[1] = len(parts) - 1
		} else {
			rest = number + rest
		}
		if rest != "" {
			flush()
			parts = append(parts, spell(rest, at))
		}
	}
	flush()
	return slices.Concat(parts...)
}

// leadingNumber cuts off the numbers that a stretch read from left to right has before its first letter: after
// text read from right to left they belong to that text.
func leadingNumber(s string) (number, rest string) {
	end := 0
	for i, r := range s {
		switch class(r) {
		case bidi.L:
			return s[:end], s[end:]
		case bidi.EN, bidi.AN:
			end = i + len(string(r))
		}
	}
	return s[:end], s[end:]
}
