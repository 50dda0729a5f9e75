package vocab

import (
	"fmt"

	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "display",
	Summary: "shows values as they would be shown at the end of a cell",
	Params: []Param{
		{Name: "values", Kind: anyKind, Mode: Many, Doc: "what to show, in order; None shows nothing"},
		{Name: "id", Kind: textKind.of("text", `"trend"`), Mode: Keyword, Default: starlark.String(""), Doc: "a name for what is shown: shown again under this name, it is replaced where it stands"},
	},
	Returns: "None",
	Example: "display(crystal(\"YVO4\"))",
	Errors:  "several values are to be shown under one id",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Text("id") != "" && len(a.Many()) != 1 {
			return nil, fmt.Errorf("id names one value, got %d: display each under an id of its own", len(a.Many()))
		}
		for _, v := range a.Many() {
			if v == starlark.None {
				continue // as plot() returns, which has shown its figure
			}
			shown, err := Show(v)
			if err != nil {
				return nil, err
			}
			if err := showAs(t, a.Text("id"), shown); err != nil {
				return nil, err
			}
		}
		return starlark.None, nil
	},
})
