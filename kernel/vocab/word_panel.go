package vocab

import (
	"slices"

	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "panel",
	Summary: "one pair of axes with what is plotted on them, for a figure of several panels",
	Params:  slices.Clone(chartParams),
	Returns: "a panel, which plot() puts beside others; at the end of a cell it is shown alone",
	Errors:  "as plot() has them",
	Example: exampleStack + "x = sweep(1530*nm, 1565*nm, 1*nm)\nplot(panel(s.backward(x)), panel(s.forward(x)))",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		p, err := panelOf(a)
		if err != nil {
			return nil, err
		}
		if a.Has("title") {
			p.chart.Title = a.Text("title")
		}
		return p, nil
	},
})
