package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Modulus is the length of a vector whose components were read with normal noise: a figure such as a PDL or a DGD,
// which noise alone makes positive. The squared length of vector and noise together, of the length r and the noise
// covariance C, has the mean r^2 + tr C and the variance 4 n^T C n r^2 + 2 tr C^2, with n the direction. A non-central
// chi-squared distribution of that mean and variance stands for it (P. B. Patnaik, Biometrika 36, 202 (1949)): with
// equal noise in all components it is exact, Rice's for two and Maxwell's about zero for three.
type Modulus struct {
	Length float64 // as read: of vector and noise
	Trace  float64 // tr C
	Square float64 // tr C^2
	Radial float64 // n^T C n
}

// Isotropic returns the modulus of a vector with the standard uncertainty u in each of its components.
func Isotropic(length, u float64, components int) Modulus {
	n := float64(components)
	return Modulus{length, n * u * u, n * u * u * u * u, u * u}
}

// Unbiased returns the length with the expected share of the noise taken off its square, 0 where noise explains it all.
func (m Modulus) Unbiased() float64 { return math.Sqrt(max(0, m.Length*m.Length-m.Trace)) }

// Standard returns the standard uncertainty of the length along its direction; near zero, where there is none, that of
// a component in the mean.
func (m Modulus) Standard() float64 { return math.Sqrt(m.scale(m.Unbiased())) }

// scale is the variance per degree of freedom where the true length is r.
func (m Modulus) scale(r float64) float64 {
	if m.Trace == 0 {
		return m.Radial
	}
	return (4*r*r*m.Radial + 2*m.Square) / (4*r*r + 2*m.Trace)
}

// Below returns the probability of so small a length if the true one is r.
func (m Modulus) Below(r float64) float64 {
	s := m.scale(r)
	if s == 0 {
		if m.Length < r {
			return 0
		}
		return 1
	}
	return noncentral(m.Length*m.Length/s, m.Trace/s, r*r/s)
}

// Interval returns an interval that holds the true length with the probability p, whatever that length is. The true
// lengths in it are those under which the length read is none of the least or greatest ones, of probability 1 - p
// together; towards zero, which no reading is too small for, all of that goes to the greatest (as in the unified
// intervals of G. J. Feldman and R. D. Cousins, Phys. Rev. D 57, 3873 (1998), and with their coverage).
func (m Modulus) Interval(p float64) (low, high float64) {
	s := math.Sqrt(max(m.scale(0), m.scale(m.Length)))
	if s == 0 {
		return m.Length, m.Length
	}
	tail := func(r float64) float64 { return (1 - p) / 2 * -math.Expm1(-r*r/(2*m.scale(r))) }
	tooSmall := func(r float64) bool { return m.Below(r) < tail(r) } // for the true length r
	tooLarge := func(r float64) bool { return m.Below(r) > p+tail(r) }
	reach := m.Length + 10*s
	low = 0
	if tooLarge(0) {
		low = border(0, reach, func(r float64) bool { return !tooLarge(r) })
	}
	return low, border(low, reach, tooSmall)
}

// Quantile returns the true length at a probability p of its confidence distribution: the upper end of the interval
// from zero on that holds the true length with the probability p, 0 where so small a length was to be expected of noise
// alone (D. R. Cox, Annals of Mathematical Statistics 29, 357 (1958)).
func (m Modulus) Quantile(p float64) float64 {
	s := math.Sqrt(max(m.scale(0), m.scale(m.Length)))
	switch {
	case s == 0:
		return m.Length
	case m.Below(0) <= 1-p:
		return 0
	}
	return border(0, m.Length+10*s, func(r float64) bool { return m.Below(r) <= 1-p })
}

// border returns where a condition begins to hold between two lengths.
func border(from, to float64, holds func(float64) bool) float64 {
	for range 40 {
		mid := (from + to) / 2
		if holds(mid) {
			to = mid
		} else {
			from = mid
		}
	}
	return to
}

// noncentral is the distribution function of the non-central chi-squared distribution: a mixture of central ones by
// Poisson weights, and for large arguments the normal approximation of a power, in error by less than 1e-4 there (M.
// Sankaran, Biometrika 50, 199 (1963)).
func noncentral(x, freedom, lambda float64) float64 {
	const large = 400
	if lambda > large {
		a, b, c := freedom+lambda, freedom+2*lambda, freedom+3*lambda
		h := 1 - 2*a*c/(3*b*b)
		p := b / (a * a)
		m := (h - 1) * (1 - 3*h)
		return distuv.UnitNormal.CDF((math.Pow(x/a, h) - (1 + h*p*(h-1-0.5*(2-h)*m*p))) / (h * math.Sqrt(2*p) * (1 +
			0.5*m*p)))
	}
	sum, seen := 0.0, 0.0
	middle := math.Floor(lambda / 2)
	add := func(k float64) bool {
		lg, _ := math.Lgamma(k + 1)
		w := math.Exp(-lambda/2 - lg)
		if k > 0 {
			w = math.Exp(-lambda/2 + k*math.Log(lambda/2) - lg)
		}
		sum += w * mathext.GammaIncReg(freedom/2+k, x/2)
		seen += w
		return w > 1e-15
	}
	for k := middle; add(k); k++ {
	}
	for k := middle - 1; k >= 0 && add(k); k-- {
	}
	return sum / seen
}
