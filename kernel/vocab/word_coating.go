package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "coating",
	Summary: "the treatment of an element's faces, by what they still reflect",
	Params: []Param{
		{Name: "reflectance", Kind: ratioKind, Doc: "power reflectance of each face, for both polarizations"},
	},
	Returns: "a coating for coating= of an element",
	Errors:  "the reflectance is not from 0 up to 1",
	Example: "coating(reflectance=0.1*percent)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		c := element.Coating{Reflectance: a.SI("reflectance")}
		if err := c.Check(); err != nil {
			return nil, err
		}
		return &Coating{opaque{"coating"}, c}, nil
	},
})
