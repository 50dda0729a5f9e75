package session

import (
	"regexp"
	"sync"
)

// pattern is a regular expression that is compiled when it is first asked for: most sessions ask for none, and all of
// them together would take a twentieth of the start of the program.
type pattern func() *regexp.Regexp

func matching(expression string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}
