package model

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/fit"
)

// Variable is a parameter as the fit sees it. An extinction ratio is fitted as the fraction of light in the
// wrong polarization, q = 1/(1+ER): the leakage is linear in it, where in decibels the fit would have a
// plateau. All others are fitted by their SI value.
type Variable struct {
	tolerance.Axis
	Angle bool
	step  float64 // for derivatives
}

const (
	// mostLeak is next to half the light: there a film has no extinction ratio left.
	mostLeak = 0.4999
	// reach bounds the fit of an angle about its nominal: beyond, other wells begin.
	reach = 15 * float64(quantity.Degree)
)

func NewVariable(p Parameter) (*Variable, error) {
	a, err := tolerance.NewAxis(p.Path, p.Value)
	if err != nil {
		return nil, err
	}
	v := &Variable{Axis: *a}
	switch {
	case v.Leak:
		v.Hi = mostLeak
		v.At = min(v.At, v.Hi)
		v.step = max(1e-3*v.At, 1e-8)
	case p.Value.Dimension() == quantity.OfAngle:
		v.Angle = true
		v.Lo, v.Hi = v.At-reach, v.At+reach
		v.step = 1e-5
	default:
		v.step = 1e-4 * math.Abs(v.At)
		if v.step == 0 {
			v.step = 1e-6
		}
	}
	return v, nil
}

// Around returns values one step from x to either side, or up to a bound.
func (v *Variable) Around(x float64) (up, down float64) {
	return min(x+v.step, v.Hi), max(x-v.step, v.Lo)
}

// Beside returns a value one step from x, downwards where the upper bound is nearer than that.
func (v *Variable) Beside(x float64) float64 {
	if x+v.step <= v.Hi {
		return x + v.step
	}
	return max(x-v.step, v.Lo)
}

// Adjust returns the model with the parameters at x.
func Adjust(m Model, vs []*Variable, x []float64) (Model, error) {
	if len(vs) == 0 {
		return m, nil
	}
	values := make(map[string]quantity.Quantity, len(vs))
	for j, v := range vs {
		values[v.Path] = v.Quantity(x[j])
	}
	return m.Adjusted(values)
}

// Arms moves the parameters by plus and minus the SI differences given.
func Arms(m Model, ps []Parameter, by []float64) (arm [2]Model, err error) {
	vs := make([]*Variable, len(ps))
	for k, p := range ps {
		if vs[k], err = NewVariable(p); err != nil {
			return arm, err
		}
	}
	for side, sign := range []float64{1, -1} {
		at := make([]float64, len(vs))
		for k, v := range vs {
			at[k] = v.Moved(sign * by[k])
		}
		if arm[side], err = Adjust(m, vs, at); err != nil {
			return arm, err
		}
	}
	return arm, nil
}

// turnEnough is how closely the best turn of an element is sought, a thousandth of a degree: no jig holds it better.
const turnEnough = 1e-3 * float64(quantity.Degree)

// BestTurn returns where f, of an angle between a and b, is least.
func BestTurn(f func(float64) (float64, error), a, b float64) (float64, error) {
	return fit.Golden(f, a, b, turnEnough)
}

// Split splits a path into element and parameter, the point with the parameter.
func Split(path string) (element, suffix string) {
	k := strings.LastIndexByte(path, '.')
	if k < 0 {
		return path, ""
	}
	return path[:k], path[k:]
}

// VariableOf returns the named parameter of a model, at the value it has there.
func VariableOf(m Model, path string) (*Variable, error) {
	for _, p := range m.Parameters() {
		if p.Path == path {
			return NewVariable(p)
		}
	}
	var all []string
	for _, p := range m.Parameters() {
		all = append(all, p.Path)
	}
	return nil, fmt.Errorf("the model has no parameter %q: it has %s", path, strings.Join(all, ", "))
}
