package vocab

import (
	"context"
	"fmt"

	"go.starlark.net/starlark"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
)

// WorstUnit is a unit of trials for which a figure is among the worst.
type WorstUnit struct {
	opaque
	of   *Distribution
	unit tolerance.WorstUnit
}

func (u *WorstUnit) String() string {
	return fmt.Sprintf("<unit %d: %s %s>", u.unit.Unit+1, u.of.wanted.name(), sensible(u.value()))
}

func (u *WorstUnit) value() quantity.Quantity { return u.of.in(u.unit.Value) }

// Attr returns a field or a method.
func (u *WorstUnit) Attr(name string) (starlark.Value, error) { return worstUnitType.attr(u, name) }

// AttrNames lists them.
func (u *WorstUnit) AttrNames() []string { return worstUnitType.names(u) }

var worstUnitType = newType("worst unit", methodSet[*WorstUnit]{},
	intAttr("unit", "its number, counted from 1", func(u *WorstUnit) int { return u.unit.Unit + 1 }),
	quantityAttr("value", "the figure", (*WorstUnit).value),
	valueAttr("at", "dict", "its parameters, by path", func(u *WorstUnit) (starlark.Value, error) {
		return parametersDict(u.of.paths, u.of.of.At(u.unit.Unit))
	}),
	valueAttr("stack", "stack", "the unit as a stack, assembled as the trials did",
		func(u *WorstUnit) (starlark.Value, error) {
			s, err := u.of.of.Unit(context.Background(), u.unit.Unit)
			if err != nil {
				return nil, err
			}
			return newStack(s), nil
		}).notJSON(),
)
