package live

import (
	"regexp"
	"strings"

	"wedgework/kernel/session"
)

// Colours of a traceback, by the codes of terminals that every front end reads (ECMA-48, select graphic rendition).
const (
	red, green, cyan = "\x1b[31m", "\x1b[32m", "\x1b[36m"
	plain            = "\x1b[0m"
)

// place is the head of one place of a traceback.
var place = regexp.MustCompile(`^(.+), line (\d+), column \d+`)

// coloured is the traceback of an error with the places in green, the caret and the name of the error in red and a
// hint in cyan. Without the codes it reads as it was. Source and messages are coloured nowhere: a
// code in them is that of the cell.
func coloured(e *session.Error) []string {
	lines := make([]string, len(e.Lines))
	for i, l := range e.Lines {
		switch {
		case strings.HasPrefix(l, e.Name()+": ") && i >= len(e.Lines)-2:
			l = red + e.Name() + plain + strings.TrimPrefix(l, e.Name())
		case strings.HasPrefix(l, "hint: ") && i == len(e.Lines)-1:
			l = cyan + "hint" + plain + strings.TrimPrefix(l, "hint")
		case strings.TrimSpace(l) == "^":
			l = strings.Replace(l, "^", red+"^"+plain, 1)
		default:
			if m := place.FindString(l); m != "" && !strings.HasPrefix(l, " ") {
				l = green + m + plain + strings.TrimPrefix(l, m)
			}
		}
		lines[i] = l
	}
	return lines
}
