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
	Name:    "crystal",
	Summary: "uniaxial crystal: built in, or user-defined from measured or vendor values",
	Params: []Param{
		{Name: "name", Kind: textKind, Suggest: oneOf(material.Names),
			Doc: "a name; without no= and ne= it must be a built-in crystal: " + strings.Join(material.Names(), ", ")},
		{Name: "no", Kind: indexKind, Mode: Keyword, Optional: true,
			Doc: "ordinary index; with ne= it defines a user-defined crystal"},
		{Name: "ne", Kind: indexKind, Mode: Keyword, Optional: true, Doc: "extraordinary index"},
		{Name: "coefficients_o", Kind: crystalCoefficientsKind, Mode: Keyword, Optional: true,
			Doc: "A, B, C, D of no^2 = A + B/(L^2 - C) - D L^2 with L in um, as crystal data sheets print them, " +
				"instead of no= and ne=; D is optional"},
		{Name: "coefficients_e", Kind: crystalCoefficientsKind, Mode: Keyword, Optional: true, Doc: "the same for ne"},
		{Name: "at", Kind: wavelengthKind, Mode: Keyword, Default: of(1550, "nm"),
			Doc: "vacuum wavelength at which the indices hold"},
		{Name: "temperature", Kind: temperatureKind, Mode: Keyword, Default: room,
			Doc: "temperature at which the indices hold"},
		{Name: "dno_dl", Kind: perLengthKind.of("slope", "-0.02/um"), Mode: Keyword, Default: perUm(0),
			Doc: "dno/dλ, against vacuum wavelength; without the slopes group indices and delays are wrong by the " +
				"dispersion, and the summary says so"},
		{Name: "dne_dl", Kind: perLengthKind.of("slope", "-0.02/um"), Mode: Keyword, Default: perUm(0),
			Doc: "dne/dλ, against vacuum wavelength"},
		{Name: "dno_dt", Kind: perKelvinKind, Mode: Keyword, Optional: true,
			Doc: "dno/dT; without dno_dt= and dne_dt= the crystal can be used near temperature= only"},
		{Name: "dne_dt", Kind: perKelvinKind, Mode: Keyword, Optional: true, Doc: "dne/dT"},
		{Name: "expansion_a", Kind: perKelvinKind, Mode: Keyword, Optional: true,
			Doc: "thermal expansion across the optic axis; default: zero, and the summary says so"},
		{Name: "expansion_c", Kind: perKelvinKind, Mode: Keyword, Optional: true,
			Doc: "thermal expansion along the optic axis"},
		{Name: "over", Kind: instance[*Sweep]("a sweep such as sweep(1500*nm, 1600*nm, 1*nm)"), Mode: Keyword,
			Optional: true,
			Doc: "wavelengths for which the values may be used; default: 50 nm either side of at=; required with " +
				"coefficients"},
		{Name: "extrapolate", Kind: boolKind, Mode: Keyword, Default: starlark.False,
			Doc: "True: may be used outside the range of its fit, with a warning in summary, cell and report"},
		{Name: "source", Kind: textKind, Mode: Keyword, Default: starlark.String("as given in the notebook"),
			Doc: "source of the given values, shown in summary and report"},
	},
	Returns: "a crystal with .no, .ne, .birefringence, .group_no, .group_ne, .walkoff, .name and .source",
	Errors: "no built-in crystal has the name, values for only one of the two rays are given, or a keyword would " +
		"relabel published values",
	Example: "crystal(\"YVO4\")\ncrystal(\"lot 7\", no=1.9450, ne=2.1490, dno_dl=-0.0185/um, dne_dl=-0.0228/um)",
	Source:  "the summary names the fit of each built-in crystal",
	Detail: "Outside the range of its fit a crystal gives an error, unless extrapolate=True. Away from the " +
		"temperature of its fit it gives an error where no thermo-optic coefficient is published; dno_dt= and " +
		"dne_dt= supply your own for a built-in crystal.",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		c, err := builtInOrOwn(a)
		if err != nil {
			return nil, err
		}
		asked(t, c.Name(), c.Data())
		if a.Bool("extrapolate") {
			c = c.Extrapolated()
		}
		return &Crystal{opaque{"crystal"}, c}, nil
	},
})

// indexKind is an index of refraction.
var indexKind = Kind{"an index of refraction such as 1.945", "", func(v starlark.Value) (bool, string) {
	x, ok := plain(v)
	return ok && x >= 1 && x < 10, ""
}}

// crystalCoefficientsKind is the coefficients of a fit of one index.
var crystalCoefficientsKind = listOf(numberKind, "a list of numbers such as [3.77834, 0.069736, 0.04724, 0.0108133]")

// own are the parameters of a user-defined crystal.
var own = []string{"at", "temperature", "dno_dl", "dne_dl", "expansion_a", "expansion_c", "over"}

func builtInOrOwn(a Args) (*material.Crystal, error) {
	name := a.Text("name")
	switch {
	case (a.Has("coefficients_o") || a.Has("coefficients_e")) && (a.Has("no") || a.Has("ne")):
		return nil, errors.New("give no= and ne=, or coefficients_o= and coefficients_e=, not both")
	case a.Has("coefficients_o") && a.Has("coefficients_e"), a.Has("no") && a.Has("ne"):
		return ownCrystal(a)
	case a.Has("coefficients_o") || a.Has("coefficients_e"):
		return nil, errors.New("give coefficients_o= and coefficients_e= together")
	case a.Has("no") || a.Has("ne"):
		return nil, errors.New("give no= and ne= together")
	}
	c, err := material.Named(name)
	if err != nil {
		if near := nearest.To(name, material.Names()); near != "" {
			return nil, fmt.Errorf("%w; did you mean %q? A user-defined crystal needs no= and ne=", err, near)
		}
		return nil, fmt.Errorf("%w; a user-defined crystal needs no= and ne=", err)
	}
	why := fmt.Sprintf("is for a user-defined crystal: the built-in %s keeps its published constants, so give no= "+
		"and ne= as well", c.Name())
	if err := a.noneOf(why, own...); err != nil {
		return nil, err
	}
	switch {
	case a.Has("dno_dt") != a.Has("dne_dt"):
		return nil, errors.New("give dno_dt= and dne_dt= together")
	case a.Has("dno_dt"):
		return c.WithThermoOptic(a.SI("dno_dt"), a.SI("dne_dt"), a.Text("source")), nil
	case a.Given("source"):
		return nil, fmt.Errorf("source= is for values given in the call: the built-in %s names its own sources",
			c.Name())
	}
	return c, nil
}

// ownReach is how far from the wavelength of its indices a crystal without over= may be used: about a
// band of the trade on either side (a choice).
const ownReach = 50 * quantity.Nanometre

func ownCrystal(a Args) (*material.Crystal, error) {
	at := a.Length("at")
	spec := material.CrystalSpec{
		Name: a.Text("name"),
		O:    a.SI("no"), E: a.SI("ne"),
		SlopeO: a.SI("dno_dl"), SlopeE: a.SI("dne_dl"),
		At: at, Lo: at - ownReach, Hi: at + ownReach,
		Temperature: a.Temperature("temperature"),
		ThermoO:     a.SI("dno_dt"), ThermoE: a.SI("dne_dt"),
		ThermoKnown: a.Has("dno_dt") && a.Has("dne_dt"),
		Source:      a.Text("source"),
	}
	if a.Has("coefficients_o") {
		if err := a.noneOf("belongs to no= and ne=: coefficients hold at every wavelength", "at", "dno_dl",
			"dne_dl"); err != nil {
			return nil, err
		}
		if !a.Has("over") {
			return nil, errors.New("coefficients need over=, the wavelengths for which they were fitted, such as " +
				"sweep(500*nm, 1600*nm, 1*nm)")
		}
		spec.CoefficientsO, spec.CoefficientsE = a.numbers("coefficients_o"), a.numbers("coefficients_e")
	}
	if a.Has("dno_dt") != a.Has("dne_dt") {
		return nil, errors.New("give dno_dt= and dne_dt= together")
	}
	if a.Has("expansion_a") != a.Has("expansion_c") {
		return nil, errors.New("give expansion_a= and expansion_c= together")
	}
	if a.Has("expansion_a") {
		spec.Expansion = &material.Expansion{A: a.SI("expansion_a"), C: a.SI("expansion_c"), Source: spec.Source}
	}
	if over := arg[*Sweep](a, "over"); over != nil {
		lo, hi, err := over.band(wavelengthKind)
		if err != nil {
			return nil, fmt.Errorf("over %w", err)
		}
		spec.Lo, spec.Hi = quantity.Length(lo), quantity.Length(hi)
	}
	return material.NewCrystal(spec)
}
