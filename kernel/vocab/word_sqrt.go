package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "sqrt",
	Summary: "square root of a number, or of a quantity whose dimension is a square",
	Params:  []Param{{Name: "x", Kind: valueKind, Doc: "not negative"}},
	Returns: "a number, a quantity or a series",
	Errors:  "x is negative, or its dimension is not a square",
	Example: "sqrt((3*mm)*(12*mm))",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return each(a.Get("x"), quantity.Quantity.Sqrt)
	},
})
