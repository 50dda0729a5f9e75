package reproduce

import (
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// Elements of SVG, and the places in them where points stand: paths, positions, translations. What is scaled or turned,
// sizes, and text have no tolerance. In notebooks a line may end within an element.
var elements = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`<[A-Za-z][^<>]*(?:>|$)`) })

var places = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(` d="[^"<>]*"| [xy]="[^"<>]*"|translate\([^)"<>]*\)`)
})

// pathPiece is a command of a path or a number, as figures are written.
var pathPiece = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`[A-Za-z]|-?(?:[0-9]{1,7}(?:\.[0-9]{1,4})?|\.[0-9]{1,4})`)
})

// sameSVG tells whether two drawings are the same but for points that moved within Tolerance.
func sameSVG(a, b string) bool {
	restA, x := points(a)
	restB, y := points(b)
	if restA != restB || len(x) != len(y) {
		return false
	}
	for i := range x {
		if !close(x[i], y[i]) {
			return false
		}
	}
	return true
}

// points returns a drawing with a zero for every number of its points, and where these are.
func points(svg string) (rest string, at []float64) {
	return elements().ReplaceAllStringFunc(svg, func(element string) string {
		return places().ReplaceAllStringFunc(element, func(s string) string {
			read := positions
			if strings.HasPrefix(s, " d=") {
				read = path
			}
			begin := strings.IndexAny(s, "\"(") + 1
			shape, found, ok := read(s[begin : len(s)-1])
			if !ok {
				return s
			}
			at = append(at, found...)
			return s[:begin] + shape + s[len(s)-1:]
		})
	}), at
}

// positions reads numbers that are points as they are.
func positions(text string) (shape string, at []float64, ok bool) {
	var b strings.Builder
	for text != "" {
		m := pathPiece().FindStringIndex(text)
		if m == nil {
			break
		}
		n, err := strconv.ParseFloat(text[m[0]:m[1]], 64)
		if err != nil {
			return "", nil, false
		}
		at = append(at, n)
		b.WriteString(text[:m[0]] + "0")
		text = text[m[1]:]
	}
	return b.String() + text, at, true
}

// path reads a path. Most of its points are relative to the one before: they are added up, or many small steps would
// lead anywhere.
func path(text string) (shape string, at []float64, ok bool) {
	var b strings.Builder
	var command byte
	var here, first [2]float64 // end of what is drawn, and where closing it leads
	n := 0                     // numbers since the command
	for text != "" {
		m := pathPiece().FindStringIndex(text)
		if m == nil {
			break
		}
		gap, piece := text[:m[0]], text[m[0]:m[1]]
		text = text[m[1]:]
		pairs, known := pairsOf[command]
		v, err := strconv.ParseFloat(piece, 64)
		switch {
		case gap != "" && (gap != " " || err != nil):
			return "", nil, false
		case err != nil: // a command
			command, n = piece[0], 0
			if _, known := pairsOf[command]; !known {
				return "", nil, false
			}
			if b.WriteByte(command); command == 'z' {
				here = first
			}
			continue
		case !known || pairs == 0:
			return "", nil, false
		}
		axis := n % 2
		if command != 'M' && command != 'L' {
			v += here[axis]
		}
		at = append(at, v)
		b.WriteByte('0')
		if n++; n%(2*pairs) != 0 {
			continue
		}
		if here = [2]float64(at[len(at)-2:]); command == 'M' {
			first = here
		}
	}
	return b.String() + text, at, n%2 == 0
}

// pairsOf are the commands that figures are written in (SVG 1.1, 8.3): those after which as many points are one step.
var pairsOf = map[byte]int{'M': 1, 'L': 1, 'l': 1, 'q': 2, 'c': 3, 'z': 0}
