package tolerance

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/optics/stack"
)

// axis is a toleranced parameter on the scale on which figures depend on it most simply: an extinction ratio as the
// fraction of light in the wrong polarization, in which the leakage is linear, all others by their SI value.
// Displacements are from the nominal value on that scale.
type axis struct {
	path      string
	nominal   quantity.Quantity
	leak      bool
	at        float64
	bounded   bool // nothing has a meaning below zero
	tolerance Tolerance
}

// darkest stands for no leak at all, 90 dB.
const darkest = 1e-9

// Leak returns the fraction of the power in the wrong polarization, from 0 to 1, at an extinction ratio in dB: 1/(1 +
// ER), 0 at +Inf dB.
func Leak(dB float64) float64 { return 1 / (1 + quantity.Ratio(dB)) }

// Extinction returns the extinction ratio in dB at a fraction of the power in the wrong polarization: the inverse of
// Leak.
func Extinction(leak float64) float64 { return quantity.Decibels(1/leak - 1) }

func newAxis(p stack.Parameter, t Tolerance) (*axis, error) {
	a := &axis{path: p.Path, nominal: p.Value, at: p.Value.SI(), tolerance: t}
	if got, want := t.Value.Dimension(), p.Value.Dimension(); got != want {
		return nil, fmt.Errorf("tolerance of %s: got %s, want one in the dimension of %s", p.Path, t.Value, p.Value)
	}
	if strings.HasSuffix(p.Path, ".extinction") && p.Value.Dimension() == quantity.OfLevel {
		a.leak = true
		a.at = max(Leak(p.Value.SI()), darkest)
		return a, nil
	}
	if math.IsNaN(a.at) || math.IsInf(a.at, 0) {
		return nil, fmt.Errorf("%s is %s and has no tolerance", p.Path, p.Value)
	}
	a.bounded = NotBelowZero(p.Path, p.Value)
	return a, nil
}

// NotBelowZero reports whether a parameter has no meaning below zero: thicknesses, reflectances and waists have none,
// nor has a remanence the other sign. Angles, the coefficients of a film and the position of a magnet do. value is
// the nominal one.
func NotBelowZero(path string, value quantity.Quantity) bool {
	switch value.Dimension() {
	case quantity.OfAngle, quantity.OfAnglePerKelvin, quantity.OfAnglePerLength:
		return false
	}
	return value.SI() >= 0 && !strings.HasSuffix(path, ".magnet_position")
}

// displaced returns the displacement of a departure in SI units, a level's in dB.
func (a *axis) displaced(by float64) float64 {
	switch x := a.at + by; {
	case a.leak:
		level := a.nominal.SI()
		if math.IsInf(level, 1) {
			level = Extinction(darkest)
		}
		return max(Leak(level+by), darkest) - a.at
	case a.bounded:
		return max(x, 0) - a.at
	}
	return by
}

// quantity returns the parameter at a displacement, in the unit it was written in.
func (a *axis) quantity(x float64) quantity.Quantity {
	if a.leak {
		return quantity.FromSI(Extinction(a.at+x), a.nominal.Unit)
	}
	return quantity.FromSI(a.at+x, a.nominal.Unit)
}

// quantile is the displacement at a quantile of the tolerance.
func (a *axis) quantile(p float64) float64 { return a.displaced(a.tolerance.Quantile(p)) }
