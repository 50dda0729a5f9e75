package element

import (
	"fmt"

	"wedgework/optics/quantity"
)

// Gap is a distance in air between two elements.
type Gap struct {
	Name   string
	Length quantity.Length
}

var gapFields = []field[Gap]{
	{"length", "mm", func(g *Gap) *float64 { return (*float64)(&g.Length) }},
}

// Kind returns "gap".
func (Gap) Kind() string { return "gap" }

// Label returns the gap's name.
func (g Gap) Label() string { return g.Name }

// Labelled returns a copy with another name.
func (g Gap) Labelled(label string) Element { g.Name = label; return g }

// Rolled returns the same gap: it looks alike from every side.
func (g Gap) Rolled(quantity.Angle) Element { return g }

// Parameters lists the length.
func (g Gap) Parameters() []Parameter { return parameters(&g, gapFields) }

// With returns a copy with one parameter changed.
func (g Gap) With(name string, v quantity.Quantity) (Element, error) {
	if err := set(&g, gapFields, g.Name, name, v); err != nil {
		return nil, err
	}
	return g, g.Check()
}

// Check reports a negative length.
func (g Gap) Check() error {
	if !(g.Length >= 0) {
		return fmt.Errorf("gap %s: length %g mm must not be negative", g.Name, float64(g.Length)*1e3)
	}
	return nil
}

// Place takes up the gap's length, which does not change with temperature.
func (g Gap) Place(quantity.Temperature) Part { return Part{Length: float64(g.Length)} }

// Tune has nothing to set.
func (Gap) Tune(quantity.Length, quantity.Temperature, []Medium) error { return nil }
