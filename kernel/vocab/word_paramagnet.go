package vocab

import (
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
)

var _ = Register(Word{
	Name:    "paramagnet",
	Summary: "a built-in paramagnetic Faraday material",
	Params: []Param{
		{Name: "name", Kind: textKind, Doc: "the name; built in: " + strings.Join(material.ParamagnetNames(), ", ")},
		{Name: "extrapolate", Kind: boolKind, Mode: Keyword, Default: starlark.False, Doc: "True: leave to be used outside the range of its dispersion fit, with a warning on card, cell and report"},
	},
	Returns: "a paramagnet for rotator(), with .n(wavelength, temperature), .verdet(...), .name and .source",
	Errors:  "there is no paramagnet of that name",
	Example: `paramagnet("TGG").verdet(1053*nm)`,
	Source:  "the card names the source of each constant",
	Call: func(t *starlark.Thread, a Args) (starlark.Value, error) {
		p, err := material.NamedParamagnet(a.Text("name"))
		if err != nil {
			return nil, near(err, a.Text("name"), material.ParamagnetNames())
		}
		asked(t, p.Name(), p.Data())
		if a.Bool("extrapolate") {
			p = p.Extrapolated()
		}
		return &Paramagnet{opaque{"paramagnet"}, p}, nil
	},
})
