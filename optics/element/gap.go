package element

import (
	"fmt"
	"math"

	"wedgework/optics/quantity"
)

// Gap is a distance in air between two elements. What holds them apart, the housing or a spacer, may expand.
type Gap struct {
	Name   string          // in parameter paths; "" until a stack gives one
	Length quantity.Length // along z at 20 degC, m, 0 or more
	// thermal expansion of what sets the length, 1/K, below 1e-3 in size; 0 for a gap that stays
	Expansion float64
}

var gapFields = []field[Gap]{
	{"length", "mm", func(g *Gap) *float64 { return (*float64)(&g.Length) }},
	{"expansion", "1/kelvin", func(g *Gap) *float64 { return &g.Expansion }},
}

// Kind returns "gap".
func (Gap) Kind() string { return "gap" }

// Label returns the gap's name.
func (g Gap) Label() string { return g.Name }

// Labelled returns a copy with another name.
func (g Gap) Labelled(label string) Element { g.Name = label; return g }

// Rolled returns the same gap: it looks alike from every side.
func (g Gap) Rolled(quantity.Angle) Element { return g }

// Parameters lists the length, and the expansion where there is one.
func (g Gap) Parameters() []Parameter {
	if g.Expansion == 0 {
		return parameters(&g, gapFields[:1])
	}
	return parameters(&g, gapFields)
}

// With returns a copy with one parameter changed, checked.
func (g Gap) With(name string, v quantity.Quantity) (Element, error) {
	if err := set(&g, gapFields, g.Name, name, v); err != nil {
		return nil, err
	}
	return g, g.Check()
}

// Check reports a negative length, and an expansion that no housing has.
func (g Gap) Check() error { return g.check() }

func (g *Gap) check() error {
	if !(g.Length >= 0) {
		return fmt.Errorf("gap %s: length %g mm must not be negative", g.Name, float64(g.Length)*1e3)
	}
	if !(math.Abs(g.Expansion) < maxExpansion) {
		return fmt.Errorf("gap %s: expansion %g 1/kelvin must be below %g 1/kelvin", g.Name, g.Expansion, maxExpansion)
	}
	return nil
}

// maxExpansion bounds a thermal expansion: polymers reach 3e-4 1/K (a choice, for slips of the pen such as a missing
// e-6).
const maxExpansion = 1e-3

// Place takes up the gap's length at a temperature in kelvin, Length (1 + Expansion (t - 20 degC)).
func (g Gap) Place(t quantity.Temperature) (p Part) { g.lay(t, &p); return p }

func (g *Gap) lay(t quantity.Temperature, p *Part) {
	p.Faces, p.Media = p.Faces[:0], p.Media[:0]
	p.Length = float64(g.Length) * (1 + g.Expansion*float64(t-fabricated))
}

// Tune has nothing to set.
func (Gap) Tune(quantity.Length, quantity.Temperature, []Medium) error { return nil }

func (*Gap) tune(quantity.Length, quantity.Temperature, []Medium) error { return nil }
