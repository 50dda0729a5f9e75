package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

// plateParams are what plates and displacers share.
var plateParams = []Param{
	{Name: "tilt", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"), Doc: "angle of the plate's normal to the device's axis, below 60 deg"},
	{Name: "azimuth", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"), Doc: "azimuth of the tilted normal"},
	{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"), Doc: "turn of the whole part about the device's axis"},
	apertureParam, coatingParam, nameParam,
}

// crystalPlate reads the arguments of a plate that is called by a kind.
func crystalPlate(kind string, a Args) (starlark.Value, error) {
	return newElement(element.Plate{
		Name:      a.Text("name"),
		As:        kind,
		Crystal:   arg[*Crystal](a, "crystal").Crystal,
		Coating:   coatingOf(a),
		Thickness: a.Length("thickness"),
		Axis:      a.Angle("axis"),
		Cut:       a.Angle("cut"),
		Tilt:      a.Angle("tilt"),
		Azimuth:   a.Angle("azimuth"),
		Roll:      a.Angle("roll"),
		Aperture:  a.Length("aperture"),
	})
}

var _ = Register(Word{
	Name:    "plate",
	Summary: "a crystal plate with parallel faces, its optic axis anywhere",
	Params: append([]Param{
		{Name: "crystal", Kind: crystalKind, Doc: "what it is made of"},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword, Doc: "distance of the faces on the device's axis, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword, Doc: "azimuth of the optic axis, from +x towards +y, before any tilt"},
		{Name: "cut", Kind: angleKind, Mode: Keyword, Default: of(90, "deg"), Doc: "angle between the optic axis and the plate's normal"},
	}, plateParams...),
	Returns: "an element for stack()",
	Errors:  "no shop could make the part",
	Example: "plate(crystal(\"YVO4\"), thickness=0.5*mm, axis=45*deg)",
	Call:    func(_ *starlark.Thread, a Args) (starlark.Value, error) { return crystalPlate("plate", a) },
})
