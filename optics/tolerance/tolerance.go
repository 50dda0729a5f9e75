package tolerance

import (
	"fmt"
	"math"
	"strings"

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

// Steps are the displacements a surface is laid from, on the scale that displaced puts a departure in SI units: the ends of
// the tolerance, or two on one side where the parameter is at its bound.
func (t Tolerance) Steps(displaced func(by float64) float64) [2]float64 {
	s := [2]float64{displaced(t.Limit()), displaced(-t.Limit())}
	for i := range s {
		if s[i] == 0 {
			s[i] = s[1-i] / 2
		}
	}
	return s
}

// Scale is what one standard deviation comes to on that scale, the longer of both sides.
func (t Tolerance) Scale(displaced func(by float64) float64) float64 {
	return max(math.Abs(displaced(t.Sigma())), math.Abs(displaced(-t.Sigma())))
}

// Located adds to an error at which values of parameters it came up, in place of the %s of what: "a = 1 mm, b = 2 deg".
func Located(what string, paths []string, at []quantity.Quantity, err error) error {
	where := make([]string, len(paths))
	for j, path := range paths {
		where[j] = path + " = " + at[j].String()
	}
	return fmt.Errorf(what+": %w", strings.Join(where, ", "), err)
}

// Unbuildable says of which unit an error is.
const Unbuildable = "a unit within the tolerances (%s) cannot be evaluated"

// Quantile returns the departure from nominal that the tolerance exceeds with probability 1-p, in SI units.
func (t Tolerance) Quantile(p float64) float64 {
	if t.Shape == Uniform {
		return t.Value.SI() * (2*p - 1)
	}
	return t.Value.SI() * distuv.UnitNormal.Quantile(p)
}
