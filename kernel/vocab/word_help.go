package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/nearest"
)

var _ = Register(Word{
	Name:    "help",
	Summary: "what a word does, its arguments with units and defaults, and an example",
	Params:  []Param{{Name: "word", Kind: anyKind, Optional: true, Doc: "a word, a unit, a method such as s.forward, a value, or the name of a word or method as text; all words when left out"}},
	Returns: "None; the text is shown in the front end's pager, or is an output of the cell where nobody reads one",
	Errors:  "a text is not the name of a word or method",
	Example: "help(sweep)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		text, err := helpOn(a)
		if err != nil {
			return nil, err
		}
		shown := session.Shown{Text: text}
		if host, ok := t.Local(HostKey).(Attended); ok && host.Page(shown) {
			return starlark.None, nil
		}
		return starlark.None, show(t, shown)
	},
})

func helpOn(a Args) (string, error) {
	if !a.Has("word") {
		return Overview(), nil
	}
	v := a.Get("word")
	if name, ok := starlark.AsString(v); ok {
		if text, ok := HelpNamed(name); ok {
			return text, nil
		}
		if near := nearest.To(name, Titles()); near != "" {
			return "", fmt.Errorf("there is no word %q; did you mean %q?", name, near)
		}
		return "", fmt.Errorf("there is no word %q; help() lists them", name)
	}
	if text, ok := HelpOf(v); ok {
		return text, nil
	}
	return describe(v) + "\n", nil
}
