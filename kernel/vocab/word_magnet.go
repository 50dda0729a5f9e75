package vocab

import (
	"errors"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/magnet"
	"wedgework/optics/quantity"
)

var fluxDensityKind = amount("flux density", "tesla", "1.05*tesla", quantity.OfFluxDensity)

var _ = Register(Word{
	Name:    "magnet",
	Summary: "axially magnetized ring magnet around a rotator",
	Params: []Param{
		{Name: "inner", Kind: lengthKind.notNegative(), Mode: Keyword, Doc: "radius of the bore"},
		{Name: "outer", Kind: lengthKind.positive(), Mode: Keyword, Doc: "outer radius"},
		{Name: "length", Kind: lengthKind.positive(), Mode: Keyword, Doc: "length along the axis"},
		{Name: "remanence", Kind: fluxDensityKind, Mode: Keyword, Optional: true,
			Doc: "remanence at 20 °C; positive: magnetized along +z, which gives a negative field in the bore; " +
				"default: as for the material"},
		{Name: "material", Kind: textKind, Mode: Keyword, Optional: true, Suggest: oneOf(magnet.Names),
			Doc: "material, for the temperature coefficient of the remanence: " + strings.Join(magnet.Names(), ", ")},
		{Name: "per_kelvin", Kind: perKelvinKind.of("change of remanence",
			"-0.04*percent/kelvin"), Mode: Keyword, Optional: true,
			Doc: "relative temperature coefficient of the remanence, instead of the material's"},
		{Name: "max_temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
			Doc: "maximum operating temperature of the grade, above which there is a warning; default: as for the " +
				"material"},
		{Name: "position", Kind: lengthKind, Mode: Keyword, Default: of(0, "mm"),
			Doc: "position of its centre along +z, from the centre of the rotator"},
	},
	Returns: "a magnet for field= of rotator(), with .field(z, temperature)",
	Errors:  "neither remanence nor material is given, or the ring cannot be made",
	Detail: "A pole piece of iron is a magnet with material=\"Fe\", taken as magnetized to saturation along +z " +
		"(remanence=-2.15*tesla for -z): an upper bound of its field. Above max_temperature= a magnet may lose part " +
		"of its remanence for good; that loss is not included. Strong magnets: keep them away from cardiac implants " +
		"and magnetic media. They can pinch fingers and shatter.",
	Example: `magnet(inner=0.75*mm, outer=1.5*mm, length=2*mm, remanence=-1.0*tesla, material="Sm2Co17").field()`,
	Source: "closed form on the axis, complete elliptic integrals off it: N. Derby and S. Olbert, Am. J. Phys. 78, " +
		"229 (2010)",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		r := magnet.Ring{
			Inner: a.Length("inner"), Outer: a.Length("outer"), Length: a.Length("length"),
			Temperature: magnet.Reference, Position: a.Length("position"),
		}
		if a.Has("remanence") && a.Has("per_kelvin") {
			if err := a.noneOf("has no effect: remanence= and per_kelvin= are both given", "material"); err != nil {
				return nil, err
			}
		}
		if a.Has("material") {
			m, err := magnet.Named(a.Text("material"))
			if err != nil {
				return nil, near(err, a.Text("material"), magnet.Names())
			}
			asked(t, m.Name, m.Data())
			r.Remanence, r.Coefficient = m.Remanence, m.Coefficient
			if m.Greatest != 0 {
				r.Greatest = quantity.Celsius(m.Greatest)
			}
		}
		if a.Has("max_temperature") {
			r.Greatest = a.Temperature("max_temperature")
		}
		if a.Has("remanence") {
			r.Remanence = a.SI("remanence")
		} else if !a.Has("material") {
			return nil, errors.New("give remanence= or material=")
		}
		if a.Has("per_kelvin") {
			r.Coefficient = a.SI("per_kelvin")
		}
		if err := r.Check(); err != nil {
			return nil, errors.New(strings.TrimPrefix(err.Error(), "magnet: "))
		}
		return &Magnet{opaque{"magnet"}, r}, nil
	},
})
