package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/notebook"
)

var _ = Register(Word{
	Name:    "clear_output",
	Summary: "takes away what the running cell has shown so far",
	Params:  []Param{{Name: "wait", Kind: boolKind, Default: starlark.False, Doc: "True waits for the next output, which avoids flicker"}},
	Returns: "None",
	Example: "clear_output(wait=True)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		return starlark.None, session.Emit(t, notebook.Output{Type: notebook.ClearOutput, Wait: a.Bool("wait")})
	},
})
