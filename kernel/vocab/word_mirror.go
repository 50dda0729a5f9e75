package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

var _ = Register(Word{
	Name:    "mirror",
	Summary: "plane mirror: the last element of a stack whose light returns to the end where it was launched",
	Params: []Param{
		{Name: "reflectance", Kind: ratioKind, Mode: Keyword, Default: starlark.Float(1),
			Doc: "share of the power that is reflected; the rest is absorbed"},
		{Name: "tilt", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "angle between the normal of the mirror and the device axis, below 60°"},
		{Name: "azimuth", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"), Doc: "azimuth of the tilted normal"},
		{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "turn of the whole element about the device axis"},
		nameParam,
	},
	Returns: "an element for stack()",
	Errors:  "the reflectance is 0, or the tilt is too large",
	Detail: "The stack then has no receiving collimator: .between(\"1\", \"1\", ...) gives the light that returns. " +
		"The " +
		"working distance counts there and back, so that the waist is near the mirror. With a rotator of 45° before " +
		"it, it is a Faraday mirror.",
	Example: `r = rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm)
s = stack(r, gap(0.2*mm), mirror(reflectance=98*percent), beam=collimator(waist=200*um, working_distance=10*mm))
s.between("1", "1", 1550*nm).insertion_loss`,
	Source: "Faraday mirror: M. Martinelli, Optics Communications 72, 341 (1989)",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Mirror{Name: a.Text("name"), Reflectance: a.SI("reflectance"), Tilt: a.Angle("tilt"),
			Azimuth: a.Angle("azimuth"), Roll: a.Angle("roll")})
	},
})
