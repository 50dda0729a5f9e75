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
	Summary: "matched pair of fibre collimators, one at each end of a stack",
	Params: append([]Param{
		{Name: "waist", Kind: lengthKind.of("length", "200*um").positive(), Optional: true,
			Doc: "beam radius at the waist, at 1/e² of the intensity; the same at every wavelength"},
		{Name: "working_distance", Kind: lengthKind.of("length", "10*mm").positive(),
			Doc: "distance between the lens faces of the pair; both waists are midway"},
		{Name: "fibre", Kind: fibreKind, Mode: Keyword, Optional: true,
			Doc: "the fibre, whose mode the lens images; with focal_length=, instead of waist="},
		{Name: "focal_length", Kind: lengthKind.of("length", "2*mm").positive(), Mode: Keyword, Optional: true,
			Doc: "focal length of the lens, focused at the wavelength of alignment"},
		{Name: "loss", Kind: levelKind.of("level", "0.1*dB").notNegative(), Mode: Keyword, Default: of(0, "dB"),
			Doc: "loss of the pair alone, at best alignment"},
		{Name: "pointing", Kind: anglePerKelvin.of("tilt per temperature",
			"0.002*mrad/kelvin"), Mode: Keyword, Optional: true,
			Doc: "tilt of the receiving collimator with temperature, towards +x; default: none"},
		{Name: "ferrule", Kind: angleKind.of("angle", "8*deg"), Mode: Keyword, Default: of(8, "deg"),
			Doc: "angle of the fibre's end face, for the return loss"},
		{Name: "ferrule_reflectance", Kind: ratioKind, Mode: Keyword, Optional: true,
			Doc: "reflectance of the fibre's end face, default: none; needs fibre="},
		{Name: "facet", Kind: angleKind.of("angle", "0.5*deg"), Mode: Keyword, Default: of(0, "deg"),
			Doc: "angle between the normal of the lens face that faces the stack and the beam"},
		{Name: "facet_reflectance", Kind: ratioKind, Mode: Keyword, Optional: true,
			Doc: "reflectance of the lens face that faces the stack; default: none"},
		{Name: "return_floor", Kind: levelKind.of("level",
			"65*dB").positive(), Mode: Keyword, Default: of(stack.DefaultReturnFloor, "dB"),
			Doc: "return loss due to scatter: the best that can be reached"},
	}, pigtailParams...),
	Returns: "a collimator for beam= of stack()",
	Errors: "neither waist= nor fibre= and focal_length= are given, or both are; extinction=, key= or launch= is " +
		"given without axis=",
	Example: "collimator(waist=200*um, working_distance=10*mm)\n" +
		"collimator(waist=200*um, working_distance=10*mm, axis=[0*deg, 45*deg], extinction=30*dB)",
	Detail: "With axis= the fibres are polarization-maintaining, and a stack has the parameters collimator1.axis, " +
		"collimator2.axis and, with extinction=, collimator1.extinction and collimator2.extinction. A fibre of " +
		"extinction ratio ER puts the share 1/(1 + ER) of the power into its other axis, without a phase to the " +
		"rest: it is longer than the light is coherent over its birefringence. The forward response then has " +
		".extinction_ratio, .insertion_loss_slow and .insertion_loss_fast.",
	Source: "coupling of Gaussian beams: W. B. Joyce and B. C. DeLoach, Applied Optics 23, 4187 (1984)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if a.Has("waist") == (a.Has("fibre") && a.Has("focal_length")) || a.Has("fibre") != a.Has("focal_length") {
			return nil, errors.New("give waist=, or fibre= and focal_length=")
		}
		for _, angle := range []string{"ferrule", "facet"} {
			if !(a.SI(angle+"_reflectance") > 0) {
				if err := a.noneOf("has no effect without "+angle+"_reflectance=: a face without reflectance returns "+
					"no light at any angle", angle); err != nil {
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
			return nil, errors.New("ferrule_reflectance= needs fibre=: the coupling of a tilted reflection depends " +
				"on the mode of the fibre")
		}
		if f := arg[*Fibre](a, "fibre"); f != nil {
			c.Fibre = f.fibre
		}
		var err error
		if c.Pigtails, err = pigtailsOf(a); err != nil {
			return nil, err
		}
		if err := c.Check(); err != nil {
			return nil, errors.New(strings.TrimPrefix(err.Error(), "collimator: "))
		}
		return &Collimator{opaque{"collimator"}, c}, nil
	},
})
