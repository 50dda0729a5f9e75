// Package heat computes what the light that a part absorbs does to it: how warm it gets, and what becomes of light that
// passes it, by the change of its rotation across the beam, by thermal stress and by the lens that it grows.
//
// All is steady, to first order in the warming: constants are those at the temperature of the mount. A part is a
// cylinder around the beam. Its heat leaves by the mantle alone, which stands at the temperature of the mount; heat that
// leaves by the faces, or a mount that is nearer on one side, make it cooler, so that a rise is an upper bound. Averaged
// over the thickness, the temperature is that of light absorbed evenly along it, whatever the absorption.
//
// Units are SI: W, m, K, rad. The beam is Gaussian, of 1/e^2 intensity radius Waist.
package heat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Load is absorbed power in a cylinder, and where it goes.
type Load struct {
	Power        float64 // absorbed from the beam, W
	Length       float64 // over which it is absorbed, m, above 0
	Waist        float64 // 1/e^2 intensity radius of the beam, m, above 0
	Rim          float64 // radius of the mantle, m: at the temperature of the mount
	Conductivity float64 // W/(m K), above 0
}

// Absorbed returns the share of the power that a part of a power absorption coefficient, in 1/m, takes over a length.
func Absorbed(absorption, length float64) float64 { return -math.Expm1(-absorption * length) }

// narrowest is the radius of the mantle over that of the beam, at least: it holds 98.9 % of the power.
const narrowest = 1.5

// Check reports a load that cannot be: a negative power, a length, waist or conductivity that is not positive, or a
// mantle within one and a half radii of the beam.
func (l Load) Check() error {
	switch {
	case !(l.Power >= 0) || math.IsInf(l.Power, 0):
		return fmt.Errorf("absorbed power %g W must not be negative", l.Power)
	case !(l.Length > 0 && l.Waist > 0):
		return fmt.Errorf("length %g mm and beam radius %g mm must be positive", l.Length*1e3, l.Waist*1e3)
	case !(l.Conductivity > 0):
		return fmt.Errorf("thermal conductivity %g W/(m K) must be positive", l.Conductivity)
	case !(l.Rim >= narrowest*l.Waist):
		return fmt.Errorf("the radius of the part, %.4g mm, must be at least %.3g times that of the beam, %.4g mm",
			l.Rim*1e3, narrowest, l.Waist*1e3)
	}
	return nil
}

// Scale is the power absorbed per length over 4 pi times the conductivity, in K: the unit of all rises.
func (l Load) Scale() float64 { return l.Power / l.Length / (4 * math.Pi * l.Conductivity) }

// u is 2 rho^2/Waist^2, in which the beam falls as exp(-u).
func (l Load) u(rho float64) float64 { return 2 * rho * rho / (l.Waist * l.Waist) }

// At returns the rise over the mount at a distance rho from the axis, in K: radial conduction, Scale times
// Ein(u(Rim)) - Ein(u(rho)); by the heat inside rho, which is 1 - exp(-u) of all, and what it needs to flow outward.
func (l Load) At(rho float64) float64 { return l.Scale() * (Ein(l.u(l.Rim)) - Ein(l.u(rho))) }

// Peak returns the rise on the axis, in K.
func (l Load) Peak() float64 { return l.At(0) }

// Mean returns the rise averaged over the power of the beam, in K: with U for u(Rim), Scale times
// (2 Ein(U) - Ein(2U))/(1 - exp(-U)), which for a wide part is ln U + 0.5772 - ln 2.
func (l Load) Mean() float64 {
	u := l.u(l.Rim)
	return l.Scale() * (2*Ein(u) - Ein(2*u)) / -math.Expm1(-u)
}

// Ein returns the entire exponential integral, the integral from 0 to x of (1 - exp(-t))/t, for x not negative: by
// exp(-x) times the sum of x^n/n! (1 + 1/2 + ... + 1/n), whose terms are positive, and beyond 35 by
// ln x + 0.5772, which is then exact to rounding. (NIST Digital Library of Mathematical Functions 6.2.3; the series from
// memory, checked against quadrature.)
func Ein(x float64) float64 {
	const gamma, far = 0.57721566490153286, 35
	if x > far {
		return math.Log(x) + gamma
	}
	term, harmonic, sum := 1.0, 0.0, 0.0
	for n := 1; n < 200; n++ {
		term *= x / float64(n)
		harmonic += 1 / float64(n)
		sum += term * harmonic
	}
	return math.Exp(-x) * sum
}

// ringed holds the points of a quadrature over a Gaussian beam, in u, and their shares of the power.
func ringed() (u, share []float64) {
	const points, widest = 64, 30
	u, share = make([]float64, points), make([]float64, points)
	quad.Legendre{}.FixedLocations(u, share, 0, widest)
	for i := range u {
		share[i] *= math.Exp(-u[i])
	}
	return u, share
}
