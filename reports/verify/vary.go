package verify

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
)

// vary is a parameter as the fit sees it. An extinction ratio is fitted as the fraction of light in the
// wrong polarization, q = 1/(1+ER): the leak is linear in it, where in decibels the fit would have a
// plateau. All others are fitted by their SI value.
type vary struct {
	path    string
	nominal quantity.Quantity
	leak    bool
	angle   bool
	at      float64 // nominal, as fitted
	step    float64 // for derivatives
	lo, hi  float64
}

const (
	// leastLeak stands for no leak at all, 90 dB: far below what any fixture can show.
	leastLeak = 1e-9
	// mostLeak is next to half the light: there a film has no extinction ratio left.
	mostLeak = 0.4999
	// reach bounds the fit of an angle about its nominal: beyond, other wells begin.
	reach = 15 * float64(quantity.Degree)
)

func newVary(p Parameter) (*vary, error) {
	v := &vary{path: p.Path, nominal: p.Value, lo: math.Inf(-1), hi: math.Inf(1)}
	si := p.Value.SI()
	switch {
	case strings.HasSuffix(p.Path, ".extinction") && p.Value.Dimension() == quantity.OfLevel:
		v.leak = true
		v.lo, v.hi = leastLeak, mostLeak
		v.at = min(max(tolerance.Leak(si), v.lo), v.hi)
		v.step = max(1e-3*v.at, 1e-8)
		if math.IsInf(si, 1) { // a report cannot print infinity; the fit's own end of the scale stands for it
			v.nominal = quantity.Of(-quantity.Decibels(leastLeak), "dB")
		}
		return v, nil
	case math.IsNaN(si) || math.IsInf(si, 0):
		return nil, fmt.Errorf("parameter %s is %s and cannot be varied", p.Path, p.Value)
	case p.Value.Dimension() == quantity.OfAngle:
		v.angle = true
		v.lo, v.hi = si-reach, si+reach
		v.step = 1e-5
	default:
		v.step = 1e-4 * math.Abs(si)
		if v.step == 0 {
			v.step = 1e-6
		}
		if tolerance.NotBelowZero(p.Path, p.Value) {
			v.lo = 0
		}
	}
	v.at = si
	return v, nil
}

// around returns values one step from x to either side, or up to a bound.
func (v *vary) around(x float64) (up, down float64) {
	return min(x+v.step, v.hi), max(x-v.step, v.lo)
}

// beside returns a value one step from x, downwards where the upper bound is nearer than that.
func (v *vary) beside(x float64) float64 {
	if x+v.step <= v.hi {
		return x + v.step
	}
	return max(x-v.step, v.lo)
}

// quantity returns the parameter at the fitted value x, in the unit it was written in.
func (v *vary) quantity(x float64) quantity.Quantity {
	if v.leak {
		return quantity.FromSI(tolerance.Extinction(min(max(x, v.lo), v.hi)), v.nominal.Unit)
	}
	return quantity.FromSI(min(max(x, v.lo), v.hi), v.nominal.Unit)
}

// adjusted returns the model with the parameters at x.
func adjusted(m Model, vs []*vary, x []float64) (Model, error) {
	if len(vs) == 0 {
		return m, nil
	}
	values := make(map[string]quantity.Quantity, len(vs))
	for j, v := range vs {
		values[v.path] = v.quantity(x[j])
	}
	return m.Adjusted(values)
}

// moved returns where the parameter is, as fitted, when it departs from its nominal value by that much in SI units: a
// level departs in dB.
func (v *vary) moved(by float64) float64 {
	x := v.at + by
	if v.leak {
		x = tolerance.Leak(v.nominal.SI() + by)
	}
	return min(max(x, v.lo), v.hi)
}

// displaced is how far that is from where it is fitted as nominal.
func (v *vary) displaced(by float64) float64 { return v.moved(by) - v.at }

// arms moves the parameters by plus and minus the SI differences given.
func arms(m Model, ps []Parameter, by []float64) (arm [2]Model, err error) {
	vs := make([]*vary, len(ps))
	for k, p := range ps {
		if vs[k], err = newVary(p); err != nil {
			return arm, err
		}
	}
	for side, sign := range []float64{1, -1} {
		at := make([]float64, len(vs))
		for k, v := range vs {
			at[k] = v.moved(sign * by[k])
		}
		if arm[side], err = adjusted(m, vs, at); err != nil {
			return arm, err
		}
	}
	return arm, nil
}
