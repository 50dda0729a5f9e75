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

// The shapes.
const (
	Normal  Shape = "normal"  // stated by its standard deviation
	Uniform Shape = "uniform" // every value within the half-width is equally likely
)

// Tolerance is how far a parameter may differ from its nominal value.
type Tolerance struct {
	Shape Shape             // how it is distributed
	Value quantity.Quantity // standard deviation or half-width, in the parameter's dimension, 0 or more
}

// Sigma returns the standard deviation in SI units, that of a uniform distribution its half-width over root 3 (JCGM
// 100, 4.3.7).
func (t Tolerance) Sigma() float64 {
	if t.Shape == Uniform {
		return t.Value.SI() / math.Sqrt(3)
	}
	return t.Value.SI()
}

// Limit returns the departure in SI units beyond which a parameter is called outside its tolerance:
// the half-width, or twice the standard deviation (a choice).
func (t Tolerance) Limit() float64 {
	if t.Shape == Uniform {
		return t.Value.SI()
	}
	return 2 * t.Value.SI()
}

// Steps returns the two displacements that a response surface is laid from, on the scale to which displaced takes a
// departure in SI units: the ends of the tolerance, or two on one side where the parameter is at its bound.
func (t Tolerance) Steps(displaced func(by float64) float64) [2]float64 {
	s := [2]float64{displaced(t.Limit()), displaced(-t.Limit())}
	for i := range s {
		if s[i] == 0 {
			s[i] = s[1-i] / 2
		}
	}
	return s
}

// Scale returns one standard deviation on that scale, the greater of both sides.
func (t Tolerance) Scale(displaced func(by float64) float64) float64 {
	return max(math.Abs(displaced(t.Sigma())), math.Abs(displaced(-t.Sigma())))
}

// Located wraps an error with the values of the parameters at which it came up, "a = 1 mm, b = 2 deg", in place of
// the %s of what.
func Located(what string, paths []string, at []quantity.Quantity, err error) error {
	where := make([]string, len(paths))
	for j, path := range paths {
		where[j] = path + " = " + at[j].String()
	}
	return fmt.Errorf(what+": %w", strings.Join(where, ", "), err)
}

// Quantile returns the departure from nominal, in SI units, that the tolerance stays below with probability p, from 0
// to 1; the ends of a normal tolerance are infinite.
func (t Tolerance) Quantile(p float64) float64 {
	if t.Shape == Uniform {
		return t.Value.SI() * (2*p - 1)
	}
	return t.Value.SI() * distuv.UnitNormal.Quantile(p)
}
