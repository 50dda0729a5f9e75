package vocab

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/nearest"
)

var _ = Register(Word{
	Name:    "garnet",
	Summary: "material of a rotator film: built in, with any constant replaced, or user-defined",
	Params: []Param{
		{Name: "name", Kind: textKind, Suggest: oneOf(material.GarnetNames),
			Doc: "the name; built in: " + strings.Join(material.GarnetNames(), ", ")},
		{Name: "index", Kind: indexKind, Mode: Keyword, Optional: true, Doc: "index of refraction"},
		{Name: "rotation", Kind: rotationKind, Mode: Keyword, Optional: true,
			Doc: "specific rotation at at= and temperature=, saturated; positive turns +x towards +y with the field " +
				"along +z; or at several wavelengths, of which none outside is used"},
		{Name: "per_kelvin", Kind: anglePerKelvin, Mode: Keyword, Optional: true,
			Doc: "temperature coefficient of |rotation| of a 45° film; negative: less rotation at higher temperature"},
		{Name: "per_nm", Kind: anglePerLength.of("rotation per wavelength", "-0.07*deg/nm"), Mode: Keyword,
			Optional: true,
			Doc: "wavelength coefficient of |rotation| of a 45° film; default with points of rotation=: none beside " +
				"theirs"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true,
			Doc: "extinction ratio Pmax/Pmin of light that was linear before the film"},
		{Name: "absorption", Kind: absorptionKind, Mode: Keyword, Optional: true,
			Doc: "power absorption coefficient, such as 0.2/cm, or the loss it causes, such as 0.9*dB/cm; default " +
				"for a user-defined garnet: zero"},
		{Name: "saturation", Kind: amount("flux density", "mT", "80*mT",
			quantity.OfFluxDensity).positive(), Mode: Keyword, Optional: true,
			Doc: "flux density that saturates the film; if omitted, unknown"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Optional: true,
			Doc: "vacuum wavelength of rotation=; default for a user-defined garnet: 1550 nm"},
		{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
			Doc: "temperature of rotation=; default for a user-defined garnet: 23 °C"},
		{Name: "coercivity", Kind: coercivityKind, Mode: Keyword, Optional: true,
			Doc: "external flux density that reverses a latching film, at all temperatures or at several, of which none " +
				"outside is used; if omitted, the film does not latch"},
		{Name: "remanence", Kind: ratioKind, Mode: Keyword, Optional: true,
			Doc: "rotation of a latching film without a field over that of the saturated film; default: 1"},
		{Name: "conductivity", Kind: conductivityKind, Mode: Keyword, Optional: true,
			Doc: "thermal conductivity, for heating()"},
		{Name: "max_temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
			Doc: "maximum operating temperature, above which there is a warning"},
		{Name: "curie_temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
			Doc: "Curie temperature, at and above which a film does not rotate and is refused"},
		{Name: "dn_dt", Kind: perKelvinKind, Mode: Keyword, Optional: true,
			Doc: "dn/dT, for the thermal lens of heating()"},
		{Name: "source", Kind: textKind, Mode: Keyword, Optional: true,
			Doc: "source of the given values, shown in summary and report"},
	},
	Returns: "a garnet; its constants are attributes by the names above",
	Errors: "a user-defined garnet lacks index, rotation, per_kelvin, per_nm or extinction; or at=, temperature= or " +
		"source= of a built-in garnet comes without the values that it is about",
	Example: `garnet("Bi:RIG", extinction=42*dB)`,
	Source:  "the summary names the source of each built-in garnet",
	Detail: "per_kelvin= and per_nm= are for a 45° film, as in data sheets; they scale with the thickness of the " +
		"film. A built-in garnet with another rotation= at another at= keeps its slopes and absorption, and says so " +
		"where it is used, until per_kelvin=, per_nm= and absorption= are given as well. Rotation at several " +
		"wavelengths, from a data sheet, computed from a fit, or as rows(\"film.csv\") with the columns \"wavelength [nm]\" " +
		"and \"rotation [deg/cm]\", is interpolated by a monotone cubic; a wavelength outside the points is refused. A " +
		"film with coercivity= needs no magnet: see stray= of rotator().",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		g, err := garnetOf(a)
		if err != nil {
			return nil, err
		}
		if err := g.Check(); err != nil {
			return nil, err
		}
		asked(t, g.Name, g.Data())
		return &Garnet{opaque{"garnet"}, g}, nil
	},
})

func garnetOf(a Args) (material.Garnet, error) {
	g, err := material.NamedGarnet(a.Text("name"))
	builtIn := err == nil
	if !builtIn {
		if err := complete(a, err); err != nil {
			return g, err
		}
		g = material.Garnet{
			Name: a.Text("name"), Source: "as given in the notebook", Extinction: math.Inf(1),
			At: quantity.Length(cardAt.SI()), Temperature: quantity.Temperature(room.SI()),
		}
	}
	var given []string
	for _, f := range garnetFields {
		if a.Has(f.name) {
			if !isList(a.Get(f.name)) {
				*f.at(&g) = a.SI(f.name)
			}
			if f.name == "absorption" {
				g.Absorption = absorption(a.Get("absorption"))
			}
			given = append(given, f.name)
		}
	}
	if a.Has("extinction") {
		g.Extinction = quantity.Ratio(a.SI("extinction"))
		given = append(given, "extinction")
	}
	given = append(given, warmed(a, &g.Warming, garnetSource(a))...)
	if err := errors.Join(spectrum(a, &g), latch(a, &g)); err != nil {
		return g, err
	}
	if a.Has("coercivity") {
		given = append(given, "coercivity")
	}
	if builtIn {
		return replaced(a, g, given)
	}
	relabelled(a, &g)
	if a.Has("source") {
		g.Source = a.Text("source")
	}
	return g, nil
}

// replaced is a built-in garnet some of whose constants are given. What a call says of values must be about values of
// that call: published ones keep their wavelength, temperature and source.
func replaced(a Args, g material.Garnet, given []string) (material.Garnet, error) {
	if !a.Has("rotation") {
		why := fmt.Sprintf("says where rotation= holds: the built-in %s keeps its published rotation, %.5g deg/cm at "+
			"%s, %s, so give rotation= as well; where a film turns by its angle is at= of rotator()",
			g.Name, g.Rotation/float64(quantity.Degree)/100, inNanometres(g.At), inCelsius(g.Temperature))
		if err := a.noneOf(why, "at", "temperature"); err != nil {
			return g, err
		}
	}
	if len(given) == 0 {
		return g, a.noneOf(fmt.Sprintf("is for values given in the call: the built-in %s names its own sources",
			g.Name), "source")
	}
	if a.Has("at") && !(a.Has("per_kelvin") && a.Has("per_nm") && a.Has("absorption")) {
		g.Others = g.StatedAt()
	}
	relabelled(a, &g)
	g.Source += "; " + strings.Join(given, ", ") + " " + garnetSource(a)
	return g, nil
}

// garnetSource says where the values of a call come from.
func garnetSource(a Args) string {
	if a.Has("source") {
		return "from " + a.Text("source")
	}
	return "as given in the notebook"
}

// relabelled sets where the rotation of a call holds.
func relabelled(a Args, g *material.Garnet) {
	if a.Has("at") {
		g.At = a.Length("at")
	}
	if a.Has("temperature") {
		g.Temperature = a.Temperature("temperature")
	}
}

// complete checks that a garnet that is not built in has everything that cannot be assumed.
func complete(a Args, unknown error) error {
	var missing []string
	for _, name := range []string{"index", "rotation", "per_kelvin", "per_nm", "extinction"} {
		if _, several := a.points("rotation", "wavelength", "rotation"); name == "per_nm" && several {
			continue
		}
		if !a.Has(name) {
			missing = append(missing, name+"=")
		}
	}
	if len(missing) == 0 {
		return nil
	}
	if near := nearest.To(a.Text("name"), material.GarnetNames()); near != "" {
		return fmt.Errorf("%w; did you mean %q?", unknown, near)
	}
	return fmt.Errorf("%w; a user-defined garnet needs %s as well", unknown, strings.Join(missing, ", "))
}

// absorptionKind is a power absorption coefficient or a level per length.
var absorptionKind = func() Kind {
	nepers, levels := perLengthKind.notNegative(), amount("loss per length", "dB/cm", "0.9*dB/cm",
		quantity.OfLevelPerLength).notNegative()
	return Kind{nepers.Want + " or 0.9*dB/cm", nepers.Unit, func(v starlark.Value) (bool, string) {
		if ok, _ := levels.accept(v); ok {
			return true, ""
		}
		return nepers.accept(v)
	}}
}()

// absorption returns the coefficient in 1/m.
func absorption(v starlark.Value) float64 {
	q, _ := toQuantity(v)
	if q.Dimension() == quantity.OfLevelPerLength {
		return q.SI() * math.Ln10 / 10
	}
	return q.SI()
}
