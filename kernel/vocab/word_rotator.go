package vocab

import (
	"errors"
	"math"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "rotator",
	Summary: "a Faraday rotator: a garnet film, or a rod of a paramagnet",
	Params: []Param{
		{Name: "garnet", Kind: faradayKind, Doc: "what it is made of: a garnet or a paramagnet"},
		{Name: "angle", Kind: angleKind, Mode: Keyword, Default: of(45, "deg"), Doc: "its rotation at at= and temperature=, from +x towards +y, the same for both directions of light"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"), Doc: "vacuum wavelength at which the angle holds"},
		{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature at which the angle holds"},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword, Optional: true, Doc: "thickness of the film instead of its angle, which then follows from the garnet's specific rotation"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true, Doc: "extinction ratio of this film, where it differs from its garnet's"},
		{Name: "field", Kind: magnetKind, Mode: Keyword, Optional: true, Doc: "the magnet around it; a film without one is taken as saturated, a rod needs one"},
		{Name: "length", Kind: lengthKind.positive(), Mode: Keyword, Optional: true, Doc: "length of a rod of a paramagnet, at 20 °C"},
		apertureParam, coatingParam, nameParam,
	},
	Returns: "an element for stack(); .thickness tells how thick the film is",
	Errors:  "angle and thickness are both given, no film of the garnet can do it, the angle's sign contradicts the magnet, or a rod lacks length= or field=",
	Example: "rotator(garnet(\"Bi:RIG\"), angle=45*deg, at=1550*nm, temperature=23*degC)",
	Source:  "rotation of a saturated film: specific rotation times thickness, with the garnet's slopes",
	Detail:  "The rotation has the sign of the film's own, times that of the field at the film; below saturation it falls with the field. A tolerance or a fit of its angle is one of its thickness: the slopes scale along.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		var ring *magnet.Ring
		if m := arg[*Magnet](a, "field"); m != nil {
			c := m.ring
			ring = &c
		}
		if p, ok := a.Get("garnet").(*Paramagnet); ok {
			return rod(p, ring, a)
		}
		if a.Has("length") {
			return nil, errors.New("length= belongs to a rod of a paramagnet; a film has angle= or thickness=")
		}
		r := element.Rotator{
			Name:        a.Text("name"),
			Garnet:      arg[*Garnet](a, "garnet").garnet,
			Coating:     coatingOf(a),
			Angle:       a.Angle("angle"),
			At:          a.Length("at"),
			Temperature: a.Temperature("temperature"),
			Aperture:    a.Length("aperture"),
			Magnet:      ring,
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

// faradayKind is a garnet or a paramagnet.
var faradayKind = Kind{garnetKind.Want + ` or a paramagnet such as paramagnet("TGG")`, "", func(v starlark.Value) (bool, string) {
	if ok, _ := is[*Paramagnet](v); ok {
		return true, ""
	}
	return is[*Garnet](v)
}}

// rod makes a rotator of a paramagnet, whose angle follows.
func rod(p *Paramagnet, ring *magnet.Ring, a Args) (starlark.Value, error) {
	for _, name := range []string{"angle", "thickness", "at", "temperature", "extinction"} {
		if a.Given(name) {
			return nil, errors.New(name + "= belongs to a film: the rotation of a rod follows from its length and its magnet")
		}
	}
	if !a.Has("length") || ring == nil {
		return nil, errors.New("a rod needs length= and field=, as in rotator(paramagnet(\"TGG\"), length=10*mm, field=magnet(...))")
	}
	return newElement(element.Rod{Name: a.Text("name"), Material: p.medium, Coating: coatingOf(a),
		Length: a.Length("length"), Magnet: ring, Aperture: a.Length("aperture")})
}
