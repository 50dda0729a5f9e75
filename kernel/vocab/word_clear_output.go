package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

var _ = Register(Word{
	Name:    "clear_output",
	Summary: "clears the output of the running cell",
	Params: []Param{{Name: "wait", Kind: boolKind, Default: starlark.False,
		Doc: "True: clear when the next output comes, which avoids flicker"}},
	Returns: "None",
	Example: "clear_output(wait=True)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return starlark.None, session.Emit(t, notebook.Output{Type: notebook.ClearOutput, Wait: a.Bool("wait")})
	},
})
