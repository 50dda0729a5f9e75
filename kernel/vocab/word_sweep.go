package vocab

import (
	"errors"

	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "sweep",
	Summary: "wavelength or temperature grid: evenly spaced values from start to stop",
	Params: []Param{
		{Name: "start", Kind: pointKind, Doc: "first value; its unit becomes the unit of the grid"},
		{Name: "stop", Kind: pointKind, Doc: "last value, included if a whole number of steps reaches it"},
		{Name: "step", Kind: stepKind, Optional: true, Doc: "spacing, above zero; for temperatures in kelvin"},
		{Name: "count", Kind: wholeKind, Mode: Keyword, Optional: true, Doc: "number of values, instead of step="},
	},
	Returns: "a sweep",
	Errors: "the dimensions of start and stop differ, stop is below start, the step is not above zero, or there are " +
		"more than 200000 points",
	Example: "sweep(1530*nm, 1565*nm, 0.1*nm)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		start, stop := a.Quantity("start"), a.Quantity("stop")
		var s *Sweep
		var err error
		switch {
		case a.Has("step") && a.Has("count"):
			return nil, errors.New("give step= or count=, not both")
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

// stepKind is the distance of two of them.
var stepKind = pointKind.of("quantity", "0.1*nm")

// pointKind is one value of an axis.
var pointKind = Kind{"a quantity such as 1530*nm", "", func(v starlark.Value) (bool, string) {
	q, ok := toQuantity(v)
	if !ok {
		return false, ""
	}
	return finite(q.Value)
}}
