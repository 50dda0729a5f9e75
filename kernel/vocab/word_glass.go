package vocab

import (
	"fmt"
	"strings"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
)

var _ = Register(Word{
	Name:    "glass",
	Summary: "a built-in isotropic medium",
	Params:  []Param{{Name: "name", Kind: textKind, Doc: "the name; built in: " + strings.Join(material.GlassNames(), ", ")}},
	Returns: "a glass with .n(wavelength, temperature), .group_n(...), .name and .source",
	Errors:  "there is no glass of that name",
	Example: `glass("fused silica").n(1550*nm)`,
	Source:  "the card names the source of each constant",
	Call: func(_ *starlark.Thread, a Args) (starlark.Value, error) {
		g, err := material.NamedGlass(a.Text("name"))
		if err != nil {
			return nil, near(err, a.Text("name"), material.GlassNames())
		}
		return &Glass{opaque{"glass"}, g}, nil
	},
})

// near adds the nearest spelling to an error about a name.
func near(err error, name string, known []string) error {
	if n := Nearest(name, known); n != "" {
		return fmt.Errorf("%w; did you mean %q?", err, n)
	}
	return err
}
