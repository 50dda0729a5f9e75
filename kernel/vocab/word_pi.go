package vocab

import (
	"math"

	"go.starlark.net/starlark"
)

var _ = Register(Word{
	Name:    "pi",
	Summary: "the ratio of a circle's circumference to its diameter, a plain number",
	Example: "2*pi",
	Value:   starlark.Float(math.Pi),
})
