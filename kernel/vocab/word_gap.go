package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "gap",
	Summary: "a distance in air between two elements; it does not change with temperature",
	Params: []Param{
		{Name: "length", Kind: lengthKind.notNegative(), Doc: "the distance along the device's axis; 0*mm for parts in contact"},
		nameParam,
	},
	Returns: "an element for stack()",
	Example: "gap(1*mm)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Gap{Name: a.Text("name"), Length: a.Length("length")})
	},
})
