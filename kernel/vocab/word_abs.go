package vocab

import (
	"fmt"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "abs",
	Summary: "magnitude of a number, a quantity or every value of a series",
	Params:  []Param{{Name: "x", Kind: valueKind, Doc: "the value"}},
	Returns: "a value of the same kind",
	Errors:  "x is a point on a scale, such as a temperature in degC",
	Example: "abs(-0.6*deg)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		if n, ok := a.Get("x").(starlark.Int); ok { // stays a whole number
			if n.Sign() < 0 {
				n = starlark.MakeInt(0).Sub(n)
			}
			return n, nil
		}
		return each(a.Get("x"), func(q quantity.Quantity) (quantity.Quantity, error) {
			if q.Absolute() {
				return q, fmt.Errorf("%s is a point on a scale and has no magnitude", q)
			}
			return quantity.Quantity{Value: math.Abs(q.Value), Unit: q.Unit}, nil
		})
	},
})
