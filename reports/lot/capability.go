package lot

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Capability says how much room a process leaves to its limits: the distance from the mean to the nearer limit, over
// three standard deviations (ISO 22514-2, normal distribution). It is called Cpk of a process that is in control, and a
// performance index Ppk of any other.
type Capability struct {
	N    int
	Cp   float64 // (upper - lower)/(6 s); NaN where one limit is missing
	Cpk  float64
	Low  float64 // of the two-sided interval for Cpk
	High float64

	// Least is the one-sided lower bound of Cpk with the same confidence. For one limit it is exact.
	Least      float64
	Confidence float64
}

// NewCapability returns the capability of values with a lower limit, an upper one, or both; NaN stands for none. Its
// interval is that of Bissell (J. Roy. Statist. Soc. C 39, 331, 1990): Cpk ± z sqrt(1/(9n) + Cpk²/(2(n-1))), for a
// normal distribution and some 20 values or more. The least value for one limit is exact: 3 sqrt(n) Cpk is a noncentral
// t with n-1 degrees of freedom. Nil for fewer than two values, values that are all alike, or no limit.
func NewCapability(values []float64, lower, upper, confidence float64) *Capability {
	n := len(values)
	if n < 2 || math.IsNaN(lower) && math.IsNaN(upper) || !(confidence >= 0.5 && confidence < 1) {
		return nil
	}
	mean, s := stat.MeanStdDev(values, nil)
	if !(s > 1e-12*math.Abs(mean)) { // rounding makes a scatter of that order
		return nil
	}
	c := &Capability{N: n, Cp: (upper - lower) / (6 * s), Confidence: confidence}
	below, above := (mean-lower)/(3*s), (upper-mean)/(3*s)
	switch {
	case math.IsNaN(below):
		c.Cpk = above
	case math.IsNaN(above):
		c.Cpk = below
	default:
		c.Cpk = min(below, above)
	}
	root := math.Sqrt(1/(9*float64(n)) + c.Cpk*c.Cpk/(2*float64(n-1)))
	half := distuv.UnitNormal.Quantile((1+confidence)/2) * root
	c.Low, c.High = c.Cpk-half, c.Cpk+half
	c.Least = c.Cpk - distuv.UnitNormal.Quantile(confidence)*root
	if math.IsNaN(c.Cp) {
		c.Least = leastCapability(n, c.Cpk, confidence)
	}
	return c
}

// leastCapability returns the C for which an index as great as the one found comes with the chance 1 - confidence.
// NaN where that C is below nothing.
func leastCapability(n int, found, confidence float64) float64 {
	if found <= 0 {
		return math.NaN() // the mean is beyond the limit
	}
	// The chance that mean + 3 found s exceeds the limit falls as C rises.
	lo, hi := 0.0, found
	if beyondMean(n, 0)(3*found) < confidence {
		return math.NaN() // the least is below nothing
	}
	for range 50 {
		if mid := (lo + hi) / 2; beyondMean(n, 3*mid)(3*found) >= confidence {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
