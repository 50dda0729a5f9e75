package vocab

import (
	"context"
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/kernel/session"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "series",
	Summary: "a series of values over a sweep, from a list",
	Params: []Param{
		{Name: "axis", Kind: Kind{"a sweep such as sweep(1530*nm, 1565*nm, 5*nm)", "", is[*Sweep]}, Doc: "the sweep"},
		{Name: "values", Kind: Kind{"a list of quantities of one dimension, or of numbers", "",
			func(v starlark.Value) (bool, string) { _, ok := v.(starlark.Sequence); return ok, "" }},
			Doc: "one value for each point; None for one that is missing"},
		{Name: "label", Kind: textKind, Mode: Keyword, Default: starlark.String(""), Doc: "name in plots and tables"},
	},
	Returns: "a series in the unit of the first value",
	Errors:  "there are more or fewer values than points, or their dimensions differ",
	Example: "series(sweep(1540*nm, 1560*nm, 10*nm), [30.1*dB, 34.2*dB, 31.0*dB], label=\"isolation\")",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		axis := arg[*Sweep](a, "axis")
		list := a.Get("values").(starlark.Sequence)
		if list.Len() != axis.Len() {
			return nil, fmt.Errorf("the axis has %s, got %s",
				count(axis.Len(), "point"), count(list.Len(), "value"))
		}
		values, unit, err := oneUnit(session.ContextOf(t), list)
		if err != nil {
			return nil, err
		}
		s := newSeries(a.Text("label"), axis, unit, values)
		s.told = s.label != ""
		return s, nil
	},
})

// oneUnit reads quantities of one dimension in the unit of the first, NaN for None.
func oneUnit(ctx context.Context, list starlark.Iterable) ([]float64, quantity.Unit, error) {
	var values []float64
	var unit quantity.Unit
	first := true
	for v := range starlark.Elements(list) {
		if err := ctx.Err(); err != nil {
			return nil, unit, err
		}
		if v == starlark.None {
			values = append(values, math.NaN())
			continue
		}
		q, ok := toQuantity(v)
		if !ok {
			return nil, unit, fmt.Errorf("value %d must be a quantity, a number or None, got %s", len(values)+1,
				describe(v))
		}
		if first {
			unit, first = q.Unit, false
		}
		in, err := q.In(unit)
		if err != nil || in.Absolute() != q.Absolute() {
			return nil, unit, fmt.Errorf("value %d is %s, the first is in %s", len(values)+1, describe(v), Unit{unit})
		}
		values = append(values, in.Value)
	}
	return values, unit, nil
}
