package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
	"wedgework/reports/notebook"
)

var _ = Register(Word{
	Name:    "warn",
	Summary: "shows a warning below the cell and in the report",
	Params: []Param{{Name: "text", Kind: textKind.of("text", `"the fixture was not settled"`),
		Doc: "the warning, in a sentence"}},
	Returns: "None",
	Example: "warn(\"the film's temperature slope is a typical value\")",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		host, err := hostOf(t)
		if err != nil {
			return nil, err
		}
		if a.Text("text") == "" {
			return nil, a.refuse("text", "a sentence")
		}
		host.Warn(a.Text("text"))
		if _, ok := host.(Attended); ok { // front ends set standard error apart
			return starlark.None, session.Emit(t, notebook.Output{Type: notebook.StreamOutput, Stream: "stderr",
				Text:   "caution: " + a.Text("text") + "\n",
				Blocks: []document.Block{document.Caution{Text: a.Text("text")}}})
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{document.Caution{Text: a.Text("text")}}})
	},
})
