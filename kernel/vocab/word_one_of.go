package vocab

import (
	"fmt"
	"slices"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

// mostChoices bounds a list of choices (a choice: nobody reads more).
const mostChoices = 1000

var _ = Register(Word{
	Name:    "one_of",
	Summary: "values to choose from in a list, for explore()",
	Params: []Param{
		{Name: "options", Kind: anyKind, Mode: Many, Doc: "the values: texts, quantities, materials, anything"},
		{Name: "value", Kind: anyKind, Mode: Keyword, Optional: true,
			Doc: "the option chosen at first; default: the default of the function's argument, otherwise the first option"},
	},
	Returns: "values for explore() to choose from",
	Errors:  "there are none, two look the same, or value= is none of them",
	Example: `one_of("YVO4", "LiNbO3")`,
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		o := &OneOf{opaque: opaque{"one_of"}, options: slices.Clone([]starlark.Value(a.Many()))}
		if n := len(o.options); n == 0 || n > mostChoices {
			return nil, fmt.Errorf("expected 1 to %d values, got %d", mostChoices, n)
		}
		seen := map[string]bool{}
		for _, label := range o.labels() {
			if seen[label] {
				return nil, fmt.Errorf("two values are both shown as %s: nobody could tell which is chosen", label)
			}
			seen[label] = true
		}
		if !a.Has("value") {
			return o, nil
		}
		return o.starting(session.LookOf(t), a.Get("value"))
	},
})
