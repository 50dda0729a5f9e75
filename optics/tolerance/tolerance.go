package tolerance

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
)

// Shape is the distribution of a tolerance.
type Shape string

// The shapes.
const (
	Normal     Shape = "normal"     // stated by its standard deviation
	Uniform    Shape = "uniform"    // every value within the half-width is equally likely
	Triangular Shape = "triangular" // falls evenly from the nominal value to nothing at the half-width
	Truncated  Shape = "truncated"  // normal, with what lies beyond Cut sorted out
	Among      Shape = "among"      // one of some Departures, each as likely
)

// Tolerance is how far a parameter may differ from its nominal value.
type Tolerance struct {
	Shape Shape             // how it is distributed
	Value quantity.Quantity // standard deviation or half-width, in the parameter's dimension, 0 or more
	Cut   float64           // of a Truncated one: the departure that is left at most, in SI units, above 0

	// Departures are those of an Among tolerance from the nominal value, in SI units, in rising order; at least one.
	Departures []float64
}

// OneOf returns the tolerance of a parameter that has one of some values in its dimension, each as likely. Its Value is
// the root mean square departure from the nominal value.
func OneOf(nominal quantity.Quantity, values []quantity.Quantity) Tolerance {
	t := Tolerance{Shape: Among}
	for _, v := range values {
		t.Departures = append(t.Departures, v.SI()-nominal.SI())
	}
	slices.Sort(t.Departures)
	t.Value = quantity.FromSI(t.Sigma(), nominal.Unit)
	return t
}

// Sigma returns the standard deviation in SI units, that of a uniform distribution its half-width over root 3 and of a
// triangular one over root 6 (JCGM 100, 4.3.7 and 4.3.9); of departures about the nominal value.
func (t Tolerance) Sigma() float64 {
	switch t.Shape {
	case Uniform:
		return t.Value.SI() / math.Sqrt(3)
	case Triangular:
		return t.Value.SI() / math.Sqrt(6)
	case Truncated: // N. L. Johnson et al., Continuous Univariate Distributions 1, 13.10 (from memory)
		c := t.Cut / t.Value.SI()
		return t.Value.SI() * math.Sqrt(max(1-2*c*distuv.UnitNormal.Prob(c)/(1-2*distuv.UnitNormal.CDF(-c)), 0))
	case Among:
		sum := 0.0
		for _, d := range t.Departures {
			sum += d * d
		}
		return math.Sqrt(sum / float64(len(t.Departures)))
	}
	return t.Value.SI()
}

// Limit returns the departure in SI units beyond which a parameter is called outside its tolerance: the end of it, or
// twice the standard deviation of a normal one (a choice).
func (t Tolerance) Limit() float64 {
	if t.Shape == Normal {
		return 2 * t.Value.SI()
	}
	low, high := t.Ends()
	return max(-low, high)
}

// Ends returns the least and the greatest departure in SI units; of a normal tolerance those at NormalReach standard
// deviations.
func (t Tolerance) Ends() (low, high float64) {
	switch t.Shape {
	case Normal:
		high = NormalReach * t.Value.SI()
	case Truncated:
		high = t.Cut
	case Among:
		return t.Departures[0], t.Departures[len(t.Departures)-1]
	default:
		high = t.Value.SI()
	}
	return -high, high
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
func (t Tolerance) Quantile(p float64) float64 { return t.Quantiles()(p) }

// Quantiles returns Quantile as a function, for many probabilities.
func (t Tolerance) Quantiles() func(p float64) float64 {
	size := t.Value.SI()
	switch t.Shape {
	case Uniform:
		return func(p float64) float64 { return size * (2*p - 1) }
	case Triangular:
		return func(p float64) float64 {
			if p < 0.5 {
				return size * (math.Sqrt(2*p) - 1)
			}
			return size * (1 - math.Sqrt(2*(1-p)))
		}
	case Truncated:
		out := distuv.UnitNormal.CDF(-t.Cut / size)
		return func(p float64) float64 { return size * distuv.UnitNormal.Quantile(out+p*(1-2*out)) }
	case Among:
		n := len(t.Departures)
		return func(p float64) float64 { return t.Departures[min(int(p*float64(n)), n-1)] }
	}
	return func(p float64) float64 { return size * Score(p) }
}
