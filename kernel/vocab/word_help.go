package vocab

import (
	"fmt"
	"maps"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/nearest"
)

var _ = Register(Word{
	Name:    "help",
	Summary: "explains a function, method or unit: arguments with units and defaults, errors, and an example",
	Params: []Param{{Name: "word", Kind: anyKind, Optional: true, Suggest: helpTopics,
		Doc: "a function, a unit, a method such as s.forward, a value, a name as text, or words to search for; if " +
			"omitted, help() lists everything"}},
	Returns: "None; the text is shown in the pager of the front end, or as an output of the cell if there is no pager",
	Errors:  "there is no function, method or unit of this name, and none speaks of it",
	Example: "help(sweep)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		text, err := helpOn(a)
		if err != nil {
			return nil, err
		}
		shown := session.Shown{Text: text}
		if host, ok := t.Local(HostKey).(Attended); ok && host.Page(t, shown) {
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
		if text, ok := SearchHelp(name); ok {
			return text, nil
		}
		if near := nearest.To(name, Titles()); near != "" {
			return "", fmt.Errorf("unknown name %q; did you mean %q?", shorten(name), near)
		}
		return "", fmt.Errorf("unknown name %q; help() lists all names", shorten(name))
	}
	if text, ok := HelpOf(v); ok {
		return text, nil
	}
	return describe(v) + "\n", nil
}

// helpTopics proposes what help explains.
func helpTopics(at session.Site) []session.Match {
	if at.Quoted {
		return textMatches(Titles())
	}
	var list []session.Match
	for _, v := range at.Values {
		list = append(list, session.Match{Text: v.Name, Kind: session.NameMatch, Detail: describe(v.Value)})
	}
	for _, name := range slices.Sorted(maps.Keys(registry)) {
		list = append(list, session.Match{Text: name, Kind: session.WordMatch, Detail: registry[name].Summary})
	}
	return list
}
