package vocab

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name: "paramagnet",
	Summary: "paramagnetic Faraday material: built in, with Verdet constant and losses replaced if given, or " +
		"user-defined",
	Params: append([]Param{
		{Name: "name", Kind: textKind, Suggest: oneOf(material.ParamagnetNames),
			Doc: "the name; built in: " + strings.Join(material.ParamagnetNames(), ", ")},
		{Name: "verdet", Kind: verdetKind, Mode: Keyword, Optional: true,
			Doc: "Verdet constant at verdet_at= and verdet_temperature=; negative for terbium paramagnets such as " +
				"TGG, for which data sheets often print the magnitude"},
		{Name: "verdet_at", Kind: wavelengthKind, Mode: Keyword, Default: of(1064, "nm"),
			Doc: "vacuum wavelength of the Verdet constant"},
		{Name: "verdet_temperature", Kind: temperatureKind, Mode: Keyword, Default: room,
			Doc: "temperature of the Verdet constant"},
		{Name: "resonance", Kind: lengthKind.of("wavelength", "258*nm").notNegative(), Mode: Keyword, Optional: true,
			Doc: "vacuum wavelength L0 of the law 1/(L^2 - L0^2); default: as for the built-in material, or 258 nm, " +
				"usual for terbium (from memory)"},
		{Name: "absorption", Kind: absorptionKind, Mode: Keyword, Optional: true,
			Doc: "power absorption coefficient, such as 0.002/cm, or the loss it causes, such as 0.01*dB/cm; default " +
				"for a user-defined material: zero"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true,
			Doc: "extinction ratio Pmax/Pmin of light that was linear before the rod; default for a user-defined " +
				"material: perfect"},
		{Name: "conductivity", Kind: conductivityKind, Mode: Keyword, Optional: true,
			Doc: "thermal conductivity, for heating()"},
		{Name: "max_temperature", Kind: temperatureKind, Mode: Keyword, Optional: true,
			Doc: "maximum operating temperature, above which there is a warning"},
		{Name: "stress_constant", Kind: perKelvinKind.of("thermo-optic constant", "1.7e-6/kelvin"), Mode: Keyword,
			Optional: true, Doc: "thermo-optic constant Q of thermal stress, (αn³/4)(1+ν)/(1-ν)(p11-p12), for heating()"},
		{Name: "photoelastic_ratio", Kind: numberKind.of("plain number", "2.25"), Mode: Keyword, Optional: true,
			Doc: "2·p44/(p11-p12) of the photoelastic constants, for heating()"},
	}, ownGlassParams...),
	Returns: "a paramagnet for rotator(), with .n(wavelength, temperature), .verdet(...), .name and .source",
	Errors: "no built-in paramagnet has this name, and the index or the Verdet constant of a user-defined one is " +
		"missing",
	Example: `paramagnet("TGG").verdet(1053*nm)
paramagnet("TGG", verdet=-134*rad/(tesla*metre), verdet_at=632.8*nm).verdet(632.8*nm)
paramagnet("rod 3", n=1.943, at=1064*nm, verdet=-38*rad/(tesla*metre)).verdet(1064*nm)`,
	Source: "one transition and Curie's law: Verdet constant as 1/(L^2 - L0^2) and as 1/T; the card names the source " +
		"of each constant",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		p, err := paramagnetOf(a)
		if err != nil {
			return nil, err
		}
		w := p.Warming()
		if a.Has("absorption") {
			w.Absorption = material.Exactly(p.Absorption())
		}
		if given := warmed(a, &w, a.Text("source")); len(given) > 0 || a.Has("absorption") {
			if p, err = p.WithWarming(w); err != nil {
				return nil, err
			}
		}
		asked(t, p.Name(), p.Data())
		if a.Bool("extrapolate") {
			p = p.Extrapolated()
		}
		return &Paramagnet{opaque{"paramagnet"}, p}, nil
	},
})

// verdetKind is a Verdet constant.
var verdetKind = amount("Verdet constant", "rad/(tesla*metre)", "-38*rad/(tesla*metre)", radPerTeslaMetre.Dimension())

// terbium is the usual resonance of terbium's Verdet constant (from memory).
const terbium = 258 * quantity.Nanometre

// paramagnetOf is a built-in paramagnet, with what the call replaces, or one's own.
func paramagnetOf(a Args) (*material.Paramagnet, error) {
	if a.Has("n") || a.Has("coefficients") {
		return ownParamagnet(a)
	}
	p, err := material.NamedParamagnet(a.Text("name"))
	if err != nil {
		return nil, fmt.Errorf("%w; a user-defined paramagnet needs n= or coefficients=, and verdet=",
			near(err, a.Text("name"), material.ParamagnetNames()))
	}
	why := fmt.Sprintf("is for a user-defined paramagnet: the built-in %s keeps its published index, so give n= as "+
		"well",
		p.Name())
	if err := a.noneOf(why, "at", "temperature", "dn_dl", "dn_dt", "expansion", "over"); err != nil {
		return nil, err
	}
	source := a.Text("source")
	if a.Has("verdet") {
		if p, err = p.WithLaw(verdetLaw(a, p.Law().Resonance), source); err != nil {
			return nil, err
		}
	} else if err := a.noneOf("is for verdet=: the built-in constant has its own", "verdet_at", "verdet_temperature",
		"resonance"); err != nil {
		return nil, err
	}
	if a.Has("absorption") || a.Has("extinction") {
		absorbed, extinct := p.Absorption(), p.Extinction()
		if a.Has("absorption") {
			absorbed = absorption(a.Get("absorption"))
		}
		if a.Has("extinction") {
			extinct = quantity.Ratio(a.SI("extinction"))
		}
		return p.WithLosses(absorbed, extinct, source)
	}
	if !a.Has("verdet") && !slices.ContainsFunc(thermalParams, a.Has) {
		return p, a.noneOf(fmt.Sprintf("is for values given in the call: the built-in %s names its own sources",
			p.Name()), "source")
	}
	return p, nil
}

func ownParamagnet(a Args) (*material.Paramagnet, error) {
	if a.Has("n") && a.Has("coefficients") {
		return nil, errors.New("give n= or coefficients=, not both")
	}
	if !a.Has("verdet") {
		return nil, errors.New("a user-defined paramagnet needs verdet=, such as -38*rad/(tesla*metre)")
	}
	glass, err := glassSpec(a)
	if err != nil {
		return nil, err
	}
	spec := material.ParamagnetSpec{GlassSpec: glass, Verdet: verdetLaw(a, terbium), Extinction: math.Inf(1)}
	if a.Has("absorption") {
		spec.Absorption = absorption(a.Get("absorption"))
	}
	if a.Has("extinction") {
		spec.Extinction = quantity.Ratio(a.SI("extinction"))
	}
	return material.NewParamagnet(spec)
}

// verdetLaw reads the law of a call; resonance is what it takes when the call gives none.
func verdetLaw(a Args, resonance quantity.Length) material.VerdetLaw {
	if a.Has("resonance") {
		resonance = a.Length("resonance")
	}
	return material.VerdetLaw{Constant: a.SI("verdet"), Resonance: resonance, At: a.Length("verdet_at"),
		Temperature: a.Temperature("verdet_temperature")}
}
