package vocab

import (
	"regexp"
	"strings"
)

// gives is the type of what a call returns, as Value.Type names it, read off the noun phrase that documents it;
// "" when it is none of one type.
func (w *Word) gives() string {
	m := returned.FindStringSubmatch(w.Returns)
	if m == nil {
		return ""
	}
	if m[1] == "element" { // of the kind that the word is called after
		return w.Name
	}
	if typ, ok := nouns[m[1]]; ok {
		return typ
	}
	if _, ok := types[m[1]]; ok {
		return m[1]
	}
	return ""
}

var returned = regexp.MustCompile(`^(?:an? )?([a-z]+)`)

// nouns are the words of Returns that are not the name of a type themselves.
var nouns = map[string]string{
	"level": "quantity", "angle": "quantity", "length": "quantity", "ratio": "quantity", "rotation": "quantity",
	"flux": "quantity",
	"text": "string", "list": "list", "dict": "dict", "tuple": "tuple",
}

// givesDirection is the type of a response by the direction it belongs to, whose figures differ.
func givesDirection(w *Word) string {
	if typ := w.gives(); typ != "response" || !strings.HasPrefix(w.title(), "stack.") {
		return typ
	}
	return w.Name + " response"
}
