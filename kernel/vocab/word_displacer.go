package vocab

import "go.starlark.net/starlark"

var _ = Register(Word{
	Name:    "displacer",
	Summary: "walk-off plate: displaces the extraordinary ray laterally, parallel to the ordinary ray",
	Params: append([]Param{
		{Name: "crystal", Kind: crystalKind, Doc: "the crystal"},
		{Name: "thickness", Kind: lengthKind.of("length", "5*mm").positive(), Mode: Keyword,
			Doc: "distance between the faces along the device axis, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword,
			Doc: "azimuth of the optic axis, which is the direction of walk-off"},
		{Name: "cut", Kind: angleKind, Mode: Keyword, Default: of(45, "deg"),
			Doc: "angle between the optic axis and the normal of the plate"},
	}, plateParams...),
	Returns: "an element for stack(); crystal.walkoff(cut, wavelength) gives the walk-off angle",
	Errors:  "the element cannot be made: a dimension, angle or reflectance is out of range",
	Example: "displacer(crystal(\"YVO4\"), thickness=5*mm, axis=0*deg)",
	Source: "walk-off is the angle of ray and wave normal in a uniaxial crystal: Born and Wolf, Principles of " +
		"Optics, chapter 15",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(plateOf("displacer", arg[*Crystal](a, "crystal").Crystal, a))
	},
})
