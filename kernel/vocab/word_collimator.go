package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "collimator",
	Summary: "a matched pair of fibre collimators, one at each end of a stack",
	Params: []Param{
		{Name: "waist", Kind: lengthKind.of("length", "200*um").positive(), Doc: "radius of the beam's waist at 1/e^2 of its intensity"},
		{Name: "working_distance", Kind: lengthKind.of("length", "10*mm").positive(), Doc: "lens face to lens face of the pair; the waists of the two coincide midway"},
		{Name: "loss", Kind: levelKind.of("level", "0.1*dB").notNegative(), Mode: Keyword, Default: of(0, "dB"), Doc: "loss of the pair by itself at its best"},
	},
	Returns: "a collimator for beam= of stack()",
	Example: "collimator(waist=200*um, working_distance=10*mm)",
	Source:  "coupling of Gaussian beams: W. B. Joyce and B. C. DeLoach, Applied Optics 23, 4187 (1984)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		c := element.Collimator{Waist: a.Length("waist"), WorkingDistance: a.Length("working_distance"), Loss: a.SI("loss")}
		if err := c.Check(); err != nil {
			return nil, err
		}
		return &Collimator{opaque{"collimator"}, c}, nil
	},
})
