package vocab

import (
	"math"

	"go.starlark.net/starlark"

	"wedgework/reports/uncertainty"
)

var _ = Register(Word{
	Name:    "contribution",
	Summary: "one line of an uncertainty budget, stated in full",
	Params: []Param{
		{Name: "value", Kind: acting, Doc: "the standard deviation of a normal distribution, the half-width of any other"},
		{Name: "distribution", Kind: choice("normal", "rectangular", "uniform", "triangular", "arcsine"), Mode: Keyword, Default: starlark.String("normal"), Doc: `the shape of what is known; "uniform" is another word for rectangular`},
		{Name: "divisor", Kind: numberKind.positive(), Mode: Keyword, Optional: true, Doc: "what turns the value into a standard uncertainty; the distribution's own when left out"},
		{Name: "dof", Kind: numberKind.positive(), Mode: Keyword, Optional: true, Doc: "degrees of freedom; known well when left out"},
		{Name: "shared", Kind: choice("point", "run", "all"), Mode: Keyword, Optional: true, Doc: "what one and the same error enters: each reading by itself, a run at one temperature, or all readings; the usual one for the name when left out"},
	},
	Returns: "a contribution for budget()",
	Example: "contribution(0.05*dB, distribution=\"rectangular\", shared=\"run\")",
	Source:  "JCGM 100:2008, 4.3 and G.4",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		line := uncertainty.Contribution{
			Value:        a.Quantity("value"),
			Distribution: uncertainty.Distribution(a.Text("distribution")),
			Divisor:      a.SI("divisor"),
			DOF:          a.SI("dof"),
			Shared:       uncertainty.Shared(a.Text("shared")),
		}
		if line.Distribution == "uniform" {
			line.Distribution = uncertainty.Rectangular
		}
		if math.IsInf(line.DOF, 1) {
			line.DOF = 0 // how the budget writes it
		}
		return &Contribution{opaque{"contribution"}, line}, nil
	},
})
