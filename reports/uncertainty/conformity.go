package uncertainty

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Conformance returns the probability that the true value lies between lower and upper when y was
// measured with standard uncertainty u and nothing else is known (JCGM 106:2012, clause 7, normal
// distribution). An infinity for lower or upper makes the requirement one-sided. With u = 0 it is 0 or 1.
func Conformance(lower, upper, y, u float64) float64 {
	if u == 0 {
		if y >= lower && y <= upper {
			return 1
		}
		return 0
	}
	// From the side where the probabilities are small, so that a small risk keeps its digits.
	if a, b := (lower-y)/u, (upper-y)/u; a+b > 0 {
		return phi(-a) - phi(-b)
	} else {
		return phi(b) - phi(a)
	}
}

// Conformance returns the probability that the true value lies between lower and upper, with a t distribution where the
// standard uncertainty itself is poorly known (JCGM 101:2008, 6.4.9), else by the normal one.
func (e Estimate) Conformance(lower, upper float64) float64 {
	if !(Input{Estimate: e}).poor() || e.Standard == 0 {
		return Conformance(lower, upper, e.Value, e.Standard)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: e.DOF}
	if a, b := (lower-e.Value)/e.Standard, (upper-e.Value)/e.Standard; a+b > 0 {
		return t.CDF(-a) - t.CDF(-b)
	} else {
		return t.CDF(b) - t.CDF(a)
	}
}

func phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// Risks returns the global risks of accepting what is measured between acceptLow and acceptHigh when the
// true values are distributed normally with prior's value and standard uncertainty, conforming between
// low and high, and are measured with standard uncertainty u: consumer is the probability that an item
// is accepted and does not conform, producer that it is rejected and conforms (JCGM 106:2012, clause 9).
func Risks(prior Estimate, low, high, acceptLow, acceptHigh, u float64) (consumer, producer float64, err error) {
	if !(prior.Standard > 0) || !(u > 0) || !(low < high) || !(acceptLow < acceptHigh) {
		return 0, 0, fmt.Errorf("risks need a prior and a measurement with uncertainty, and limits in rising order")
	}
	n := distuv.Normal{Mu: prior.Value, Sigma: prior.Standard}
	accepted := func(x float64) float64 { return n.Prob(x) * Conformance(acceptLow, acceptHigh, x, u) }
	rejected := func(x float64) float64 { return n.Prob(x) * (1 - Conformance(acceptLow, acceptHigh, x, u)) }
	// Nothing of a normal distribution that a float64 could add lies beyond 9 standard deviations.
	first, last := prior.Value-9*prior.Standard, prior.Value+9*prior.Standard
	from, to := min(max(low, first), last), max(min(high, last), first)
	consumer = integrate(accepted, first, from, min(u, prior.Standard)) + integrate(accepted, to, last,
		min(u, prior.Standard))
	producer = integrate(rejected, from, to, min(u, prior.Standard))
	return consumer, producer, nil
}

// integrate takes panels no wider than the narrowest feature, sixteen Gauss-Legendre points in each.
func integrate(f func(float64) float64, a, b, feature float64) float64 {
	if !(b > a) {
		return 0
	}
	panels := min(int(math.Ceil((b-a)/feature)), 10000)
	sum, h := 0.0, (b-a)/float64(panels)
	for i := range panels {
		sum += quad.Fixed(f, a+float64(i)*h, a+float64(i+1)*h, 16, quad.Legendre{}, 1)
	}
	return sum
}

// ExpectedMinimum returns the mean of the least of independent normal readings with the given true values
// and standard uncertainties: what a raw minimum is expected to show, which is less than the least true
// value. NaN without readings.
func ExpectedMinimum(values, u []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	// Above high some reading is almost surely lower; below low none is.
	low, high := math.Inf(1), math.Inf(1)
	for i, v := range values {
		low = min(low, v-8*u[i])
		high = min(high, v+8*u[i])
	}
	var near []int
	feature := math.Inf(1)
	for i, v := range values {
		if v-8*u[i] < high {
			near = append(near, i)
			if u[i] > 0 {
				feature = min(feature, u[i])
			}
		}
	}
	if math.IsInf(feature, 1) {
		return high
	}
	above := func(x float64) float64 {
		p := 1.0
		for _, i := range near {
			if p == 0 {
				break
			}
			p *= Conformance(x, math.Inf(1), values[i], u[i])
		}
		return p
	}
	// The survival function falls from 1 to 0 over a fraction of an uncertainty when there are many.
	return low + integrate(above, low, high, feature/2)
}
