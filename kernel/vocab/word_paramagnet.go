package vocab

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
)

var _ = Register(Word{
	Name:    "paramagnet",
	Summary: "a paramagnetic Faraday material: a built-in one by its name, its Verdet constant and losses replaced as you like, or one of your own",
	Params: append([]Param{
		{Name: "name", Kind: textKind, Suggest: oneOf(material.ParamagnetNames), Doc: "the name; built in: " + strings.Join(material.ParamagnetNames(), ", ")},
		{Name: "verdet", Kind: verdetKind, Mode: Keyword, Optional: true, Doc: "Verdet constant at verdet_at= and verdet_temperature=; negative for terbium paramagnets such as TGG, of which data sheets often print the magnitude"},
		{Name: "verdet_at", Kind: wavelengthKind, Mode: Keyword, Default: of(1064, "nm"), Doc: "vacuum wavelength of the Verdet constant"},
		{Name: "verdet_temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature of the Verdet constant"},
		{Name: "resonance", Kind: lengthKind.of("wavelength", "258*nm").notNegative(), Mode: Keyword, Optional: true, Doc: "vacuum wavelength L0 of the law 1/(L^2 - L0^2); that of the built-in material, or 258 nm, usual for terbium (from memory), when left out"},
		{Name: "absorption", Kind: absorptionKind, Mode: Keyword, Optional: true, Doc: "power absorption coefficient, such as 0.002/cm, or the loss it makes, such as 0.01*dB/cm; zero for a material of your own"},
		{Name: "extinction", Kind: levelKind.positive(), Mode: Keyword, Optional: true, Doc: "extinction ratio Pmax/Pmin of light that was linear before the rod; perfect for a material of your own"},
	}, ownGlassParams...),
	Returns: "a paramagnet for rotator(), with .n(wavelength, temperature), .verdet(...), .name and .source",
	Errors:  "there is no paramagnet of that name, or one of your own lacks its index or its Verdet constant",
	Example: `paramagnet("TGG").verdet(1053*nm)
paramagnet("TGG", verdet=-134*rad/(tesla*metre), verdet_at=632.8*nm).verdet(632.8*nm)
paramagnet("rod 3", n=1.943, at=1064*nm, verdet=-38*rad/(tesla*metre)).verdet(1064*nm)`,
	Source: "one transition and Curie's law: Verdet constant as 1/(L^2 - L0^2) and as 1/T; the card names the source of each constant",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		p, err := paramagnetOf(a)
		if err != nil {
			return nil, err
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
		return nil, fmt.Errorf("%w; a paramagnet of your own needs n= or coefficients=, and verdet=", near(err, a.Text("name"), material.ParamagnetNames()))
	}
	why := fmt.Sprintf("belongs to a paramagnet of your own: the built-in %s keeps its published index, so give n= as well", p.Name())
	if err := a.noneOf(why, "at", "temperature", "dn_dl", "dn_dt", "expansion", "over"); err != nil {
		return nil, err
	}
	source := a.Text("source")
	if a.Has("verdet") {
		if p, err = p.WithLaw(verdetLaw(a, p.Law().Resonance), source); err != nil {
			return nil, err
		}
	} else if err := a.noneOf("belongs to verdet=: the built-in constant names its own", "verdet_at", "verdet_temperature", "resonance"); err != nil {
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
	if !a.Has("verdet") {
		return p, a.noneOf(fmt.Sprintf("is for values given in the call: the built-in %s names its own sources", p.Name()), "source")
	}
	return p, nil
}

func ownParamagnet(a Args) (*material.Paramagnet, error) {
	if a.Has("n") && a.Has("coefficients") {
		return nil, errors.New("give n= or coefficients=, not both")
	}
	if !a.Has("verdet") {
		return nil, errors.New("a paramagnet of your own needs verdet=, such as -38*rad/(tesla*metre)")
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
	return material.VerdetLaw{Constant: a.SI("verdet"), Resonance: resonance, At: a.Length("verdet_at"), Temperature: a.Temperature("verdet_temperature")}
}
