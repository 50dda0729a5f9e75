package notebook

import (
	"fmt"
	"strings"
)

const wantLines = "a string or a list of strings"

type badLine struct{ index, found, want string }

// join makes one text of what nbformat allows for one: a string, or a list of strings.
func join(v any) (string, *badLine) {
	switch v := v.(type) {
	case string:
		return v, nil
	case []any:
		var b strings.Builder
		for i, piece := range v {
			s, ok := piece.(string)
			if !ok {
				return "", &badLine{fmt.Sprintf("[%d]", i), describe(piece), "a string"}
			}
			b.WriteString(s)
		}
		return b.String(), nil
	}
	return "", &badLine{"", describe(v), wantLines}
}

// split cuts a text into lines that keep their ends. The ends are those of Python's splitlines, which
// nbformat's own writer uses: the same notebook then comes out the same from either.
func split(s string) []string {
	lines := []string{}
	start := 0
	for i, r := range s {
		switch r {
		case '\r':
			if strings.HasPrefix(s[i+1:], "\n") {
				continue // the line ends with the newline
			}
		case '\n', '\v', '\f', 0x1c, 0x1d, 0x1e, 0x85, 0x2028, 0x2029:
		default:
			continue
		}
		end := i + len(string(r))
		lines = append(lines, s[start:end])
		start = end
	}
	if start < len(s) {
		lines = append(lines, s[start:])
	}
	return lines
}

// isJSON tells whether a MIME type's content is any JSON value rather than text.
func isJSON(mime string) bool {
	return mime == "application/json" || strings.HasPrefix(mime, "application/") && strings.HasSuffix(mime, "+json")
}

// isSplit tells whether nbformat's writer cuts content of the MIME type into lines.
func isSplit(mime string) bool {
	return strings.HasPrefix(mime, "text/") || mime == "application/javascript" || mime == "image/svg+xml"
}
