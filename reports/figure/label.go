package figure

import (
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

const (
	smallestLabel = 6 // points
	mostLines     = 3 // of the label of a vertical axis
)

// fitLabel sets the label of a vertical axis so that it is no longer than the axis: the plotting library makes room for a
// longer one, and shrinks the frame until none is left. It is broken between words, then its letters become smaller,
// and what is still too long is cut. The lines are in the order in which they are read.
func fitLabel(label string, style text.Style, length vg.Length,
	most int) (string, text.Style) {
	for size := style.Font.Size; size >= smallestLabel; size -= 0.5 {
		style.Font.Size = size
		if lines := brokenTo(label, style, length); len(lines) <= most && longest(lines, style) <= length {
			return strings.Join(lines, "\n"), style
		}
	}
	lines := brokenTo(label, style, length)
	if len(lines) > most {
		lines = append(lines[:most-1], strings.Join(lines[most-1:], " "))
	}
	for i, line := range lines {
		letters := []rune(line)
		for len(letters) > 0 && style.Width(line) > length {
			letters = letters[:len(letters)-1]
			line = strings.TrimRight(string(letters), " ") + "…"
		}
		lines[i] = line
	}
	return strings.Join(lines, "\n"), style
}

// brokenTo breaks a text between words into lines of a length, as far as its words allow.
func brokenTo(label string, style text.Style, length vg.Length) []string {
	var lines []string
	for _, word := range strings.Split(label, " ") {
		if n := len(lines); n > 0 && style.Width(lines[n-1]+" "+word) <= length {
			lines[n-1] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

func longest(lines []string, style text.Style) (w vg.Length) {
	for _, line := range lines {
		w = max(w, style.Width(line))
	}
	return w
}
