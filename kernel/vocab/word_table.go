package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/reports/document"
)

var _ = Register(Word{
	Name:    "table",
	Summary: "shows values as a table",
	Params: []Param{
		{Name: "things", Kind: anyKind, Mode: Many,
			Doc: "series on one axis, a response, measured data, limits, a budget; or a dict of values or columns by " +
				"name, a list of dicts, or a list of rows of which the first has the column headings"},
		{Name: "title", Kind: textKind, Mode: Keyword, Optional: true, Doc: "the caption"},
		{Name: "digits", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "decimals of every number, 0 to 15; default: two for levels, otherwise five significant digits"},
	},
	Returns: "None; the table is an output of the cell",
	Errors:  "the values do not fit into one table, or it would have more than 500 rows",
	Example: "table({\"isolation\": 34.7*dB, \"insertion loss\": 0.41*dB}, title=\"at 1550 nm\")",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		digits := -1
		if a.Has("digits") {
			var err error
			if digits, err = a.whole("digits", 0, 15); err != nil {
				return nil, err
			}
		}
		made, err := tableOf(a.ctx, a.Many(), digits)
		if err != nil {
			return nil, err
		}
		if digits < 0 {
			alignDecimals(&made)
		}
		if a.Has("title") {
			made.Caption = a.Text("title")
		}
		return starlark.None, show(t, session.Shown{Blocks: []document.Block{made}})
	},
})
