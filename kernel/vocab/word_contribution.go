package vocab

import (
	"errors"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// distributionNames are the other words of the trade for a distribution.
var distributionNames = map[string]uncertainty.Distribution{"uniform": uncertainty.Rectangular,
	"U-shaped": uncertainty.Arcsine}

var _ = Register(Word{
	Name:    "contribution",
	Summary: "one contribution to an uncertainty budget, stated in full",
	Params: []Param{
		{Name: "value", Kind: acting, Optional: true,
			Doc: "standard uncertainty of a normal or Student's t distribution, half-width of any other; omit with " +
				"repeats="},
		{Name: "distribution", Kind: choice("normal", "rectangular", "uniform", "triangular", "arcsine", "U-shaped",
			"Student"), Mode: Keyword, Optional: true,
			Doc: `distribution of the error; default: normal. "uniform" is rectangular, "U-shaped" is arcsine`},
		{Name: "divisor", Kind: numberKind.positive(), Mode: Keyword, Optional: true,
			Doc: "divisor that turns the value into a standard uncertainty, such as the coverage factor of a " +
				"certificate; default: as the distribution implies"},
		{Name: "dof", Kind: numberKind.positive(), Mode: Keyword, Optional: true,
			Doc: "degrees of freedom; default: infinite"},
		{Name: "shared", Kind: choice("point", "run", "all"), Mode: Keyword, Optional: true,
			Doc: "which readings have the error in common: one point, one run (a measured sweep at one temperature), " +
				"or all; default: as usual for the name"},
		{Name: "repeats",
			Kind: listOf(acting, "a list of repeated readings such as [45.02*dB, 45.05*dB, 44.99*dB]"),
			Mode: Keyword, Optional: true,
			Doc: "repeated readings of one quantity, evaluated statistically (type A), with n − 1 degrees of freedom"},
		{Name: "averaged", Kind: wholeKind, Mode: Keyword, Optional: true,
			Doc: "with repeats=: number of readings of which each value in the file is the mean, 1 for single " +
				"readings; default: as many as there are repeats"},
	},
	Returns: "a contribution for budget()",
	Errors: "value and repeats= are both given, or neither; the repeats do not differ; or Student's t distribution " +
		"comes without dof=",
	Example: "contribution(0.05*dB, distribution=\"rectangular\", shared=\"run\")",
	Source:  "JCGM 100:2008, 4.2, 4.3 and G.4",
	Detail: "With repeats=, the standard uncertainty is their standard deviation divided by the square root of the " +
		"number of readings averaged.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		line := uncertainty.Contribution{
			Value:        a.Quantity("value"),
			Distribution: uncertainty.Distribution(a.Text("distribution")),
			Divisor:      a.SI("divisor"),
			DOF:          a.SI("dof"),
			Shared:       uncertainty.Shared(a.Text("shared")),
		}
		if name, ok := distributionNames[a.Text("distribution")]; ok {
			line.Distribution = name
		}
		if math.IsInf(line.DOF, 1) {
			line.DOF = 0 // how the budget writes it
		}
		switch {
		case a.Has("repeats"):
			if err := repeated(a, &line); err != nil {
				return nil, err
			}
		case a.Has("averaged"):
			return nil, errors.New("averaged= needs repeats=")
		case !a.Has("value"):
			return nil, errors.New("a value such as 0.05*dB is missing; or give repeats=")
		case line.Distribution == uncertainty.Student && line.DOF == 0:
			return nil, errors.New("a Student's t distribution needs dof=, the number of readings minus one")
		case line.Distribution == "":
			line.Distribution = uncertainty.Normal
		}
		return &Contribution{opaque{"contribution"}, line}, nil
	},
})

// repeated evaluates the scatter of repeated readings.
func repeated(a Args, line *uncertainty.Contribution) error {
	for _, name := range []string{"value", "distribution", "divisor", "dof"} {
		if a.Has(name) {
			return fmt.Errorf("%s= cannot be combined with repeats=, from which it follows", name)
		}
	}
	items, _ := elements(a.Get("repeats"))
	values := make([]float64, len(items))
	first := quantity.Quantity{}
	for i, item := range items {
		q, _ := toQuantity(item)
		if i == 0 {
			first = q
		}
		in, err := q.In(first.Unit)
		if err != nil {
			return fmt.Errorf("repeats, item %d: %w", i+1, err)
		}
		values[i] = in.Value
	}
	averaged := len(values)
	if a.Has("averaged") {
		var err error
		if averaged, err = a.whole("averaged", 1, 1000000); err != nil {
			return err
		}
	}
	e, err := uncertainty.TypeA(values, averaged)
	if err != nil {
		return fmt.Errorf("repeats: %w", err)
	}
	if e.Standard == 0 {
		return errors.New("the repeats are all equal: their scatter is below the resolution; state the resolution as " +
			"its own contribution, as in resolution=0.005*dB")
	}
	line.Value = quantity.Quantity{Value: significant(e.Standard, 3), Unit: first.Unit}
	line.Distribution, line.DOF = uncertainty.Student, e.DOF
	return nil
}
