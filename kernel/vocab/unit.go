package vocab

import (
	"fmt"
	"slices"
	"strings"

	"go.starlark.net/starlark"
	"go.starlark.net/syntax"

	"wedgework/optics/quantity"
	"wedgework/reports/document"
)

// Unit is a unit as a cell holds it: nm, deg/kelvin. A number times a unit is a quantity.
type Unit struct{ quantity.Unit }

var (
	_ starlark.HasBinary  = Unit{}
	_ starlark.Comparable = Unit{}
)

// units holds every named unit; it is filled before the words register, which check against it.
var units = namedUnits()

func namedUnits() map[string]Unit {
	m := map[string]Unit{}
	for _, name := range quantity.Names() {
		m[name] = Unit{quantity.MustNamed(name)}
	}
	return m
}

var _ = newType("unit", methodSet[Unit]{})

// String spells the unit as a cell would write it.
func (u Unit) String() string        { return strings.NewReplacer(" ", "*", "^", "**").Replace(u.Name()) }
func (u Unit) Type() string          { return "unit" }
func (u Unit) Freeze()               {}
func (u Unit) Truth() starlark.Bool  { return true }
func (u Unit) Hash() (uint32, error) { return hash(u.Name()), nil }

// CompareSameType knows equality only: units have no order.
func (u Unit) CompareSameType(op syntax.Token, y starlark.Value, _ int) (bool, error) {
	same := u.Unit == y.(Unit).Unit
	switch op {
	case syntax.EQL:
		return same, nil
	case syntax.NEQ:
		return !same, nil
	}
	return false, fmt.Errorf("units cannot be ordered: compare quantities, as in 5*%s %s 3*%s", u, op, y)
}

// Binary makes quantities and compound units.
func (u Unit) Binary(op syntax.Token, y starlark.Value, side starlark.Side) (starlark.Value, error) {
	if op != syntax.STAR && op != syntax.SLASH {
		if _, ok := toQuantity(y); ok || isUnit(y) {
			return nil, fmt.Errorf("cannot write %s with a bare unit: put a number before it, as in 5*%s", op, u)
		}
		return nil, nil
	}
	switch y := y.(type) {
	case Unit:
		if side == starlark.Left {
			return compound(op, u, y)
		}
		return compound(op, y, u)
	case *starlark.List, starlark.Tuple:
		return nil, fmt.Errorf("cannot multiply %s by %s: multiply each item, or use sweep()", describe(y), u)
	}
	if x, ok := plain(y); ok && op == syntax.STAR {
		return fromQuantity(quantity.Attach(x, u.Unit)), nil
	}
	return flip(op, Quantity{quantity.Attach(1, u.Unit)}, y, side)
}

// Factor says that numbers are multiplied with it.
func (u Unit) Factor() bool { return true }

// Summary is one line about the unit.
func (u Unit) Summary() string {
	if w := Lookup(u.Name()); w != nil {
		return w.Summary
	}
	return "unit"
}

// Describe returns what a front end's inspection shows.
func (u Unit) Describe(detail int) []document.Block {
	if w := Lookup(u.Name()); w != nil {
		return w.Describe(detail)
	}
	return []document.Block{document.Code{Text: u.String()},
		document.Plain("unit of " + dimensionNoun(quantity.Attach(1,
			u.Unit).Dimension()))}
}

// Attr refuses what belongs to a quantity: 5*deg.to(rad) asks the unit, for a dot binds tighter than *.
func (u Unit) Attr(name string) (starlark.Value, error) {
	if slices.Contains(quantityType.names(Quantity{}), name) {
		return nil, fmt.Errorf("%s is a bare unit and has no .%s: put the quantity in parentheses, as in (5*%s).%s",
			u, name, u, name)
	}
	return nil, nil
}

// AttrNames is empty: a unit has no fields of its own.
func (u Unit) AttrNames() []string { return nil }

func isUnit(v starlark.Value) bool { _, ok := v.(Unit); return ok }

// compound is the product or quotient of two units; where they cancel it is a plain number, so nm/um
// is 0.001.
func compound(op syntax.Token, x, y Unit) (starlark.Value, error) {
	for _, u := range []Unit{x, y} {
		if q := quantity.Attach(0, u.Unit); q.Absolute() {
			return nil, fmt.Errorf("cannot multiply or divide the unit %s, a point on a scale; %s", u, scaleHint(q))
		}
	}
	q, err := arithmetic(op, quantity.Attach(1, x.Unit), quantity.Attach(1, y.Unit))
	if err != nil {
		return nil, err
	}
	if q.Unit == (quantity.Unit{}) || q.Value != 1 {
		return fromQuantity(q), nil
	}
	return Unit{q.Unit}, nil
}

// Power makes deg**2 and kelvin**-1.
func (u Unit) Power(y starlark.Value) (starlark.Value, error) {
	q, err := power(quantity.Attach(1, u.Unit), y)
	if err != nil {
		return nil, err
	}
	if q.Unit == (quantity.Unit{}) {
		return starlark.Float(q.Value), nil
	}
	return Unit{q.Unit}, nil
}

// word documents a named unit.
func (u Unit) word(name string) *Word {
	w := &Word{Name: name, Value: u, Example: "5*" + name}
	q := quantity.Attach(1, u.Unit)
	w.Summary = fmt.Sprintf("unit of %s, printed as %s", dimensionNoun(q.Dimension()), u.Symbol())
	switch {
	case q.Absolute() && q.Dimension() == quantity.OfTemperature:
		w.Summary = "temperature on the Celsius scale, printed as " + u.Symbol()
		w.Detail = "A temperature in degC is a point on a scale: 25*degC - 23*degC is 2 K. Write differences in kelvin."
	case q.Absolute():
		w.Summary = "power level referred to 1 mW, printed as " + u.Symbol()
		w.Detail = "A level in dBm is a point on a scale: dB can be added to it, and the difference of two levels is " +
			"in dB."
	case q.Dimension() == quantity.OfLevel:
		w.Summary = "ratio of powers as a level, printed as dB"
		w.Detail = "Levels can be added but not multiplied. decibels() and power_ratio() convert between levels and " +
			"power ratios."
	case q.Dimension() == quantity.Plain:
		w.Summary = "one hundredth, printed as " + u.Symbol()
	}
	return w
}
