package tolerance

import (
	"fmt"
	"math"
	"strings"

	"wedgework/optics/quantity"
)

// Axis is a parameter on the scale on which figures depend on it most plainly: an extinction ratio ER as the fraction
// of light in the wrong polarization, q = 1/(1+ER), which the leakage is linear in; all others by their SI value.
type Axis struct {
	Path    string
	Nominal quantity.Quantity
	Leak    bool    // an extinction ratio
	At      float64 // the nominal value on the scale
	Lo, Hi  float64 // between which the parameter has a meaning
}

// Darkest stands for no leakage at all, 90 dB: far below what any fixture can show.
const Darkest = 1e-9

// Leak returns the fraction of the power in the wrong polarization, from 0 to 1, at an extinction ratio in dB: 1/(1 +
// ER), 0 at +Inf dB.
func Leak(dB float64) float64 { return 1 / (1 + quantity.Ratio(dB)) }

// Extinction returns the extinction ratio in dB at a fraction of the power in the wrong polarization: the inverse of
// Leak.
func Extinction(leak float64) float64 { return quantity.Decibels(1/leak - 1) }

// NewAxis returns the axis of a parameter. An infinite extinction ratio, which no report can print, is taken as 90 dB.
func NewAxis(path string, value quantity.Quantity) (*Axis, error) {
	a := &Axis{Path: path, Nominal: value, At: value.SI(), Lo: math.Inf(-1), Hi: math.Inf(1)}
	if strings.HasSuffix(path, ".extinction") && value.Dimension() == quantity.OfLevel {
		a.Leak, a.Lo = true, Darkest
		if math.IsInf(a.At, 1) {
			a.Nominal = quantity.Of(-quantity.Decibels(Darkest), "dB")
		}
		a.At = max(Leak(a.At), Darkest)
		return a, nil
	}
	if math.IsNaN(a.At) || math.IsInf(a.At, 0) {
		return nil, fmt.Errorf("parameter %s is %s and cannot be varied", path, value)
	}
	if NotBelowZero(path, value) {
		a.Lo = 0
	}
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

// Moved returns where on the scale the parameter is when it departs from its nominal value by that much in SI units, a
// level in dB.
func (a *Axis) Moved(by float64) float64 {
	x := a.At + by
	if a.Leak {
		x = Leak(a.Nominal.SI() + by)
	}
	return min(max(x, a.Lo), a.Hi)
}

// Displaced is how far that is from the nominal value, on the scale.
func (a *Axis) Displaced(by float64) float64 {
	if x := a.At + by; !a.Leak && a.Lo <= x && x <= a.Hi {
		return by
	}
	return a.Moved(by) - a.At
}

// value returns the parameter at a displacement in SI units, a level in dB.
func (a *Axis) value(by float64) float64 {
	one := [1]float64{by}
	a.values(one[:])
	return one[0]
}

// values turns displacements into parameters.
func (a *Axis) values(all []float64) {
	for i, by := range all {
		all[i] = min(max(a.At+by, a.Lo), a.Hi)
	}
	if a.Leak {
		for i, x := range all {
			all[i] = Extinction(x)
		}
	}
}

// Quantity returns the parameter at x on the scale, in the unit it was written in.
func (a *Axis) Quantity(x float64) quantity.Quantity {
	x = min(max(x, a.Lo), a.Hi)
	if a.Leak {
		x = Extinction(x)
	}
	return quantity.FromSI(x, a.Nominal.Unit)
}
