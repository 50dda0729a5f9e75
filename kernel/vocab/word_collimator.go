package vocab

import (
	"errors"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/stack"
)

var _ = Register(Word{
	Name:    "collimator",
	Summary: "a matched pair of fibre collimators, one at each end of a stack",
	Params: []Param{
		{Name: "waist", Kind: lengthKind.of("length", "200*um").positive(), Optional: true, Doc: "radius of the beam's waist at 1/e^2 of its intensity, the same at every wavelength"},
		{Name: "working_distance", Kind: lengthKind.of("length", "10*mm").positive(), Doc: "lens face to lens face of the pair; the waists of the two coincide midway"},
		{Name: "fibre", Kind: fibreKind, Mode: Keyword, Optional: true, Doc: "the fibre whose mode a lens images, instead of a waist"},
		{Name: "focal_length", Kind: lengthKind.of("length", "2*mm").positive(), Mode: Keyword, Optional: true, Doc: "focal length of that lens, set at the wavelength of alignment"},
		{Name: "loss", Kind: levelKind.of("level", "0.1*dB").notNegative(), Mode: Keyword, Default: of(0, "dB"), Doc: "loss of the pair by itself at its best"},
		{Name: "pointing", Kind: anglePerKelvin.of("tilt per temperature", "0.002*mrad/kelvin"), Mode: Keyword, Optional: true, Doc: "tilt of the receiving collimator with temperature, along +x; none when left out"},
		{Name: "ferrule", Kind: angleKind.of("angle", "8*deg"), Mode: Keyword, Default: of(8, "deg"), Doc: "angle of the fibre's end face, for the return loss"},
		{Name: "ferrule_reflectance", Kind: ratioKind, Mode: Keyword, Optional: true, Doc: "reflectance of the fibre's end face; none when left out. It needs fibre="},
		{Name: "facet", Kind: angleKind.of("angle", "0.5*deg"), Mode: Keyword, Default: of(0, "deg"), Doc: "angle of the lens face towards the stack against the beam"},
		{Name: "facet_reflectance", Kind: ratioKind, Mode: Keyword, Optional: true, Doc: "reflectance of the lens face towards the stack; none when left out"},
		{Name: "return_floor", Kind: levelKind.of("level", "65*dB").positive(), Mode: Keyword, Default: of(stack.DefaultReturnFloor, "dB"), Doc: "the return loss that scatter leaves at best"},
	},
	Returns: "a collimator for beam= of stack()",
	Errors:  "neither a waist nor fibre and focal length are given, or both are",
	Example: "collimator(waist=200*um, working_distance=10*mm)",
	Source:  "coupling of Gaussian beams: W. B. Joyce and B. C. DeLoach, Applied Optics 23, 4187 (1984)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Has("waist") == (a.Has("fibre") && a.Has("focal_length")) || a.Has("fibre") != a.Has("focal_length") {
			return nil, errors.New("give waist=, or fibre= and focal_length=")
		}
		for _, angle := range []string{"ferrule", "facet"} {
			if !(a.SI(angle+"_reflectance") > 0) {
				if err := a.noneOf("has no effect without "+angle+"_reflectance=: a face that reflects nothing returns nothing, at any angle", angle); err != nil {
					return nil, err
				}
			}
		}
		c := element.Collimator{
			Waist:           a.Length("waist"),
			WorkingDistance: a.Length("working_distance"),
			Focal:           a.Length("focal_length"),
			Loss:            a.SI("loss"),
			Pointing:        a.SI("pointing"),

			Ferrule: a.Angle("ferrule"), FerruleReflectance: a.SI("ferrule_reflectance"),
			Facet: a.Angle("facet"), FacetReflectance: a.SI("facet_reflectance"),
			ReturnFloor: a.SI("return_floor"),
		}
		if c.FerruleReflectance > 0 && !a.Has("fibre") {
			return nil, errors.New("ferrule_reflectance= needs fibre=: how much of a tilted reflection the fibre takes up depends on its mode")
		}
		if f := arg[*Fibre](a, "fibre"); f != nil {
			c.Fibre = f.fibre
		}
		if err := c.Check(); err != nil {
			return nil, errors.New(strings.TrimPrefix(err.Error(), "collimator: "))
		}
		return &Collimator{opaque{"collimator"}, c}, nil
	},
})
