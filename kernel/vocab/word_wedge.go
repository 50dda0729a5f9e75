package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

// quarter is the turn between a cut, counted from the normal, and a rise, counted from the face.
const quarter = 90 * quantity.Degree

var _ = Register(Word{
	Name:    "wedge",
	Summary: "birefringent wedge; its optic axis is in the flat face unless cut= states otherwise",
	Params: []Param{
		{Name: "crystal", Kind: crystalKind, Doc: "the crystal"},
		{Name: "apex", Kind: angleKind, Mode: Keyword, Default: of(5, "deg"),
			Doc: "angle between the slanted and the flat face, below 45°"},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword, Default: of(0.5, "mm"),
			Doc: "distance between the faces along the device axis, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword, Default: of(22.5, "deg"),
			Doc: "azimuth of the optic axis, from +x towards +y"},
		{Name: "slanted", Kind: choice(string(element.Front), string(element.Back)), Mode: Keyword,
			Doc: `which face is slanted; forward light passes "front" first`},
		{Name: "cut", Kind: angleKind, Mode: Keyword, Default: of(90, "deg"),
			Doc: "angle between the optic axis and the normal of the flat face; at 90° the axis is in that face"},
		{Name: "azimuth", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "azimuth of the normal of the slanted face"},
		{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "turn of the whole element about the device axis"},
		apertureParam, coatingParam, nameParam,
	},
	Returns: "an element for stack()",
	Errors:  "the element cannot be made: a dimension, angle or reflectance is out of range",
	Example: "wedge(crystal(\"YVO4\"), apex=5*deg, thickness=0.5*mm, axis=22.5*deg, slanted=\"front\")",
	Source:  "refraction in a uniaxial crystal by Maxwell's equations: Born and Wolf, Principles of Optics, chapter 15",
	Detail: "In a stage, the first wedge is slanted \"front\" and the second \"back\", with the same apex and " +
		"azimuth: the slanted faces look outward and are parallel.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Wedge{
			Name:      a.Text("name"),
			Crystal:   arg[*Crystal](a, "crystal").Crystal,
			Slanted:   element.Side(a.Text("slanted")),
			Coating:   coatingOf(a),
			Apex:      a.Angle("apex"),
			Thickness: a.Length("thickness"),
			Axis:      a.Angle("axis"),
			Rise:      quarter - a.Angle("cut"),
			Azimuth:   a.Angle("azimuth"),
			Roll:      a.Angle("roll"),
			Aperture:  a.Length("aperture"),
		})
	},
})
