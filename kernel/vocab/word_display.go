package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

var _ = Register(Word{
	Name:    "display",
	Summary: "shows values as at the end of a cell",
	Params: []Param{
		{Name: "values", Kind: anyKind, Mode: Many, Doc: "values to show, in order; None shows nothing"},
		{Name: "id", Kind: textKind.of("text", `"trend"`), Mode: Keyword, Default: starlark.String(""),
			Doc: "name of the output: showing a value under the same name again replaces it in place"},
	},
	Returns: "None",
	Example: "display(crystal(\"YVO4\"))",
	Errors:  "several values have one id=",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Text("id") != "" && len(a.Many()) != 1 {
			return nil, fmt.Errorf("id= is for one value, got %d: give each value its own id", len(a.Many()))
		}
		for _, v := range a.Many() {
			if v == starlark.None {
				continue // as plot() returns, which has shown its figure
			}
			if err := session.Show(t, a.Text("id"), v); err != nil {
				return nil, err
			}
		}
		return starlark.None, nil
	},
})
