package vocab

import "go.starlark.net/starlark"

var _ = Register(Word{
	Name:    "display",
	Summary: "shows values as they would be shown at the end of a cell",
	Params:  []Param{{Name: "values", Kind: anyKind, Mode: Many, Doc: "what to show, in order; None shows nothing"}},
	Returns: "None",
	Example: "display(crystal(\"YVO4\"))",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		for _, v := range a.Many() {
			if v == starlark.None {
				continue // as plot() returns, which has shown its figure
			}
			shown, err := Show(v)
			if err != nil {
				return nil, err
			}
			if err := show(t, shown); err != nil {
				return nil, err
			}
		}
		return starlark.None, nil
	},
})
