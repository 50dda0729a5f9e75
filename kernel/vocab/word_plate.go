package vocab

import (
	"errors"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/material"
)

// plateParams are what plates and displacers share.
var plateParams = []Param{
	{Name: "tilt", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
		Doc: "angle between the normal of the plate and the device axis, below 60°"},
	{Name: "azimuth", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"), Doc: "azimuth of the tilted normal"},
	{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
		Doc: "turn of the whole element about the device axis"},
	apertureParam, coatingParam, nameParam,
}

// plateOf reads the arguments of a plate that is called by a kind.
func plateOf(kind string, c *material.Crystal, a Args) element.Plate {
	return element.Plate{
		Name:      a.Text("name"),
		As:        kind,
		Crystal:   c,
		Coating:   coatingOf(a),
		Thickness: a.Length("thickness"),
		Axis:      a.Angle("axis"),
		Cut:       a.Angle("cut"),
		Tilt:      a.Angle("tilt"),
		Azimuth:   a.Angle("azimuth"),
		Roll:      a.Angle("roll"),
		Aperture:  a.Length("aperture"),
	}
}

var _ = Register(Word{
	Name:    "plate",
	Summary: "plate with parallel faces, of a crystal with any orientation of its optic axis or of a glass",
	Params: append([]Param{
		{Name: "material", Kind: plateKind, Doc: "the material: a crystal or a glass"},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword,
			Doc: "distance between the faces along the device axis, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword, Optional: true,
			Doc: "azimuth of a crystal's optic axis, from +x towards +y, before any tilt"},
		{Name: "cut", Kind: angleKind, Mode: Keyword, Default: of(90, "deg"),
			Doc: "angle between the optic axis and the normal of the plate"},
	}, plateParams...),
	Returns: "an element for stack()",
	Errors:  "the element cannot be made: a dimension, angle or reflectance is out of range",
	Example: "plate(crystal(\"YVO4\"), thickness=0.5*mm, axis=45*deg)",
	Source:  "waves in a uniaxial crystal: Born and Wolf, Principles of Optics, chapter 15",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		switch m := a.Get("material").(type) {
		case *Crystal:
			if !a.Has("axis") {
				return nil, errors.New("a plate of a crystal needs axis=, such as 45*deg")
			}
			return newElement(plateOf("plate", m.Crystal, a))
		case *Glass:
			if err := a.noneOf("is for plates of a crystal: a glass has no optic axis", "axis", "cut"); err != nil {
				return nil, err
			}
			p := plateOf("plate", nil, a)
			p.Glass = m.glass
			return newElement(p)
		}
		return nil, nil // the kind lets nothing else through
	},
})

// plateKind is a crystal or a glass.
var plateKind = Kind{crystalKind.Want + ` or a glass such as glass("fused silica")`, "",
	func(v starlark.Value) (bool, string) {
		if ok, _ := is[*Glass](v); ok {
			return true, ""
		}
		return is[*Crystal](v)
	}}
