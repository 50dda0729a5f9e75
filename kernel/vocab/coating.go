package vocab

import (
	"errors"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/face"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// coatingParam is how every element takes its coating.
var coatingParam = Param{Name: "coating", Kind: treatmentKind, Mode: Keyword, Optional: true,
	Doc: `coating of each face, or "bare"; default: faces without reflection`}

// bare is the text that stands for faces without a coating.
const bare = "bare"

// treatmentKind is a coating or "bare".
var treatmentKind = Kind{`a coating such as coating(reflectance=0.1*percent), or "bare"`, "",
	func(v starlark.Value) (bool, string) {
		if s, ok := v.(starlark.String); ok {
			return s == bare, ""
		}
		return is[*Coating](v)
	}}

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

// Coating is the treatment of faces as a cell holds it.
type Coating struct {
	opaque
	coating element.Coating
	at      quantity.Length // middle of the band on the card
	on      starlark.Value  // what the card shows it on; None for the usual indices
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

// Attr returns a field or a method.
func (c *Coating) Attr(name string) (starlark.Value, error) { return coatingType.attr(c, name) }

// AttrNames lists them.
func (c *Coating) AttrNames() []string { return coatingType.names(c) }

var coatingType = newType("coating", coatingMethods,
	valueAttr("reflectance", "quantity", "residual reflectance", func(c *Coating) (starlark.Value, error) {
		return asPercent(c.coating.Reflectance), nil
	}).only(func(c *Coating) bool { return !c.exact() }),
)

func (c *Coating) exact() bool { return c.coating.Bare || len(c.coating.Layers) > 0 }

// cardBand is how far the card of a coating looks to either side of its wavelength, and in what steps: the bands of
// the trade (a choice).
const (
	cardBand = 50 * quantity.Nanometre
	cardStep = 25 * quantity.Nanometre
)

// usualIndices are what the card shows a coating on when it is not told: fused silica, YVO4 o and e, a garnet film.
var usualIndices = []starlark.Value{starlark.Float(1.45), starlark.Float(1.95), starlark.Float(2.15),
	starlark.Float(2.33)}

func (c *Coating) blocks() []document.Block {
	if !c.exact() {
		return []document.Block{fields("Coating", document.Field{Name: "reflectance",
			Value: asPercent(c.coating.Reflectance).String()})}
	}
	var blocks []document.Block
	right := func(head string) document.Column { return document.Column{Head: head, Align: document.Right} }
	if len(c.coating.Layers) > 0 {
		t := document.Table{Caption: "Coating, from the outside to the element",
			Columns: []document.Column{right("layer"), right("index"), right("thickness"),
				right("wavelengths at " + inNanometres(c.at).String())}}
		for i, l := range c.coating.Layers {
			n := real(l.Index)
			t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), fmt.Sprintf("%.4g", n),
				quantity.FromSI(float64(l.Thickness), quantity.MustNamed("nm")).Text(1), fmt.Sprintf("%.4f",
					n*float64(l.Thickness/c.at))})
		}
		blocks = append(blocks, t)
	}
	t := document.Table{Caption: "Reflectance at normal incidence, from air",
		Columns: []document.Column{right("wavelength")}}
	var on []substrate
	for _, v := range usualIndices {
		on = append(on, substratesOf(v)...)
	}
	if c.on != starlark.None {
		on = substratesOf(c.on)
	}
	for _, s := range on {
		t.Columns = append(t.Columns, right("on "+s.label))
	}
	for l := c.at - cardBand; l <= c.at+cardBand+cardStep/2; l += cardStep {
		if l <= 0 {
			continue
		}
		row := []string{inNanometres(l).String()}
		for _, s := range on {
			text := "outside its fit"
			if r, err := c.reflects(s, l); err == nil {
				text = sensible(asPercent(significant(r, 3)).Quantity)
			}
			row = append(row, text)
		}
		t.Rows = append(t.Rows, row)
	}
	return append(blocks, t)
}

// reflects returns the power reflectance of a coated face at normal incidence, from air.
func (c *Coating) reflects(on substrate, l quantity.Length) (float64, error) {
	if !c.exact() {
		return c.coating.Reflectance, nil
	}
	n, err := on.index(l)
	if err != nil {
		return 0, err
	}
	s, ok := face.Coating(1, c.coating.Layers, n, 0, l)
	if !ok {
		return 0, errors.New("no light meets the face")
	}
	return s.Reflectance(), nil
}

var coatingMethods = newMethods("coating",
	method[*Coating]{Word{
		Name:    "reflects",
		Summary: "power reflectance of one coated face, from air, at normal incidence",
		Params: []Param{
			{Name: "on", Kind: substrateKind,
				Doc: "the substrate: an index of refraction or a material; for a crystal, the ordinary ray is used"},
			wavelengthParam,
		},
		Returns: "a ratio in percent, or a series over a wavelength grid",
		Errors:  "the wavelength is outside the fit of the material",
		Example: "coating(layers=[(1.38, 280*nm)]).reflects(1.945, 1550*nm)",
		Source:  "characteristic matrices; a stated reflectance is itself at every wavelength",
	}, func(c *Coating, _ *starlark.Thread, a Args) (starlark.Value, error) {
		at := conditions{ctx: a.ctx, temperatures: make([]quantity.Temperature, 1)} // which no coating depends on
		var ls []float64
		at.overL, ls = points(a.Get("wavelength"))
		for _, l := range ls {
			at.wavelengths = append(at.wavelengths, quantity.Length(l))
		}
		on := substratesOf(a.Get("on"))[0]
		return at.each("reflectance", quantity.MustNamed("percent"), func(_, l int) (float64, error) {
			return c.reflects(on, at.wavelengths[l])
		})
	}},
)

// substrate is what a coating lies on.
type substrate struct {
	label string
	index func(quantity.Length) (float64, error)
}

// substrateKind is an index or a material.
var substrateKind = Kind{`an index of refraction such as 1.945, or a material such as crystal("YVO4")`, "",
	func(v starlark.Value) (bool, string) {
		switch v.(type) {
		case *Crystal, *Glass, *Paramagnet, *Garnet:
			return true, ""
		}
		return indexKind.accept(v)
	}}

// substratesOf returns what a value of substrateKind stands for, of a crystal the ordinary and the extraordinary ray.
func substratesOf(v starlark.Value) []substrate {
	t := quantity.Temperature(room.SI())
	constant := func(label string, n float64) []substrate {
		return []substrate{{label, func(quantity.Length) (float64, error) { return n, nil }}}
	}
	switch v := v.(type) {
	case *Crystal:
		return []substrate{
			{v.Name() + " o", func(l quantity.Length) (float64, error) { n, err := v.At(l, t); return n.O, err }},
			{v.Name() + " e", func(l quantity.Length) (float64, error) { n, err := v.At(l, t); return n.E, err }},
		}
	case *Glass:
		return []substrate{{v.glass.Name(), func(l quantity.Length) (float64, error) {
			n, err := v.glass.At(l,
				t)
			return n.N, err
		}}}
	case *Paramagnet:
		return []substrate{{v.medium.Name(), func(l quantity.Length) (float64, error) {
			n, err := v.medium.At(l,
				t)
			return n.N, err
		}}}
	case *Garnet:
		return constant(v.garnet.Name, v.garnet.Index)
	}
	n, _ := plain(v)
	return constant(fmt.Sprintf("%.4g", n), n)
}
