package kernel

import (
	"strings"
	"unicode/utf8"
)

// A cell that is a name and a question mark, as in "wedge?", is a question about the name, with two for more: front
// ends show the answer apart from the outputs, in their pager. No cell of the language can end like this.

// question returns the name that code asks about, and the detail; ok is false for any other cell.
func question(code string) (name string, detail int, ok bool) {
	name = strings.TrimSpace(code)
	for detail = -1; strings.HasSuffix(name, "?"); detail++ {
		name = strings.TrimSuffix(name, "?")
	}
	if detail < 0 || detail > 1 || name == "" || strings.ContainsAny(name, " \t\n()[]{}'\"#=") {
		return "", 0, false
	}
	return name, detail, true
}

// page returns what there is to read about the name that code asks about, by MIME type; nil when code asks
// nothing.
func (k *Kernel) page(code string) map[string]any {
	name, detail, ok := question(code)
	if !ok {
		return nil
	}
	if data := k.Interpreter.Inspect(name, utf8.RuneCountInString(name), detail); data != nil {
		return data
	}
	return map[string]any{"text/plain": "There is nothing to say about " + name + "."}
}
