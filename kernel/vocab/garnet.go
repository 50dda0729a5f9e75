package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/material"
	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Garnet is an iron-garnet film material as a cell holds it.
type Garnet struct {
	opaque
	garnet material.Garnet
}

var garnetKind = instance[*Garnet](`a garnet such as garnet("Bi:RIG")`)

func (g *Garnet) String() string { return fmt.Sprintf("<garnet %s>", g.garnet.Name) }

// garnetFields are the constants of a garnet as cells name them.
var garnetFields = []struct {
	name string
	unit quantity.Unit
	at   func(*material.Garnet) *float64
}{
	{"index", quantity.Unit{}, func(g *material.Garnet) *float64 { return &g.Index }},
	{"rotation", per("deg", "cm"), func(g *material.Garnet) *float64 { return &g.Rotation }},
	{"per_kelvin", per("deg", "kelvin"), func(g *material.Garnet) *float64 { return &g.PerKelvin }},
	{"per_nm", per("deg", "nm"), func(g *material.Garnet) *float64 { return &g.PerMetre }},
	{"absorption", per("", "cm"), func(g *material.Garnet) *float64 { return &g.Absorption }},
	{"saturation", quantity.MustNamed("mT"), func(g *material.Garnet) *float64 { return &g.Saturation }},
}

// Attr returns a field or a method.
func (g *Garnet) Attr(name string) (starlark.Value, error) { return garnetType.attr(g, name) }

// AttrNames lists them.
func (g *Garnet) AttrNames() []string { return garnetType.names(g) }

var garnetType = newType("garnet", garnetMethods, garnetAttrs()...)

func garnetAttrs() []attr[*Garnet] {
	all := []attr[*Garnet]{
		textAttr("name", "the name of the material", func(g *Garnet) string { return g.garnet.Name }),
		textAttr("source", "source of its constants", func(g *Garnet) string { return g.garnet.Source }),
		levelAttr("extinction", "", func(g *Garnet) float64 { return quantity.Decibels(g.garnet.Extinction) }),
	}
	for _, f := range garnetFields {
		all = append(all, quantityAttr(f.name, "",
			func(g *Garnet) quantity.Quantity { return quantity.FromSI(*f.at(&g.garnet), f.unit) }))
	}
	return all
}

func (g *Garnet) blocks() []document.Block {
	rows := append([]document.Field{{Name: "name", Value: g.garnet.Name}}, rowsOf(g.garnet.Describe())...)
	return []document.Block{fields("Garnet", rows...)}
}

// per returns the unit over/under, 1/under when over is empty.
func per(over, under string) quantity.Unit {
	q := quantity.Quantity{Value: 1}
	if over != "" {
		q = quantity.Of(1, over)
	}
	r, err := quantity.Div(q, quantity.Of(1, under))
	if err != nil {
		panic("vocab: " + err.Error()) // names written in this package's source
	}
	return r.Unit
}
