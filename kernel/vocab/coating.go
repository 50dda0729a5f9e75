package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// coatingParam is how every element takes its coating.
var coatingParam = Param{Name: "coating", Kind: treatmentKind, Mode: Keyword, Optional: true,
	Doc: `the coating of each face, or "bare"; without one the faces reflect nothing`}

// bare is the text that stands for faces without a coating.
const bare = "bare"

// treatmentKind is a coating or "bare".
var treatmentKind = Kind{`a coating such as coating(reflectance=0.1*percent), or "bare"`, "", func(v starlark.Value) (bool, string) {
	if s, ok := v.(starlark.String); ok {
		return s == bare, ""
	}
	return is[*Coating](v)
}}

// Coating is the treatment of faces as a cell holds it.
type Coating struct {
	opaque
	coating element.Coating
}

func (c *Coating) String() string {
	switch {
	case c.coating.Bare:
		return "<bare faces>"
	case len(c.coating.Layers) > 0:
		return "<coating of " + count(len(c.coating.Layers), "layer") + ">"
	}
	return fmt.Sprintf("<coating of reflectance %s>", asPercent(c.coating.Reflectance))
}

// Attr returns .reflectance, of a coating stated by it, or the method that computes it.
func (c *Coating) Attr(name string) (starlark.Value, error) {
	if name == "reflectance" && !c.exact() {
		return asPercent(c.coating.Reflectance), nil
	}
	return coatingMethods.bind(c, name), nil
}

func (c *Coating) exact() bool { return c.coating.Bare || len(c.coating.Layers) > 0 }

// AttrNames lists the fields and methods.
func (c *Coating) AttrNames() []string {
	if c.exact() {
		return coatingMethods.names()
	}
	return coatingMethods.names("reflectance")
}

func (c *Coating) blocks() []document.Block {
	if len(c.coating.Layers) == 0 {
		return []document.Block{document.Plain(c.String())}
	}
	t := document.Table{Caption: "Coating, from the outside to the part",
		Columns: []document.Column{{Head: "layer", Align: document.Right}, {Head: "index", Align: document.Right}, {Head: "thickness", Align: document.Right}}}
	for i, l := range c.coating.Layers {
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), fmt.Sprintf("%.4g", real(l.Index)), quantity.FromSI(float64(l.Thickness), quantity.MustNamed("nm")).Text(1)})
	}
	return []document.Block{t}
}

var coatingMethods = newMethods("coating",
	method[*Coating]{Word{
		Name:    "reflects",
		Summary: "the power reflectance of one coated face, from air, at normal incidence",
		Params:  []Param{{Name: "index", Kind: indexKind, Doc: "index of the part behind the coating"}, wavelengthParam},
		Returns: "a ratio, in percent, or a series of them",
		Example: "coating(layers=[(1.38, 280*nm)]).reflects(1.945, 1550*nm)",
		Source:  "characteristic matrices; a stated reflectance is itself at every wavelength",
	}, func(c *Coating, _ *starlark.Thread, a Args) (starlark.Value, error) {
		at := conditions{temperatures: make([]quantity.Temperature, 1)} // which no coating depends on
		var ls []float64
		at.overL, ls = points(a.Get("wavelength"))
		for _, l := range ls {
			at.wavelengths = append(at.wavelengths, quantity.Length(l))
		}
		return at.each("reflectance", quantity.MustNamed("percent"), func(_, l int) (float64, error) {
			if !c.exact() {
				return c.coating.Reflectance, nil
			}
			s, ok := face.Coating(1, c.coating.Layers, a.SI("index"), 0, at.wavelengths[l])
			if !ok {
				return 0, fmt.Errorf("no light meets the face")
			}
			return s.Reflectance(), nil
		})
	}},
)

// coatingOf returns the coating of a call.
func coatingOf(a Args) element.Coating {
	switch c := a.Get("coating").(type) {
	case *Coating:
		return c.coating
	case starlark.String:
		return element.Coating{Bare: true}
	}
	return element.Coating{}
}
