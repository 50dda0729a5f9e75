package vocab

import (
	"errors"
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/nearest"
)

var _ = Register(Word{
	Name:    "glass",
	Summary: "isotropic medium: built in, or user-defined from measured or catalogue values",
	Params: append([]Param{
		{Name: "name", Kind: textKind, Suggest: oneOf(material.GlassNames),
			Doc: "the name; built in: " + strings.Join(material.GlassNames(), ", ")},
	}, ownGlassParams...),
	Returns: "a glass with .n(wavelength, temperature), .group_n(...), .name and .source",
	Errors:  "no built-in glass has this name and neither n= nor coefficients= is given, or both are",
	Example: "glass(\"fused silica\").n(1550*nm)\nglass(\"lot 7\", n=1.4440, dn_dt=8.5e-6/kelvin)",
	Source:  "the card names the source of each constant",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		g, err := glassOf(a)
		if err != nil {
			return nil, err
		}
		asked(t, g.Name(), g.Data())
		if a.Bool("extrapolate") {
			g = g.Extrapolated()
		}
		return &Glass{opaque{"glass"}, g}, nil
	},
})

// coefficientsKind is a list of pairs of Sellmeier coefficients.
var coefficientsKind = listOf(numberKind, "a list of numbers such as [0.6961663, 0.0046791]")

// glassOf is a built-in glass or one's own.
func glassOf(a Args) (*material.Glass, error) {
	if a.Has("n") && a.Has("coefficients") {
		return nil, errors.New("give n= or coefficients=, not both")
	}
	if a.Has("n") || a.Has("coefficients") {
		return ownGlass(a)
	}
	g, err := material.NamedGlass(a.Text("name"))
	if err != nil {
		return nil, fmt.Errorf("%w; a user-defined glass needs n= or coefficients=",
			near(err, a.Text("name"), material.GlassNames()))
	}
	why := fmt.Sprintf("is for a user-defined glass: the built-in %s keeps its published constants, so give n= as well",
		g.Name())
	return g, a.noneOf(why, "at", "temperature", "dn_dl", "dn_dt", "expansion", "over", "source")
}

func ownGlass(a Args) (*material.Glass, error) {
	spec, err := glassSpec(a)
	if err != nil {
		return nil, err
	}
	return material.NewGlass(spec)
}

// ownGlassParams describe a medium of one's own by its index.
var ownGlassParams = []Param{
	{Name: "n", Kind: indexKind, Mode: Keyword, Optional: true, Doc: "index of refraction at at= and temperature="},
	{Name: "coefficients", Kind: coefficientsKind, Mode: Keyword, Optional: true,
		Doc: "B1, C1, B2, C2, ... of n^2 - 1 = sum of B L^2/(L^2 - C), as glass catalogues print them, with L in µm " +
			"and C in µm²; instead of n="},
	{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"), Doc: "vacuum wavelength of n="},
	{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room, Doc: "temperature of the index"},
	{Name: "dn_dl", Kind: perLengthKind.of("slope", "-0.02/um"), Mode: Keyword, Default: perUm(0),
		Doc: "dn/dλ, against vacuum wavelength"},
	{Name: "dn_dt", Kind: perKelvinKind, Mode: Keyword, Optional: true,
		Doc: "dn/dT; without it the material can be used near temperature= only"},
	{Name: "expansion", Kind: perKelvinKind, Mode: Keyword, Optional: true,
		Doc: "thermal expansion coefficient; default: zero, and the summary says so"},
	{Name: "over", Kind: instance[*Sweep]("a sweep such as sweep(1500*nm, 1600*nm, 1*nm)"), Mode: Keyword,
		Optional: true,
		Doc: "wavelengths for which the values may be used; default: 50 nm either side of at=; required with " +
			"coefficients="},
	{Name: "extrapolate", Kind: boolKind, Mode: Keyword, Default: starlark.False,
		Doc: "True: may be used outside the range of its fit, with a warning in summary, cell and report"},
	{Name: "source", Kind: textKind, Mode: Keyword, Default: starlark.String("as given in the notebook"),
		Doc: "source of the given values, shown in summary and report"},
}

// glassSpec reads ownGlassParams.
func glassSpec(a Args) (material.GlassSpec, error) {
	at := a.Length("at")
	spec := material.GlassSpec{
		Name: a.Text("name"), N: a.SI("n"), Slope: a.SI("dn_dl"),
		At: at, Lo: at - ownReach, Hi: at + ownReach,
		Temperature: a.Temperature("temperature"),
		Thermo:      a.SI("dn_dt"), ThermoKnown: a.Has("dn_dt"),
		Expansion: a.SI("expansion"), ExpansionKnown: a.Has("expansion"),
		Source: a.Text("source"),
	}
	if a.Has("coefficients") {
		if err := a.noneOf("is for n=: coefficients= hold at every wavelength", "at", "dn_dl"); err != nil {
			return spec, err
		}
		if !a.Has("over") {
			return spec, errors.New("coefficients= need over=, the wavelengths of the fit, such as sweep(400*nm, " +
				"1600*nm, 1*nm)")
		}
		spec.Coefficients = a.numbers("coefficients")
	}
	if over := arg[*Sweep](a, "over"); over != nil {
		lo, hi, err := over.band(wavelengthKind)
		if err != nil {
			return spec, fmt.Errorf("over %w", err)
		}
		spec.Lo, spec.Hi = quantity.Length(lo), quantity.Length(hi)
	}
	return spec, nil
}

// near adds the nearest spelling to an error about a name.
func near(err error, name string, known []string) error {
	if n := nearest.To(name, known); n != "" {
		return fmt.Errorf("%w; did you mean %q?", err, n)
	}
	return err
}
