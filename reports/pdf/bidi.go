package pdf

import (
	"slices"
	"strings"

	"golang.org/x/text/unicode/bidi"
)

// Text is kept in the order in which it is read and drawn from left to right. Where a line holds a script that
// is read from right to left, visual puts it in the order in which it is seen (UAX #9). Marks that turn the
// direction never come here: fonts.clean prints them as code points.

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
	return visualIn(s, leftward(s))
}

// visualIn is visual in a paragraph of a direction.
func visualIn(s string, left bool) string {
	var p bidi.Paragraph
	d := bidi.LeftToRight
	if left {
		d = bidi.RightToLeft
	}
	if _, err := p.SetString(s, bidi.DefaultDirection(d)); err != nil {
		return s
	}
	order, err := p.Order()
	if err != nil {
		return s
	}
	// The library gives stretches of one direction in the order of reading. Turned are those read from right to
	// left; then, around them, the stretches change places.
	var parts []string
	var turned []int // first and last part of a sequence that changes places as a whole
	flush := func() {
		if len(turned) == 2 {
			slices.Reverse(parts[turned[0] : turned[1]+1])
		}
		turned = nil
	}
	for i := range order.NumRuns() {
		r := order.Run(i)
		if r.Direction() == bidi.RightToLeft {
			parts = append(parts, bidi.ReverseString(r.String()))
			if turned == nil {
				turned = []int{len(parts) - 1, 0}
			}
			turned[1] = len(parts) - 1
			continue
		}
		number, rest := r.String(), ""
		if !left {
			number, rest = leadingNumber(r.String())
		}
		if number != "" && (turned != nil || left) {
			parts = append(parts, number)
			if turned == nil {
				turned = []int{len(parts) - 1, 0}
			}
			turned[1] = len(parts) - 1
		} else {
			rest = number + rest
		}
		if rest != "" {
			flush()
			parts = append(parts, rest)
		}
	}
	flush()
	return strings.Join(parts, "")
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
