package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/kernel/session"
)

var _ = Register(Word{
	Name:    "sum",
	Summary: "sum of the values of a list, a sweep or a series",
	Params: []Param{
		{Name: "values", Kind: collectionKind, Doc: "numbers, or quantities of the same dimension"},
		{Name: "start", Kind: valueKind, Optional: true, Doc: "first value of the sum; default: zero"},
	},
	Returns: "a number or quantity; 0 for an empty list",
	Errors:  "the dimensions of the values differ, or they are points on a scale",
	Example: "sum([0.05*dB, 0.02*dB, 0.11*dB])",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		total := a.Get("start")
		ctx := session.ContextOf(t)
		for v := range starlark.Elements(arg[starlark.Iterable](a, "values")) {
			if total == starlark.None {
				total = v
				continue
			}
			err := ctx.Err()
			if err != nil {
				return nil, err
			}
			if total, err = session.Add(t, total, v); err != nil {
				return nil, err
			}
		}
		if total == starlark.None {
			return starlark.MakeInt(0), nil
		}
		return total, nil
	},
})

// collectionKind is anything that can be walked.
var collectionKind = Kind{"a list, a sweep or a series", "", is[starlark.Iterable]}
