package tolerance

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
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

// Quantile returns the departure from nominal that the tolerance exceeds with probability 1-p, in SI units.
func (t Tolerance) Quantile(p float64) float64 {
	if t.Shape == Uniform {
		return t.Value.SI() * (2*p - 1)
	}
	return t.Value.SI() * distuv.UnitNormal.Quantile(p)
}
