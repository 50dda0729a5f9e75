package regenerate

import (
	"regexp"
	"slices"
	"strings"
	"sync"
)

// template is text in which the values of groups are put. Braces around anything but a known group stand for
// themselves, so that an expression may hold a dictionary.
type template struct {
	text   string
	groups []string // those that occur
}

var braced = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\{([\pL_][\pL\pN_]*)\}`) })

func parseTemplate(text string, known []string) template {
	t := template{text: text}
	for _, m := range braced().FindAllStringSubmatch(text, -1) {
		if slices.Contains(known, m[1]) && !slices.Contains(t.groups, m[1]) {
			t.groups = append(t.groups, m[1])
		}
	}
	return t
}

// unknown lists the names in braces that are no groups.
func (t template) unknown() []string {
	var names []string
	for _, m := range braced().FindAllStringSubmatch(t.text, -1) {
		if !slices.Contains(t.groups, m[1]) && !slices.Contains(names, m[1]) {
			names = append(names, m[1])
		}
	}
	return names
}

// fill puts the values in; each is passed through clean first.
func (t template) fill(values Groups, clean func(string) string) string {
	var b strings.Builder
	rest := t.text
	for {
		before, after, open := strings.Cut(rest, "{")
		b.WriteString(before)
		if !open {
			return b.String()
		}
		if name, next, closed := strings.Cut(after, "}"); closed && slices.Contains(t.groups, name) {
			value, _ := values.Get(name)
			b.WriteString(clean(value))
			rest = next
		} else {
			b.WriteByte('{')
			rest = after
		}
	}
}
