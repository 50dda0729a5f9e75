package vocab

import (
	"errors"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "polarizer",
	Summary: "polarizer: a thin sheet, or a slab of polarizing glass with faces",
	Params: append([]Param{
		{Name: "axis", Kind: angleKind, Mode: Keyword,
			Doc: "azimuth of the transmitted polarization, from +x towards +y"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword,
			Doc: "extinction ratio: transmitted power along the axis over that across it"},
		{Name: "loss", Kind: levelKind.of("level", "0.1*dB").notNegative(), Mode: Keyword, Default: of(0, "dB"),
			Doc: "loss of the transmitted polarization"},
		{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "turn of the whole element about the device axis"},
		{Name: "thickness", Kind: lengthKind.of("length", "0.2*mm").positive(), Mode: Keyword, Optional: true,
			Doc: "thickness of a slab, along the normal of its front face; default: a thin sheet without faces"},
		{Name: "index", Kind: slabIndexKind, Mode: Keyword, Optional: true,
			Doc: "refractive index of a slab, at every wavelength; required with thickness="},
	}, append(slantParams(), apertureParam, coatingParam, nameParam)...),
	Returns: "an element for stack()",
	Errors: "thickness= is given without index=, or index=, tilt=, wedge=, azimuth=, aperture= or coating= without " +
		"thickness=",
	Example: "polarizer(axis=0*deg, extinction=40*dB, loss=0.1*dB)\n" +
		"polarizer(axis=0*deg, extinction=50*dB, thickness=0.2*mm, index=1.51, tilt=4*deg, " +
		"coating=coating(reflectance=0.2*percent))",
	Source: "Malus's law, with what leaks through as an extinction ratio; a slab is a dichroic medium that passes " +
		"its ordinary wave",
	Detail: "A slab absorbs the component of the field along its absorbing axis, which lies in the front face, and " +
		"of that axis what is perpendicular to the ray inside. Loss and extinction ratio hold for one pass at any " +
		"angle; reflections of the faces come on top. Without coating= the faces reflect nothing.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if !a.Has("thickness") {
			if err := a.noneOf("is for a slab: give thickness= too", "index", "tilt", "wedge", "azimuth", "aperture",
				"coating"); err != nil {
				return nil, err
			}
		} else if !a.Has("index") {
			return nil, errors.New("a slab needs index=, such as 1.51")
		}
		return newElement(element.Polarizer{
			Name:       a.Text("name"),
			Axis:       a.Angle("axis"),
			Roll:       a.Angle("roll"),
			Extinction: quantity.Ratio(a.SI("extinction")),
			Loss:       a.SI("loss"),
			Slab: element.Slab{Thickness: a.Length("thickness"), Index: a.SI("index"), Coating: coatingOf(a),
				Slant: slantOf(a), Aperture: a.Length("aperture")},
		})
	},
})

// slabIndexKind is the index of a slab.
var slabIndexKind = Kind{"a refractive index such as 1.51", "", func(v starlark.Value) (bool, string) {
	x, ok := plain(v)
	return ok && x >= 1 && x < 5, ""
}}

// slantParams are how a film or slab stands across the beam.
func slantParams() []Param {
	return []Param{
		{Name: "tilt", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "angle between the normal of the front face and the device axis"},
		{Name: "wedge", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "angle between the two faces, in the plane of the tilt; the element is thinner towards azimuth="},
		{Name: "azimuth", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "azimuth towards which tilt= and wedge= lean the normals, from +x towards +y"},
	}
}

func slantOf(a Args) element.Slant {
	return element.Slant{Tilt: a.Angle("tilt"), Wedge: a.Angle("wedge"), Azimuth: a.Angle("azimuth")}
}
