package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/tolerance"
)

var _ = Register(Word{
	Name:    "truncated",
	Summary: "tolerance with a normal distribution from which parts beyond a limit are sorted out",
	Params: []Param{{Name: "x", Kind: spreadKind, Doc: "standard deviation before sorting"},
		{Name: "at", Kind: spreadKind, Doc: "largest departure from the nominal value that is kept"}},
	Returns: "a tolerance for tolerances=",
	Errors:  "at has another dimension than x, or is more than ten or less than a hundredth of it",
	Example: `{"rotator1.angle": truncated(0.3*deg, 0.5*deg)}`,
	Source:  "JCGM 100:2008, 4.3; N. L. Johnson et al., Continuous Univariate Distributions 1, 13.10 (from memory)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		x, at := a.Quantity("x"), a.Quantity("at")
		if x.Dimension() != at.Dimension() {
			return nil, a.refuse("at", "a quantity in the dimension of x")
		}
		if c := at.SI() / x.SI(); !(c >= 0.01 && c <= 10) {
			return nil, a.refuse("at", "between a hundredth of x and ten times x")
		}
		return &Tolerance{opaque: opaque{"tolerance"},
			tolerance: tolerance.Tolerance{Shape: tolerance.Truncated, Value: x, Cut: at.SI()}}, nil
	},
})
