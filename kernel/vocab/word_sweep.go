package vocab

import (
	"errors"

	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "sweep",
	Summary: "the axis of a computation: evenly spaced values from start to stop",
	Params: []Param{
		{Name: "start", Kind: pointKind, Doc: "the first value; its unit is that of the axis"},
		{Name: "stop", Kind: pointKind, Doc: "the last value, included when a whole number of steps reaches it"},
		{Name: "step", Kind: pointKind, Optional: true, Doc: "the distance of neighbours, above zero; for temperatures in kelvin"},
		{Name: "count", Kind: wholeKind, Mode: Keyword, Optional: true, Doc: "the number of values, instead of a step"},
	},
	Returns: "a sweep",
	Errors:  "start and stop measure different things, stop is below start, the step is not above zero, or there are more than 200000 points",
	Example: "sweep(1530*nm, 1565*nm, 0.1*nm)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		start, stop := a.Quantity("start"), a.Quantity("stop")
		var s *Sweep
		var err error
		switch {
		case a.Has("step") && a.Has("count"):
			return nil, errors.New("give step or count, not both")
		case a.Has("step"):
			s, err = stepped(start, stop, a.Quantity("step"))
		case a.Has("count"):
			n, whole := 0, error(nil)
			if n, whole = a.whole("count", 1, mostPoints); whole != nil {
				return nil, whole
			}
			s, err = counted(start, stop, n)
		default:
			return nil, errors.New("step is missing: give a step such as 0.1*nm, or count=201")
		}
		if err != nil {
			return nil, err
		}
		return s, nil
	},
})

// pointKind is one value of an axis.
var pointKind = Kind{"a quantity such as 1530*nm", "", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	if !ok {
		return false, ""
	}
	return finite(q.Value)
}}
