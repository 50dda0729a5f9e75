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

// Risks returns the global risks of accepting what is measured between acceptLow and acceptHigh when the true values
// are distributed normally with prior's value and standard uncertainty, conforming between low and high, and are
// measured with error, whose standard uncertainty and degrees of freedom count: consumer is the probability that an
// item is accepted and does not conform, producer that it is rejected and conforms (JCGM 106:2012, clause 9). An error
// whose standard uncertainty is itself known from few observations has Student's t distribution scaled by it (JCGM
// 101:2008, 6.4.9): what is then known of the error is wider than normal, and so is the risk.
func Risks(prior Estimate, low, high, acceptLow, acceptHigh float64, error Estimate) (consumer, producer float64,
	err error) {
	if !(prior.Standard > 0) || !(error.Standard > 0) || !(low < high) || !(acceptLow < acceptHigh) {
		return 0, 0, fmt.Errorf("risks need a prior and a measurement with uncertainty, and limits in rising order")
	}
	n := distuv.Normal{Mu: prior.Value, Sigma: prior.Standard}
	accept := func(x float64) float64 {
		return Estimate{x, error.Standard, error.DOF}.Conformance(acceptLow, acceptHigh)
	}
	accepted := func(x float64) float64 { return n.Prob(x) * accept(x) }
	rejected := func(x float64) float64 { return n.Prob(x) * (1 - accept(x)) }
	feature := min(error.Standard, prior.Standard)
	first, last := prior.reach()
	from, to := min(max(low, first), last), max(min(high, last), first)
	consumer = integrate(accepted, first, from, feature) + integrate(accepted, to, last, feature)
	producer = integrate(rejected, from, to, feature)
	return consumer, producer, nil
}

// reach is where a normal distribution is: nothing of it that a float64 could add lies beyond 9 standard deviations.
func (e Estimate) reach() (first, last float64) {
	return e.Value - 9*e.Standard, e.Value + 9*e.Standard
}

// Posterior returns the probability that an item lies between low and high when it was measured as figure says and the
// true values are distributed normally with prior's value and standard uncertainty (JCGM 106:2012, 7.2). Two normal
// distributions multiply to one whose weights add (clause 6 and annex A there); with few degrees of freedom the figure
// has Student's t distribution (JCGM 101:2008, 6.4.9), and the product is integrated.
func Posterior(prior, figure Estimate, low, high float64) float64 {
	if !(Input{Estimate: figure}).poor() {
		a, b := 1/(prior.Standard*prior.Standard), 1/(figure.Standard*figure.Standard)
		return Conformance(low, high, (a*prior.Value+b*figure.Value)/(a+b), 1/math.Sqrt(a+b))
	}
	n := distuv.Normal{Mu: prior.Value, Sigma: prior.Standard}
	t := distuv.StudentsT{Mu: figure.Value, Sigma: figure.Standard, Nu: figure.DOF}
	product := func(x float64) float64 { return n.Prob(x) * t.Prob(x) }
	feature := min(figure.Standard, prior.Standard)
	first, last := prior.reach()
	from, to := min(max(low, first), last), max(min(high, last), first)
	inside := integrate(product, from, to, feature)
	outside := integrate(product, first, from, feature) + integrate(product, to, last, feature)
	return inside / (inside + outside)
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
