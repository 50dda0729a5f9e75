package vocab

import (
	"errors"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "rotator",
	Summary: "a Faraday rotator: a saturated garnet film",
	Params: []Param{
		{Name: "garnet", Kind: garnetKind, Doc: "what it is made of"},
		{Name: "angle", Kind: angleKind, Mode: Keyword, Default: of(45, "deg"), Doc: "its rotation at at= and temperature=, from +x towards +y, the same for both directions of light"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"), Doc: "vacuum wavelength at which the angle holds"},
		{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature at which the angle holds"},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword, Optional: true, Doc: "thickness of the film instead of its angle, which then follows from the garnet's specific rotation"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true, Doc: "extinction ratio of this film, where it differs from its garnet's"},
		apertureParam, coatingParam, nameParam,
	},
	Returns: "an element for stack(); .thickness tells how thick the film is",
	Errors:  "angle and thickness are both given, or no film of the garnet can do it",
	Example: "rotator(garnet(\"Bi:RIG\"), angle=45*deg, at=1550*nm, temperature=23*degC)",
	Source:  "rotation of a saturated film: specific rotation times thickness, with the garnet's slopes",
	Detail:  "The film is taken as saturated. A tolerance or a fit of its angle is one of its thickness: the slopes scale along.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		r := element.Rotator{
			Name:        a.Text("name"),
			Garnet:      arg[*Garnet](a, "garnet").garnet,
			Coating:     coatingOf(a),
			Angle:       a.Angle("angle"),
			At:          a.Length("at"),
			Temperature: a.Temperature("temperature"),
			Aperture:    a.Length("aperture"),
		}
		if a.Has("extinction") {
			r.Garnet.Extinction = quantity.Ratio(a.SI("extinction"))
		}
		if a.Has("thickness") {
			if a.Given("angle") {
				return nil, errors.New("give angle or thickness, not both: each follows from the other")
			}
			// The thickness is in proportion to the angle, and the garnet knows that of one radian.
			perRadian, err := r.Garnet.Thickness(1, r.At, r.Temperature)
			if err != nil {
				return nil, err
			}
			r.Angle = quantity.Angle(math.Copysign(float64(a.Length("thickness")/perRadian), r.Garnet.Rotation))
		}
		return newElement(r)
	},
})
