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
var distributionNames = map[string]uncertainty.Distribution{"uniform": uncertainty.Rectangular, "U-shaped": uncertainty.Arcsine}

var _ = Register(Word{
	Name:    "contribution",
	Summary: "one line of an uncertainty budget, stated in full",
	Params: []Param{
		{Name: "value", Kind: acting, Optional: true, Doc: "the standard uncertainty of a normal or Student's distribution, the half-width of any other; left out with repeats="},
		{Name: "distribution", Kind: choice("normal", "rectangular", "uniform", "triangular", "arcsine", "U-shaped", "Student"), Mode: Keyword, Optional: true, Doc: `the shape of what is known, normal when left out; "uniform" is another word for rectangular, "U-shaped" for arcsine`},
		{Name: "divisor", Kind: numberKind.positive(), Mode: Keyword, Optional: true, Doc: "what turns the value into a standard uncertainty, such as the coverage factor of a certificate; the distribution's own when left out"},
		{Name: "dof", Kind: numberKind.positive(), Mode: Keyword, Optional: true, Doc: "degrees of freedom; known well when left out"},
		{Name: "shared", Kind: choice("point", "run", "all"), Mode: Keyword, Optional: true, Doc: "what one and the same error enters: each reading by itself, a run at one temperature, or all readings; the usual one for the name when left out"},
		{Name: "repeats", Kind: listOf(acting, "a list of repeated readings such as [45.02*dB, 45.05*dB, 44.99*dB]"), Mode: Keyword, Optional: true, Doc: "readings of one and the same thing: their scatter is evaluated by statistics (type A), with one degree of freedom less than readings"},
		{Name: "averaged", Kind: wholeKind, Mode: Keyword, Optional: true, Doc: "with repeats=, of how many readings each value of the file is the mean; as many as the repeats when left out, 1 for single readings"},
	},
	Returns: "a contribution for budget()",
	Errors:  "both a value and repeats are given, or neither; repeats that do not differ; Student's distribution without degrees of freedom",
	Example: "contribution(0.05*dB, distribution=\"rectangular\", shared=\"run\")",
	Source:  "JCGM 100:2008, 4.2, 4.3 and G.4",
	Detail:  "The standard uncertainty of repeats is their standard deviation over the square root of how many readings are averaged.",
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
			return nil, errors.New("averaged= is given without repeats=")
		case !a.Has("value"):
			return nil, errors.New("a value such as 0.05*dB is missing, or repeats= to work it out from")
		case line.Distribution == uncertainty.Student && line.DOF == 0:
			return nil, errors.New("a distribution of Student's needs dof=, one less than the number of readings")
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
			return fmt.Errorf("%s= is given beside repeats=, which it follows from", name)
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
		return errors.New("the repeats are all alike: their scatter is below the resolution, which is a contribution of its own, as in resolution=0.005*dB")
	}
	line.Value = quantity.Quantity{Value: significant(e.Standard, 3), Unit: first.Unit}
	line.Distribution, line.DOF = uncertainty.Student, e.DOF
	return nil
}
