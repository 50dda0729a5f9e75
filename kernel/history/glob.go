package history

import (
	"fmt"
	"regexp"
	"strings"
)

// compile makes a regular expression of a pattern: * any text, ? any character, [...] one of a set, [^...] one of
// none. Everything else stands for itself, line ends too.
func compile(pattern string) (*regexp.Regexp, error) {
	var b strings.Builder
	b.WriteString(`(?s)\A`)
	for rest := pattern; rest != ""; {
		switch rest[0] {
		case '*':
			b.WriteString(".*")
		case '?':
			b.WriteString(".")
		case '[':
			if set, after, ok := set(rest); ok {
				b.WriteString(set)
				rest = after
				continue
			}
			b.WriteString(`\[`)
		default:
			end := strings.IndexAny(rest[1:], "*?[") + 1
			if end == 0 {
				end = len(rest)
			}
			b.WriteString(regexp.QuoteMeta(rest[:end]))
			rest = rest[end:]
			continue
		}
		rest = rest[1:]
	}
	b.WriteString(`\z`)
	re, err := regexp.Compile(b.String())
	if err != nil {
		return nil, fmt.Errorf("history: the pattern %.60q: a set such as [a-z] is out of order", pattern)
	}
	return re, nil
}

// set reads a set at the beginning of a pattern; ok is false when it does not end.
func set(pattern string) (expression, rest string, ok bool) {
	body := pattern[1:]
	not := ""
	if strings.HasPrefix(body, "^") {
		not, body = "^", body[1:]
	}
	end := strings.IndexByte(body[min(1, len(body)):], ']') // one that comes first is a member
	if body == "" || end < 0 {
		return "", "", false
	}
	members := strings.NewReplacer(`\`, `\\`, "[", `\[`, "]", `\]`, "^", `\^`).Replace(body[:end+1])
	return "[" + not + members + "]", body[end+2:], true
}
