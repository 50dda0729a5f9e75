package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

var _ = Register(Word{
	Name:    "table",
	Summary: "sets values out in a table, and shows it",
	Params: []Param{
		{Name: "things", Kind: anyKind, Mode: Many, Doc: "series on one axis, a response, measured data, limits, a budget; or a dict of name and value, a dict of name and column, a list of dicts, a list of rows whose first holds the heads"},
		{Name: "title", Kind: textKind, Mode: Keyword, Optional: true, Doc: "the caption"},
		{Name: "digits", Kind: wholeKind, Mode: Keyword, Optional: true, Doc: "decimals of every number, 0 to 15; two for levels and five significant digits for the rest when left out"},
	},
	Returns: "None; the table is an output of the cell",
	Errors:  "the things do not fit one table, or it would have more than 500 rows",
	Example: "table({\"isolation\": 34.7*dB, \"insertion loss\": 0.41*dB}, title=\"at 1550 nm\")",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		digits := -1
		if a.Has("digits") {
			var err error
			if digits, err = a.whole("digits", 0, 15); err != nil {
				return nil, err
			}
		}
		made, err := tableOf(a.Many(), digits)
		if err != nil {
			return nil, err
		}
		if a.Has("title") {
			made.Caption = a.Text("title")
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{made}})
	},
})
