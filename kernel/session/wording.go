package session

import (
	"cmp"
	"fmt"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/reports/nearest"
)

// The interpreter's messages are good where they speak of the cell, and are left as they are. The ones
// below speak of the interpreter, or miss what a person would say.
var (
	uninitialized = matching(`^internal error: predeclared variable (\S+) is uninitialized$`)
	unassigned    = matching(`^(?:local|global) variable (\S+) referenced before assignment$`)
	unexpected    = matching(`^function (\S+) got an unexpected keyword argument "?([^"\s]+)"?$`)
	unknown       = matching(`^((\S+): unexpected keyword argument "?([^"\s]+?)"?)(?: \(did you mean (\S+)\?\))?$`)
	unordered     = matching(`^(.*: )?(\S+) (<|<=|>|>=) (\S+) not implemented$`)
	gotWant       = matching(`^got (.+?)( after expression)?, want (.+)$`)
	unwanted      = matching(`^got (\w+), want `)
	unchained     = matching(`^\S+ does not associate with \S+ \(use parens\)$`)
)

// wordDynamic words a message of the interpreter and tells its kind.
func (s *Session) wordDynamic(message string) (kind, worded string) {
	if m := uninitialized().FindStringSubmatch(message); m != nil {
		return NameError, (&nameError{m[1]}).Error() + meant("", nearest.To(m[1], s.Names()))
	}
	if m := unassigned().FindStringSubmatch(message); m != nil {
		worded := fmt.Sprintf("%s has no value yet: this function assigns it, so it is a name of the function's own",
			m[1])
		if _, ok := s.Lookup(m[1]); ok {
			worded += fmt.Sprintf(", not the %s outside", m[1])
		}
		return NameError, worded
	}
	if m := unexpected().FindStringSubmatch(message); m != nil {
		return CellError, message + meant("", nearest.To(m[2], s.parameters(m[1])))
	}
	if m := unknown().FindStringSubmatch(message); m != nil { // the library's own hint does not know of letters swapped
		return CellError, m[1] + meant("", cmp.Or(nearest.To(m[3], s.parameters(m[2])), m[4]))
	}
	if m := unordered().FindStringSubmatch(message); m != nil {
		return CellError, fmt.Sprintf("%scannot compare %s with %s by %s", m[1], m[2], m[4], m[3])
	}
	if rest, ok := strings.CutPrefix(message, "internal error: "); ok {
		return InternalError, rest
	}
	return CellError, message
}

// parameters returns the names that the function of that name takes, as far as the session knows it.
func (s *Session) parameters(function string) []string {
	var names []string
	v, _ := s.Lookup(function)
	switch f := v.(type) {
	case *starlark.Builtin:
		for _, p := range builtinSignature(f).Parameters {
			names = append(names, p.Name)
		}
	case *starlark.Function:
		n := f.NumParams()
		if f.HasKwargs() {
			n--
		}
		if f.HasVarargs() {
			n--
		}
		for i := range n {
			name, _ := f.Param(i)
			names = append(names, name)
		}
	}
	return names
}

// reserved are the words of Python that Starlark keeps for itself, with what a cell does instead.
var reserved = map[string]string{
	"as": "", "async": noWaiting, "await": noWaiting,
	"class": "write a function that returns a dict of what belongs together",
	"del":   "assign None instead", "except": noCatching, "finally": noCatching,
	"from":   noImport,
	"global": noGlobal,
	"import": noImport,
	"is":     "write == instead", "nonlocal": noGlobal, "raise": "write fail(\"...\") instead", "try": noCatching,
	"with":  "a cell opens no files: measured() reads readings",
	"yield": "a function returns a list of all it makes",
}

const (
	noWaiting  = "a cell waits for nothing: leave the word away"
	noCatching = "an error ends the cell, and nothing catches one: test before, as in if x > 0:"
	noImport   = "every word is there without an import"
	noGlobal   = "a function reads the names outside it, and returns what it makes"
)

// wordSyntax words what the parser found, and may add a hint.
func (s *Session) wordSyntax(e syntax.Error) (message, hint string) {
	message = e.Msg
	if unchained().MatchString(message) {
		return "comparisons do not chain", "write a < b and b < c"
	}
	if m := unwanted().FindStringSubmatch(message); m != nil {
		if advice, ok := reserved[m[1]]; ok {
			return m[1] + " is not part of the language of cells", advice
		}
	}
	if message == "conditional expression without else clause" {
		hint = "a value chosen by a condition has two sides: a if x > 0 else b"
	}
	if strings.HasPrefix(message, "got '=', want newline") {
		hint = "assign to one name at a time; to compare write =="
	}
	if strings.HasPrefix(message, "got string literal") && formatted(s.line(e.Pos.Filename(), int(e.Pos.Line))) {
		hint = "there are no f-strings: write '%.3f' % x"
	}
	if m := gotWant().FindStringSubmatch(message); m != nil {
		message = fmt.Sprintf("found %s%s, expected %s", inWords(m[1]), m[2], inWords(m[3]))
	}
	return message, hint
}

// inWords names what the parser found or wanted; brackets and operators stand as they are.
func inWords(token string) string {
	if w, ok := tokenWords[token]; ok {
		return w
	}
	return token
}

var tokenWords = map[string]string{
	"identifier": "a name", "int literal": "a number", "float literal": "a number", "string literal": "a text",
	"newline": "the end of the line", "end of file": "the end", "EOF": "the end", "primary expression": "a value",
	"indent": "an indented line", "outdent": "a line that is not indented",
}

// formatted reports whether a line holds a string with an f before it.
func formatted(line string) bool {
	tokens := scan(line)
	for i, t := range tokens {
		if t.kind == stringToken && i > 0 && tokens[i-1].text == "f" && tokens[i-1].touches(t) {
			return true
		}
	}
	return false
}
