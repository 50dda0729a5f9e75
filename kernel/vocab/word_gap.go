package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "gap",
	Summary: "air gap between two elements",
	Params: []Param{
		{Name: "length", Kind: lengthKind.notNegative(),
			Doc: "distance along the device axis; 0*mm for elements in contact"},
		{Name: "expansion", Kind: perKelvinKind, Mode: Keyword, Default: perKelvin(0),
			Doc: "thermal expansion coefficient of the housing or spacer that sets the gap, such as 17e-6/kelvin for " +
				"a steel; default: none"},
		nameParam,
	},
	Returns: "an element for stack()",
	Example: "gap(1*mm)\ngap(1*mm, expansion=17e-6/kelvin)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Gap{Name: a.Text("name"), Length: a.Length("length"), Expansion: a.SI("expansion")})
	},
})
