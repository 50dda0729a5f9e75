package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

// mostOrders bounds the whole waves of a wave plate; the thickest in trade have some tens.
const mostOrders = 1000

var _ = Register(Word{
	Name:    "retarder",
	Summary: "wave plate, given by its retardance",
	Params: append([]Param{
		{Name: "crystal", Kind: crystalKind, Doc: "the crystal"},
		{Name: "retardance", Kind: angleKind.of("angle", "180*deg").positive(), Mode: Keyword, Default: of(180, "deg"),
			Doc: "phase difference between the two waves, without whole waves; 180*deg is a half-wave plate"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"),
			Doc: "vacuum wavelength of this retardance, at 20 °C"},
		{Name: "axis", Kind: angleKind, Mode: Keyword, Doc: "azimuth of the optic axis, from +x towards +y"},
		{Name: "order", Kind: wholeKind, Mode: Keyword, Default: starlark.MakeInt(0),
			Doc: "number of whole waves in addition; 0 for a true zero-order plate"},
	}, plateParams...),
	Returns: "an element for stack(); its .thickness follows",
	Errors:  "the element cannot be made: a dimension, angle or reflectance is out of range",
	Example: "retarder(crystal(\"YVO4\"), retardance=180*deg, at=1550*nm, axis=22.5*deg, order=12)",
	Source:  "thickness = (order + retardance/360 deg) wavelengths over |ne - no|",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		order, err := a.whole("order", 0, mostOrders)
		if err != nil {
			return nil, err
		}
		return newElement(element.Retarder{
			Name:       a.Text("name"),
			Crystal:    arg[*Crystal](a, "crystal").Crystal,
			Coating:    coatingOf(a),
			Retardance: a.Angle("retardance"),
			At:         a.Length("at"),
			Order:      order,
			Axis:       a.Angle("axis"),
			Tilt:       a.Angle("tilt"),
			Azimuth:    a.Angle("azimuth"),
			Roll:       a.Angle("roll"),
			Aperture:   a.Length("aperture"),
		})
	},
})
