package vocab

import (
	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "polarizer",
	Summary: "thin polarizing sheet",
	Params: []Param{
		{Name: "axis", Kind: angleKind, Mode: Keyword,
			Doc: "azimuth of the transmitted polarization, from +x towards +y"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword,
			Doc: "extinction ratio: transmitted power along the axis over that across it"},
		{Name: "loss", Kind: levelKind.of("level", "0.1*dB").notNegative(), Mode: Keyword, Default: of(0, "dB"),
			Doc: "loss of the transmitted polarization"},
		{Name: "roll", Kind: angleKind, Mode: Keyword, Default: of(0, "deg"),
			Doc: "turn of the whole element about the device axis"},
		nameParam,
	},
	Returns: "an element for stack()",
	Example: "polarizer(axis=0*deg, extinction=40*dB, loss=0.1*dB)",
	Source:  "Malus's law, with what leaks through as an extinction ratio",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		return newElement(element.Polarizer{
			Name:       a.Text("name"),
			Axis:       a.Angle("axis"),
			Roll:       a.Angle("roll"),
			Extinction: quantity.Ratio(a.SI("extinction")),
			Loss:       a.SI("loss"),
		})
	},
})
