package verify

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Shape is the distribution of a tolerance.
type Shape string

// Normal is stated by its standard deviation, Uniform by its half-width.
const (
	Normal  Shape = "normal"
	Uniform Shape = "uniform"
)

// Tolerance is how far a parameter may lie from its nominal value.
type Tolerance struct {
	Shape Shape
	Value quantity.Quantity // standard deviation or half-width, in the parameter's dimension
}

// Sigma returns the standard deviation in SI units.
func (t Tolerance) Sigma() float64 {
	if t.Shape == Uniform {
		return t.Value.SI() / math.Sqrt(3)
	}
	return t.Value.SI()
}

// Limit returns the departure beyond which a parameter is called outside its tolerance, in SI units:
// the half-width, or twice the standard deviation.
func (t Tolerance) Limit() float64 {
	if t.Shape == Uniform {
		return t.Value.SI()
	}
	return 2 * t.Value.SI()
}

// Spec is what Run needs.
type Spec struct {
	Model      Model
	Readings   Readings
	Limits     limits.Limits
	Budget     uncertainty.Budget
	Tolerances map[string]Tolerance // by parameter path
	Fit        []string             // parameter paths; empty: nothing is fitted
	// LossAt is the wavelength at which the insertion loss is a declared figure; 0 means 1550 nm.
	LossAt quantity.Length
	// Smooth is how far to either side of a reading those lie that it is smoothed with before an extreme is held against
	// a limit; 0: extremes are raw.
	Smooth quantity.Length
	// MaxGap is the widest spacing of readings inside a limit's band that passes; 0 means 2 nm.
	MaxGap quantity.Length
}
