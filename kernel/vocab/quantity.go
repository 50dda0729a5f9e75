package vocab

import (
	"fmt"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
)

// Quantity is a number with its unit, as a cell holds it.
type Quantity struct{ quantity.Quantity }

var (
	_ starlark.HasBinary  = Quantity{}
	_ starlark.HasUnary   = Quantity{}
	_ starlark.HasAttrs   = Quantity{}
	_ starlark.Comparable = Quantity{}
)

func (q Quantity) String() string        { return q.Quantity.String() }
func (q Quantity) Printed() string       { return byDefault(q.Quantity) }
func (q Quantity) Type() string          { return "quantity" }
func (q Quantity) Freeze()               {}
func (q Quantity) Truth() starlark.Bool  { return q.Value != 0 }
func (q Quantity) Hash() (uint32, error) { return hash(quantity.Key(q.Quantity)), nil }

// Dimension names what the quantity measures; a session refuses to compare different dimensions, or a
// dimension with a plain number.
func (q Quantity) Dimension() string { return noun(q.Quantity) }

// Factor is false: a number is multiplied with a unit, and a quantity has a number.
func (q Quantity) Factor() bool { return false }

// Number returns a quantity without a dimension, such as 1*percent, as the number it is.
func (q Quantity) Number() (n starlark.Float, ok bool) {
	return starlark.Float(q.SI()), q.Quantity.Dimension() == quantity.Plain
}

// Binary does arithmetic with numbers, quantities, sweeps and series; units look after themselves.
func (q Quantity) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	if isUnit(y) {
		return nil, nil
	}
	return flip(op, q, y, side)
}

// Unary is +q and -q.
func (q Quantity) Unary(op syntax.Token) (starlark.Value, error) { return unary(op, q) }

// Power is q ** y.
func (q Quantity) Power(y starlark.Value) (starlark.Value, error) {
	r, err := power(q.Quantity, y)
	if err != nil {
		return nil, err
	}
	return fromQuantity(r), nil
}

// CompareSameType compares by value, so 1550*nm equals 1.55*um; different dimensions are an error.
func (q Quantity) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	c, err := quantity.Compare(q.Quantity, y.(Quantity).Quantity)
	if err != nil {
		return false, err
	}
	return threeway(op, c), nil
}

func threeway(op syntax.Token, c int) bool {
	switch op {
	case syntax.EQL:
		return c == 0
	case syntax.NEQ:
		return c != 0
	case syntax.LT:
		return c < 0
	case syntax.LE:
		return c <= 0
	case syntax.GT:
		return c > 0
	}
	return c >= 0
}

// Attr returns a field or a method.
func (q Quantity) Attr(name string) (starlark.Value, error) { return quantityType.attr(q, name) }

// AttrNames lists them.
func (q Quantity) AttrNames() []string { return quantityType.names(q) }

var quantityType = newType("quantity", quantityMethods,
	floatAttr("value", "plain number in the unit of the quantity", func(q Quantity) float64 { return q.Value }),
	unitAttr("unit in which the quantity is written", func(q Quantity) quantity.Unit { return q.Unit }),
)

func unitAttr[T starlark.Value](summary string, get func(T) quantity.Unit) attr[T] {
	return valueAttr("unit", "unit", summary, func(v T) (starlark.Value, error) { return Unit{get(v)}, nil })
}

var quantityMethods = newMethods("quantity",
	method[Quantity]{Word{
		Name:    "to",
		Summary: "converts to a plain number in a unit",
		Params:  []Param{{Name: "unit", Kind: unitKind, Doc: "the unit"}},
		Returns: "a plain number",
		Errors:  "the unit has another dimension",
		Example: "(1.55*um).to(nm)",
	}, func(q Quantity, _ *starlark.Thread, a Args) (starlark.Value, error) {
		r, err := convert(q.Quantity, arg[Unit](a, "unit").Unit)
		if err != nil {
			return nil, err
		}
		return starlark.Float(r.Value), nil
	}},
	method[Quantity]{Word{
		Name:    "shown_in",
		Summary: "the same quantity in another unit",
		Params:  []Param{{Name: "unit", Kind: unitKind, Doc: "the unit"}},
		Returns: "a quantity",
		Errors:  "the unit has another dimension",
		Example: "(1.55*um).shown_in(nm)",
	}, func(q Quantity, _ *starlark.Thread, a Args) (starlark.Value, error) {
		r, err := convert(q.Quantity, arg[Unit](a, "unit").Unit)
		if err != nil {
			return nil, err
		}
		return fromQuantity(r), nil
	}},
)

// of is a quantity written in the program's own source, for defaults.
func of(v float64, unit string) Quantity { return Quantity{quantity.Of(v, unit)} }

// perUm is a slope over wavelength, for defaults.
func perUm(v float64) Quantity { return Quantity{quantity.Quantity{Value: v, Unit: per("", "um")}} }

func perKelvin(v float64) Quantity {
	return Quantity{quantity.Quantity{Value: v, Unit: per("", "kelvin")}}
}

// text formats a quantity with a number of decimals, in a unit when one is given.
func text(q quantity.Quantity, digits int, unit starlark.Value) (string, error) {
	if u, ok := unit.(Unit); ok {
		r, err := convert(q, u.Unit)
		if err != nil {
			return "", err
		}
		q = r
	}
	if digits < 0 || digits > 15 {
		return "", fmt.Errorf("digits must be from 0 to 15, got %d", digits)
	}
	return q.Text(digits), nil
}
