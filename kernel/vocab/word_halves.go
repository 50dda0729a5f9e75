package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
)

// halfKind is a part that can be half of another.
var halfKind = Kind{"a plate, a displacer or a retarder", "", func(v starlark.Value) (bool, string) {
	e, ok := v.(*Element)
	if !ok {
		return false, ""
	}
	switch e.part.(type) {
	case element.Plate, element.Retarder:
		return true, ""
	}
	return false, ""
}}

var _ = Register(Word{
	Name:    "halves",
	Summary: "two plates side by side, each in its own half of the aperture, as the half-wave plates of a circulator",
	Params: []Param{
		{Name: "first", Kind: halfKind, Doc: "the plate in the half away from towards="},
		{Name: "second", Kind: halfKind, Doc: "the plate in the other half, as thick as the first"},
		{Name: "towards", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "azimuth of the direction from the first half to the second, across their border"},
		{Name: "border", Kind: lengthKind, Mode: Keyword, Default: of(0, "mm"),
			Doc: "distance of the border from the device axis in that direction"},
		{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "turn of the whole element, the border included, about the device axis"},
		nameParam,
	},
	Returns: "an element for stack(); the parameters of its halves are \"halves1.first_axis\" and the like",
	Errors:  "the halves differ in thickness or tilt, or one is neither a plate nor a retarder",
	Detail: "Light stays in the half that its chief ray enters. The power of a beam beyond the border is lost, as if " +
		"the border were the edge of an aperture.",
	Example: `h = retarder(crystal("quartz"), axis=22.5*deg)
halves(h, retarder(crystal("quartz"), axis=67.5*deg), towards=90*deg, border=0.4*mm)`,
	Source: "clipping of a Gaussian beam at a straight edge: error function",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Halves{Name: a.Text("name"), First: arg[*Element](a, "first").part,
			Second: arg[*Element](a, "second").part, Towards: a.Angle("towards"), Border: a.Length("border"),
			Roll: a.Angle("roll")})
	},
})
