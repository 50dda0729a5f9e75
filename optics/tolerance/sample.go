package tolerance

import (
	"fmt"

	"wedgework/optics/quantity"
)

// Sample is units drawn within tolerances, whose parameters are independent: what studies and verifications draw.
type Sample struct {
	Axes  []*Axis
	By    []Tolerance // of each axis
	Draws [][]float64 // by unit: the displacement of each parameter from its nominal value, on the scale of its axis
}

// NewSample draws n units as a Latin hypercube. The same seed draws the same units.
func NewSample(n int, seed uint64, axes []*Axis, by []Tolerance) *Sample {
	quantiles := make([]func(float64) float64, len(axes))
	for j, a := range axes {
		quantiles[j] = func(p float64) float64 { return a.Displaced(by[j].Quantile(p)) }
	}
	return &Sample{Axes: axes, By: by, Draws: Hypercube(n, seed, quantiles...)}
}

// Paths names the parameters.
func (s *Sample) Paths() []string {
	all := make([]string, len(s.Axes))
	for j, a := range s.Axes {
		all[j] = a.Path
	}
	return all
}

// Values returns the parameters at a displacement, by path.
func (s *Sample) Values(x []float64) map[string]quantity.Quantity {
	values := make(map[string]quantity.Quantity, len(x))
	for j, q := range s.At(x) {
		values[s.Axes[j].Path] = q
	}
	return values
}

// At returns the parameters at a displacement, in the order of the axes.
func (s *Sample) At(x []float64) []quantity.Quantity {
	at := make([]quantity.Quantity, len(s.Axes))
	for j, a := range s.Axes {
		at[j] = a.Quantity(a.At + x[j])
	}
	return at
}

// Unbuildable adds to an error the unit that it came up in.
func (s *Sample) Unbuildable(x []float64, err error) error {
	return Located("a unit within the tolerances (%s) cannot be evaluated", s.Paths(), s.At(x), err)
}

// Places is how many evaluations Lay takes.
func (s *Sample) Places() int { return Places(len(s.Axes)) }

// Lay lays a surface of second order through the values at the centre and at the ends of the tolerances. evaluate takes
// a displacement, and may be called by several goroutines.
func (s *Sample) Lay(centre []float64, evaluate func(x []float64) ([]float64, error)) (*Quadratic, error) {
	steps := make([][2]float64, len(s.Axes))
	for j, a := range s.Axes {
		steps[j] = s.By[j].Steps(a.Displaced)
	}
	return Lay(centre, steps, evaluate)
}

// Farthest orders the units by how far from nominal they are, in standard deviations, the farthest first.
func (s *Sample) Farthest() []int {
	sigma := make([]float64, len(s.Axes))
	for j, a := range s.Axes {
		sigma[j] = s.By[j].Scale(a.Displaced)
	}
	return Farthest(s.Draws, make([]float64, len(sigma)), sigma)
}

// ProofShare of the interval that holds 95 % of all units is what a surface may differ by from units evaluated with the
// full model.
const ProofShare = 0.02

// Fits returns an error for a tolerance that is not in the dimension of its parameter.
func (t Tolerance) Fits(path string, value quantity.Quantity) error {
	if got, want := t.Value.Dimension(), value.Dimension(); got != want {
		return fmt.Errorf("tolerance of %s: got %s, want one in the dimension of %s", path, t.Value, value)
	}
	return nil
}
