package uncertainty_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/reports/uncertainty"
)

// TestConformance holds the examples of JCGM 106:2012, clause 7: an upper limit, a lower limit, and an
// interval.
func TestConformance(t *testing.T) {
	for _, c := range []struct{ lower, upper, y, u, want float64 }{
		{math.Inf(-1), -5.40, -5.47, 0.05, 0.919},
		{490, math.Inf(1), 509.7, 8.6, 0.989},
		{12.5, 16.3, 13.6, 1.8, 0.663},
	} {
		near(t, "conformance probability", uncertainty.Conformance(c.lower, c.upper, c.y, c.u), c.want, 0.001)
	}
	// With one degree of freedom t is Cauchy's distribution, whose quartiles are one scale away.
	poor := uncertainty.Estimate{Value: 30, Standard: 0.2, DOF: 1}
	near(t, "above the lower quartile", poor.Conformance(29.8, math.Inf(1)), 0.75, 1e-12)
	near(t, "below the upper quartile", poor.Conformance(math.Inf(-1), 30.2), 0.75, 1e-12)
	near(t, "between the quartiles", poor.Conformance(29.8, 30.2), 0.5, 1e-12)
	near(t, "well known", uncertainty.Estimate{Value: 30, Standard: 0.2}.Conformance(29.6, 30.4),
		uncertainty.Confidence, 1e-12)
	// Exact cases: on the limit it is one half; without uncertainty it is 0 or 1; far off it keeps digits.
	near(t, "on the limit", uncertainty.Conformance(30, math.Inf(1), 30, 0.2), 0.5, 1e-15)
	near(t, "certain", uncertainty.Conformance(30, math.Inf(1), 30, 0), 1, 0)
	near(t, "certainly not", uncertainty.Conformance(30, math.Inf(1), 29.99, 0), 0, 0)
	near(t, "ten sigma outside, relative", uncertainty.Conformance(30, math.Inf(1), 20, 1)/7.619853e-24, 1, 1e-6)
}

// TestRisks is the resistor example of JCGM 106:2012, clause 9 (recomputed to more digits than printed:
// 0.01 and 0.07), with the prior probability of conformance.
func TestRisks(t *testing.T) {
	prior := uncertainty.Estimate{Value: 1500, Standard: 0.12}
	near(t, "prior conformance", uncertainty.Conformance(1499.8, 1500.2, 1500, 0.12), 0.9044, 0.0001)
	consumer, producer, err := uncertainty.Risks(prior, 1499.8, 1500.2, 1499.82, 1500.18,
		uncertainty.Estimate{Standard: 0.04})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "consumer's risk", consumer, 0.00988, 5e-5)
	near(t, "producer's risk", producer, 0.06903, 5e-5)
	// A measurement much worse than the production is narrow: the same integrals by the trapezoidal rule, 200,000 steps
	// over twelve standard deviations of the production.
	prior = uncertainty.Estimate{Value: 10, Standard: 0.02}
	const low, high, u = 10.16, 10.17, 5.0 // hardly a unit conforms
	consumer, producer, err = uncertainty.Risks(prior, low, high, 9, 11, uncertainty.Estimate{Standard: u})
	if err != nil {
		t.Fatal(err)
	}
	wantConsumer, wantProducer := 0.0, 0.0
	const steps = 200000
	h := 12 * prior.Standard / steps
	for i := range steps + 1 {
		x := prior.Value - 6*prior.Standard + float64(i)*h
		z := (x - prior.Value) / prior.Standard
		p := math.Exp(-z*z/2) / prior.Standard / math.Sqrt(2*math.Pi) * h
		accepted := (math.Erf((11-x)/u/math.Sqrt2) - math.Erf((9-x)/u/math.Sqrt2)) / 2
		if x >= low && x <= high {
			wantProducer += p * (1 - accepted)
		} else {
			wantConsumer += p * accepted
		}
	}
	near(t, "consumer's risk of a poor measurement", consumer, wantConsumer, 1e-7)
	near(t, "producer's risk of a poor measurement", producer, wantProducer, 1e-7)
	_, _, err = uncertainty.Risks(uncertainty.Estimate{Value: 1}, 0, 1, 0, 1, uncertainty.Estimate{Standard: 0.1})
	if err == nil {
		t.Error("a prior without uncertainty: expected an error")
	}
}

// TestExpectedMinimum: the mean of the least of n standard normal variables is tabulated for n = 2 and 5
// (1/sqrt pi, and 1.16296; Harter, Biometrika 48, 151, 1961); for 401 readings of 0.1 dB the bias is about
// -0.3 dB.
func TestExpectedMinimum(t *testing.T) {
	flat := func(n int, u float64) float64 {
		v, s := make([]float64, n), make([]float64, n)
		for i := range v {
			v[i], s[i] = 40, u
		}
		return uncertainty.ExpectedMinimum(v, s) - 40
	}
	near(t, "two", flat(2, 1), -1/math.Sqrt(math.Pi), 1e-9)
	near(t, "five", flat(5, 1), -1.16296, 1e-5)
	near(t, "401 at 0.1 dB", flat(401, 0.1), -0.3, 0.005)
	near(t, "no noise", flat(3, 0), 0, 0)
	near(t, "one", uncertainty.ExpectedMinimum([]float64{7}, []float64{0.3}), 7, 1e-9)
	if got := uncertainty.ExpectedMinimum(nil, nil); !math.IsNaN(got) {
		t.Errorf("no readings: got %g, want NaN", got)
	}
	// A curve with unequal noise, against trials: 200,000 of them are good to 0.001.
	values, u := []float64{30, 30.2, 30.4, 31, 35}, []float64{0.1, 0.3, 0.2, 0.5, 1}
	rng := rand.New(rand.NewPCG(1, 2))
	sum, trials := 0.0, 200000
	for range trials {
		least := math.Inf(1)
		for i := range values {
			least = min(least, values[i]+u[i]*rng.NormFloat64())
		}
		sum += least
	}
	near(t, "against trials", uncertainty.ExpectedMinimum(values, u), sum/float64(trials), 0.002)
}
