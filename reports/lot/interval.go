package lot

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// OneSided returns the factor k by which mean - k s, or mean + k s, of n normally distributed values bounds the
// proportion p of the population with confidence c (ISO 16269-6, mean and variance unknown): the c-quantile of a
// noncentral t with n-1 degrees of freedom and noncentrality z_p sqrt(n), over sqrt(n). It is worked out as the k for
// which the chance that s exceeds (z_p - x)/k, averaged over the error x of the mean, is c. NaN unless n >= 2, 0.5 <= p
// < 1 and 0.5 <= c < 1.
func OneSided(n int, p, c float64) float64 {
	if !sensible(n, p, c) {
		return math.NaN()
	}
	z := distuv.UnitNormal.Quantile(p)
	return solve(beyondMean(n, z), c)
}

// beyondMean returns, as a function of k, the chance that mean + k s of n normally distributed values exceeds the point
// that lies z standard deviations above the mean of the population: the distribution function of a noncentral t with
// n-1 degrees of freedom and noncentrality z sqrt(n), at k sqrt(n).
func beyondMean(n int, z float64) func(k float64) float64 {
	nu := float64(n - 1)
	chi := distuv.ChiSquared{K: nu}
	root := math.Sqrt(float64(n))
	// Where the mean alone is beyond the quantile, any s will do; the integrand has a corner there.
	corner := min(z*root, ends)
	at, weight := make([]float64, points), make([]float64, points)
	quad.Legendre{}.FixedLocations(at, weight, -ends, corner)
	return func(k float64) float64 {
		sum := distuv.UnitNormal.Survival(corner)
		for i, x := range at {
			r := z - x/root
			sum += weight[i] * distuv.UnitNormal.Prob(x) * chi.Survival(nu*r*r/(k*k))
		}
		return sum
	}
}

// The error of a mean is averaged over so many of its standard deviations, beyond which nothing counts, at so many
// points.
const ends, points = 8.5, 96

// TwoSided returns the factor k by which mean ± k s of n normally distributed values encloses the proportion p of the
// population with confidence c (ISO 16269-6, annex with exact factors for unknown mean and variance): the k for which
// the chance that s exceeds R(x)/k, averaged over the error x of the mean, is c; an interval of half-width R about a
// mean that is off by x encloses p: Phi(x+R) - Phi(x-R) = p (K. Krishnamoorthy and T. Mathew, Statistical Tolerance
// Regions, Wiley 2009, section 2.3). NaN outside the domain of OneSided.
func TwoSided(n int, p, c float64) float64 {
	if !sensible(n, p, c) {
		return math.NaN()
	}
	nu := float64(n - 1)
	chi := distuv.ChiSquared{K: nu}
	root := math.Sqrt(float64(n))
	// R does not depend on k.
	at, weight := make([]float64, points), make([]float64, points)
	quad.Legendre{}.FixedLocations(at, weight, 0, ends)
	half := make([]float64, points)
	for i, x := range at {
		half[i] = enclosing(x/root, p)
	}
	return solve(func(k float64) float64 {
		sum := 0.0
		for i, x := range at {
			sum += weight[i] * 2 * distuv.UnitNormal.Prob(x) * chi.Survival(nu*half[i]*half[i]/(k*k))
		}
		return sum
	}, c)
}

func sensible(n int, p, c float64) bool {
	return n >= 2 && p >= 0.5 && p < 1 && c >= 0.5 && c < 1
}

// enclosing returns R with Phi(x+R) - Phi(x-R) = p.
func enclosing(x, p float64) float64 {
	return solve(func(r float64) float64 { return distuv.UnitNormal.CDF(x+r) - distuv.UnitNormal.CDF(x-r) }, p)
}

// solve returns where a rising function of positive numbers has a value, by doubling and bisection.
func solve(f func(float64) float64, value float64) float64 {
	lo, hi := 0.0, 1.0
	for f(hi) < value {
		lo, hi = hi, 2*hi
		if hi > 1e9 {
			return math.NaN()
		}
	}
	for range 60 {
		if mid := (lo + hi) / 2; f(mid) < value {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Sides says on how many sides an interval has an end.
type Sides int

// Lower has an end below, Upper above, Both on both sides.
const (
	Lower Sides = iota + 1
	Upper
	Both
)

// FreeConfidence returns with what confidence the least, the greatest or both extremes of n values bound the proportion
// p of a population of any continuous distribution (ISO 16269-6, distribution-free): 1 - p^n, or for both 1 - n p^(n-1)
// + (n-1) p^n. NaN unless n >= 1 and 0 < p < 1.
func FreeConfidence(n int, p float64, s Sides) float64 {
	if n < 1 || !(p > 0 && p < 1) {
		return math.NaN()
	}
	m := float64(n)
	if s == Both {
		return 1 - m*math.Pow(p, m-1) + (m-1)*math.Pow(p, m)
	}
	return 1 - math.Pow(p, m)
}

// FreeProportion returns the proportion that the extremes of n values bound with confidence c, whatever the
// distribution. NaN unless n >= 1, for both extremes 2, and 0 < c < 1.
func FreeProportion(n int, c float64, s Sides) float64 {
	if n < 1 || s == Both && n < 2 || !(c > 0 && c < 1) {
		return math.NaN()
	}
	// The confidence falls with the proportion.
	return 1 - solve(func(q float64) float64 {
		if q >= 1 {
			return 1
		}
		return FreeConfidence(n, 1-q, s)
	}, c)
}

// FreeSize returns how many values are needed for their extremes to bound the proportion p with confidence c, whatever
// the distribution (ISO 16269-6; 59 and 93 for 95 % with 95 %). 0 outside 0 < p < 1 and 0 < c < 1.
func FreeSize(p, c float64, s Sides) int {
	if !(p > 0 && p < 1) || !(c > 0 && c < 1) {
		return 0
	}
	n := 1
	for FreeConfidence(n, p, s) < c {
		n++
	}
	return n
}

// Interval is a statistical tolerance interval of a figure over units.
type Interval struct {
	Sides                  Sides
	Proportion, Confidence float64
	K                      float64 // 0: fewer than two values
	Low, High              float64 // mean -/+ K s; 0 on the side without an end
	// FreeProportion is what lies beyond the extreme values, or between them, with the same confidence and whatever the
	// distribution. FreeSize is how many units would raise it to Proportion.
	FreeProportion float64
	FreeSize       int
}

// Coverage is what an interval is to hold, and how surely.
type Coverage struct{ Proportion, Confidence float64 }

// Usual is the coverage unless another is declared: 95 % of the units with 95 % confidence.
var Usual = Coverage{0.95, 0.95}

// Check reports a coverage outside what the factors are worked out for.
func (c Coverage) Check() error {
	if !sensible(2, c.Proportion, c.Confidence) {
		return fmt.Errorf("a tolerance interval for %g %% with %g %% confidence: expected 50 %% or more of each, and "+
			"less than 100 %%", 100*c.Proportion, 100*c.Confidence)
	}
	return nil
}

// interval works one out for values with a mean and a standard deviation.
func (c Coverage) interval(n int, mean, deviation float64, s Sides) Interval {
	v := Interval{Sides: s, Proportion: c.Proportion, Confidence: c.Confidence, FreeSize: FreeSize(c.Proportion,
		c.Confidence, s)}
	if n < 2 {
		return v
	}
	v.FreeProportion = FreeProportion(n, c.Confidence, s)
	if s == Both {
		v.K = TwoSided(n, c.Proportion, c.Confidence)
	} else {
		v.K = OneSided(n, c.Proportion, c.Confidence)
	}
	if s != Upper {
		v.Low = mean - v.K*deviation
	}
	if s != Lower {
		v.High = mean + v.K*deviation
	}
	return v
}
