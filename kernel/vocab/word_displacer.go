package vocab

import "go.starlark.net/starlark"

var _ = Register(Word{
	Name:    "displacer",
	Summary: "a walk-off plate: the extraordinary ray leaves beside the ordinary one, parallel to it",
	Params: append([]Param{
		{Name: "crystal", Kind: crystalKind, Doc: "what it is made of"},
		{Name: "thickness", Kind: lengthKind.of("length", "5*mm").positive(), Mode: Keyword, Doc: "distance of the faces on the device's axis, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword, Doc: "azimuth of the optic axis, in which the extraordinary ray walks off"},
		{Name: "cut", Kind: angleKind, Mode: Keyword, Default: of(45, "deg"), Doc: "angle between the optic axis and the plate's normal"},
	}, plateParams...),
	Returns: "an element for stack(); crystal.walkoff(cut, wavelength) gives the angle",
	Errors:  "no shop could make the part",
	Example: "displacer(crystal(\"YVO4\"), thickness=5*mm, axis=0*deg)",
	Source:  "walk-off is the angle of ray and wave normal in a uniaxial crystal: Born and Wolf, Principles of Optics, chapter 15",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(plateOf("displacer", arg[*Crystal](a, "crystal").Crystal, a))
	},
})
