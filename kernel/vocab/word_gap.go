package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "gap",
	Summary: "a distance in air between two elements",
	Params: []Param{
		{Name: "length", Kind: lengthKind.notNegative(), Doc: "the distance along the device's axis; 0*mm for parts in contact"},
		{Name: "expansion", Kind: perKelvinKind, Mode: Keyword, Default: perKelvin(0), Doc: "thermal expansion of the housing or spacer that sets it, such as 17e-6/kelvin of a steel; the gap stays as it is when left out"},
		nameParam,
	},
	Returns: "an element for stack()",
	Example: "gap(1*mm)\ngap(1*mm, expansion=17e-6/kelvin)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Gap{Name: a.Text("name"), Length: a.Length("length"), Expansion: a.SI("expansion")})
	},
})
