package vocab

import (
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/element"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/reports/document"
)

// Collimator is a matched pair of collimators as a cell holds it.
type Collimator struct {
	opaque
	pair element.Collimator
}

var collimatorKind = instance[*Collimator]("a collimator such as collimator(waist=200*um, working_distance=10*mm)")

func (c *Collimator) String() string {
	p := c.pair.Parameters()[0] // the waist, or the focal length that makes it
	return fmt.Sprintf("<collimator, %s %s>", spaced(p.Path), written(p.Value))
}

// Attr returns a field or a method.
func (c *Collimator) Attr(name string) (starlark.Value, error) { return collimatorType.attr(c, name) }

// AttrNames lists them.
func (c *Collimator) AttrNames() []string { return collimatorType.names(c) }

var collimatorType = newType("collimator", methodSet[*Collimator]{}).
	numbered((*Collimator).numbers, &Collimator{pair: element.Collimator{Waist: 1}},
		&Collimator{pair: element.Collimator{Focal: 1}})

// numbers are the adjustable numbers of the pair, and those that its return loss and pointing depend on.
func (c *Collimator) numbers() []element.Parameter { return append(c.pair.Parameters(), c.fixed()...) }

// fixed are the numbers of the pair that are no parameters of a stack.
func (c *Collimator) fixed() []element.Parameter {
	floor := c.pair.ReturnFloor
	if floor == 0 {
		floor = stack.DefaultReturnFloor
	}
	return []element.Parameter{
		{Path: "pointing", Value: quantity.FromSI(c.pair.Pointing, per("mrad", "kelvin"))},
		{Path: "ferrule", Value: quantity.FromSI(float64(c.pair.Ferrule), degree)},
		{Path: "ferrule_reflectance", Value: asPercent(c.pair.FerruleReflectance).Quantity},
		{Path: "facet", Value: quantity.FromSI(float64(c.pair.Facet), degree)},
		{Path: "facet_reflectance", Value: asPercent(c.pair.FacetReflectance).Quantity},
		{Path: "return_floor", Value: quantity.Of(floor, "dB")},
	}
}

func (c *Collimator) blocks() []document.Block {
	var rows []document.Field
	for _, p := range c.numbers() {
		rows = append(rows, document.Field{Name: spaced(p.Path), Value: written(p.Value)})
	}
	for end, name := range element.CollimatorNames {
		if c.pair.Pigtails.Known() {
			rows = append(rows, document.Field{Name: name, Value: pigtailText(&c.pair.Pigtails, end)})
		}
	}
	return []document.Block{fields("Collimator pair", rows...)}
}
