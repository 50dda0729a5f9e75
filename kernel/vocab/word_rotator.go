package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "rotator",
	Summary: "Faraday rotator: a garnet film, or a rod of a paramagnet",
	Params: append([]Param{
		{Name: "garnet", Kind: faradayKind, Doc: "the material: a garnet or a paramagnet"},
		{Name: "angle", Kind: angleKind, Mode: Keyword, Default: of(45, "deg"),
			Doc: "rotation at at= and temperature=, from +x towards +y, the same for both directions of light"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"), Doc: "vacuum wavelength of angle="},
		{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature of angle="},
		{Name: "thickness", Kind: lengthKind.positive(), Mode: Keyword, Optional: true,
			Doc: "thickness of the film, instead of angle=; the angle then follows from the specific rotation of the " +
				"garnet"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true,
			Doc: "extinction ratio of this film, if it differs from the garnet's"},
		{Name: "field", Kind: fieldKind, Mode: Keyword, Optional: true,
			Doc: "the magnet around it, or a list of magnets, whose fields add up; default for a film: saturated. A " +
				"rod needs a magnet or a uniform flux density along +z"},
		{Name: "footprint", Kind: lengthKind.of("length", "0.3*mm").positive(), Mode: Keyword, Optional: true,
			Doc: "radius over which the magnet must saturate the film: beam and offset; default: aperture=, or else " +
				"0.3 mm"},
		{Name: "length", Kind: lengthKind.of("length", "10*mm").positive(), Mode: Keyword, Optional: true,
			Doc: "length of a rod of a paramagnet, at 20 °C"},
		{Name: "stray", Kind: amount("flux density", "mT", "10*mT", quantity.OfFluxDensity).notNegative(),
			Mode: Keyword, Optional: true,
			Doc: "external flux density along the axis that a latching film must stand, of either sign"},
	}, append(slantParams(), apertureParam, coatingParam, nameParam)...),
	Returns: "an element for stack(), with .thickness of a film, .field of one in magnets, and the methods .margin, " +
		".rotation and .extinction_ratio",
	Errors: "angle= and thickness= are both given, the garnet cannot give this rotation, the sign of angle= " +
		"contradicts the magnet, or a rod lacks length= or field=",
	Example: `rotator(garnet("Bi:RIG"), angle=45*deg, at=1550*nm, temperature=23*degC)
ring = magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, material="Sm2Co17")
rotator(garnet("Bi:RIG"), thickness=0.4*mm, field=ring).angle
rotator(paramagnet("TGG"), length=10*mm, field=ring)
outer = magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, position=4*mm, remanence=1.0*tesla, material="Sm2Co17")
rotator(paramagnet("TGG"), length=10*mm, field=[ring, outer]).rotation(1064*nm)`,
	Source: "rotation of a saturated film: specific rotation times thickness, with the garnet's slopes; of a rod: " +
		"integral of Verdet constant times Bz along its axis",
	Detail: "The sign of the rotation is the product of the garnet's sign and the field's. Below saturation the " +
		"rotation is proportional to the field at the centre of the film, |B|/Bsat (common practice, no source), " +
		"with a warning. A film with unknown saturation flux density is taken as saturated. A tolerance on the " +
		"angle, or a fit of it, changes the thickness, so that the temperature and wavelength coefficients scale " +
		"with it. A magnet adds the parameters remanence and magnet_position; of several, remanence1, " +
		"magnet_position1, remanence2 and so on. In a stack, the magnets of the other rotators also act on a " +
		"rotator that has magnets, and on a latching film, whose rotation they can reverse. A latching film without " +
		"field= rotates by the remanence of its garnet times the angle; there is a warning where stray= and the " +
		"magnets of the other rotators exceed its coercivity. A film with tilt= or " +
		"wedge= is magnetized along the device axis, and rotates " +
		"light in proportion to its path along that axis; its thickness is along the normal of the front face. " +
		"angle= and .rotation are those of light perpendicular to a film without wedge.",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		if p, ok := a.Get("garnet").(*Paramagnet); ok {
			return rod(p, a)
		}
		if a.Has("length") {
			return nil, errors.New("length= is for a rod of a paramagnet; give a film angle= or thickness=")
		}
		if _, uniform := a.Get("field").(Quantity); uniform {
			return nil, errors.New("a uniform field= is for a rod of a paramagnet; give a film a magnet, or no " +
				"field= if it is saturated")
		}
		latches := arg[*Garnet](a, "garnet").garnet.Latches() && !a.Has("field")
		if !latches {
			if err := a.noneOf("is for a latching film without a magnet: give the garnet coercivity=, and no field=",
				"stray"); err != nil {
				return nil, err
			}
		}
		if !a.Has("field") && !latches {
			if err := a.noneOf("has no effect without field=: the film is taken as saturated",
				"footprint"); err != nil {
				return nil, err
			}
		}
		r := element.Rotator{
			Name:         a.Text("name"),
			Garnet:       arg[*Garnet](a, "garnet").garnet,
			Coating:      coatingOf(a),
			Angle:        a.Angle("angle"),
			At:           a.Length("at"),
			Temperature:  a.Temperature("temperature"),
			Aperture:     a.Length("aperture"),
			Footprint:    a.Length("footprint"),
			Surroundings: element.Surroundings{Magnets: ringsOf(a), Stray: a.SI("stray")},
			Slant:        slantOf(a),
		}
		if a.Has("extinction") {
			r.Garnet.Extinction = quantity.Ratio(a.SI("extinction"))
		}
		if a.Has("thickness") {
			if a.Given("angle") {
				return nil, errors.New("give angle= or thickness=, not both: each follows from the other")
			}
			film, err := r.OfThickness(a.Length("thickness"))
			if err != nil {
				return nil, unnamed(r, err)
			}
			r = film
		}
		return newElement(r)
	},
})

// ringsOf returns the magnets of a call, nil without one.
func ringsOf(a Args) magnet.Assembly {
	if m, ok := a.Get("field").(*Magnet); ok {
		return magnet.Assembly{m.ring}
	}
	var rings magnet.Assembly
	items, _ := elements(a.Get("field"))
	for _, m := range items {
		rings = append(rings, m.(*Magnet).ring)
	}
	return rings
}

// mostRings is how many magnets one rotator may have (a choice).
const mostRings = 100

// fieldKind is a magnet, several, or a uniform flux density.
var fieldKind = Kind{magnetKind.Want + ", a list of magnets, or for a rod a flux density such as 500*mT", "",
	func(v starlark.Value) (bool, string) {
		switch v.(type) {
		case Quantity:
			return fluxDensityKind.accept(v)
		case *Magnet:
			return true, ""
		}
		switch n := starlark.Len(v); {
		case n > mostRings:
			return false, fmt.Sprintf("got %d values, more than the limit of %d", n, mostRings)
		case n == 0:
			return false, "got an empty list"
		}
		return magnetsKind.accept(v)
	}}

var magnetsKind = listOf(magnetKind, "a list of magnets")

// faradayKind is a garnet or a paramagnet.
var faradayKind = Kind{garnetKind.Want + ` or a paramagnet such as paramagnet("TGG")`, "",
	func(v starlark.Value) (bool, string) {
		if ok, _ := is[*Paramagnet](v); ok {
			return true, ""
		}
		return is[*Garnet](v)
	}}

// rod makes a rotator of a paramagnet, whose angle follows.
func rod(p *Paramagnet, a Args) (starlark.Value, error) {
	for _, name := range []string{"angle", "thickness", "at", "temperature", "extinction", "footprint",
		"stray", "tilt", "wedge", "azimuth"} {
		if a.Given(name) {
			return nil, errors.New(name + "= is for a film: the rotation of a rod, which lies along the beam, " +
				"follows from its length and its field")
		}
	}
	if !a.Has("length") || !a.Has("field") {
		return nil, errors.New("a rod needs length= and field=, as in rotator(paramagnet(\"TGG\"), length=10*mm, " +
			"field=magnet(...))")
	}
	r := element.Rod{Name: a.Text("name"), Material: p.medium, Coating: coatingOf(a),
		Length: a.Length("length"), Surroundings: element.Surroundings{Magnets: ringsOf(a)},
		Aperture: a.Length("aperture")}
	if len(r.Magnets) == 0 {
		r.Field = a.SI("field")
	}
	return newElement(r)
}
