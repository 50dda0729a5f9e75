package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
)

var _ = Register(Word{
	Name:    "among",
	Summary: "tolerance of a parameter that has one of some values: measured parts, or lots",
	Params: []Param{{Name: "values", Kind: amongKind,
		Doc: "the values themselves, each equally likely; a value given twice is twice as likely"}},
	Returns: "a tolerance for tolerances=",
	Errors:  "values is empty, or its quantities differ in dimension",
	Example: exampleStack + `s.trials(100, {"rotator1.angle": among([44.8*deg, 45.1*deg, 45.1*deg, 45.4*deg])}, ` +
		`wavelength=1550*nm)`,
	Source: "the values given",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		var all []quantity.Quantity
		items := starlark.Iterate(a.Get("values"))
		defer items.Done()
		for v := starlark.Value(nil); items.Next(&v); {
			q, _ := toQuantity(v)
			if len(all) > 0 && q.Dimension() != all[0].Dimension() {
				return nil, fmt.Errorf("among: value %d is %s, want one in the dimension of %s", len(all)+1, q, all[0])
			}
			all = append(all, q)
		}
		if len(all) == 0 {
			return nil, a.refuse("values", "at least one quantity")
		}
		return &Tolerance{opaque: opaque{"tolerance"}, among: all,
			tolerance: tolerance.Tolerance{Shape: tolerance.Among, Value: all[0]}}, nil
	},
})

// amongKind accepts values of a parameter.
var amongKind = listOf(Kind{"a quantity such as 44.8*deg", "", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	if !ok || q.Absolute() {
		return false, ""
	}
	return finite(q.Value)
}}, "a list of quantities such as [44.8*deg, 45.3*deg]")
