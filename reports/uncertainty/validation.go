package uncertainty

import (
	"math"
	"strconv"
	"strings"
)

// NumericalTolerance returns half a unit of the last of the given number of significant digits of u: what a value may
// be off before its printed form suffers (JCGM 101:2008, 7.9.2). 0 for a u of 0, NaN for one that is not finite.
func NumericalTolerance(u float64, digits int) float64 {
	if u == 0 {
		return 0
	}
	if !finiteNumber(u) {
		return math.NaN()
	}
	// Rounding may carry into the next decade, 0.0996 to 0.10, and the exponent is that of what is printed.
	s := strconv.FormatFloat(math.Abs(u), 'e', digits-1, 64)
	exponent, err := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	if err != nil {
		return math.NaN()
	}
	return math.Pow(10, float64(exponent-digits+1)) / 2
}

// Validation holds the interval of linear propagation against that of the Monte Carlo method: JCGM 101:2008, clause 8.
type Validation struct {
	Low, High       float64 // of linear propagation: value less and plus its expanded uncertainty
	OffLow, OffHigh float64 // how far these are from the ends of the probabilistically symmetric interval
	Tolerance       float64 // numerical tolerance of the standard uncertainty
	Agrees          bool    // neither is off by more than the tolerance
}

// Validate compares an estimate, expanded by Student's t at the probability of s, with what s found, to so many
// significant digits of the standard uncertainty (0 means 1). Where linear propagation finds no uncertainty at all, the
// tolerance is that of the simulated one. Where the two part, linear propagation does not hold, and the interval by
// Monte Carlo is the one to use (JCGM 101:2008, 8.1.4).
func Validate(linear Estimate, s *Simulated, digits int) Validation {
	digits = max(digits, 1)
	u := CoverageFactor(s.Probability, linear.DOF) * linear.Standard
	v := Validation{Low: linear.Value - u, High: linear.Value + u, Tolerance: NumericalTolerance(linear.Standard,
		digits)}
	if linear.Standard == 0 {
		v.Tolerance = NumericalTolerance(s.Standard, digits)
	}
	v.OffLow, v.OffHigh = math.Abs(v.Low-s.Low), math.Abs(v.High-s.High)
	v.Agrees = v.OffLow <= v.Tolerance && v.OffHigh <= v.Tolerance
	return v
}
