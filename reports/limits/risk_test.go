package limits_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.8g, want %.8g within %g", what, got, want, tolerance)
	}
}

// TestGuardBandByU: a figure inside by exactly U = 2u conforms with at least 97.7 % (ISO 14253-1 and JCGM 106:2012,
// 8.3.2, from memory; the value is that of the normal distribution at 2).
func TestGuardBandByU(t *testing.T) {
	// Values that float64 holds exactly, so that the margin is U to the last bit.
	d := limits.Decide(isolation, uncertainty.Estimate{Value: 30.5, Standard: 0.25})
	near(t, "U", d.Expanded, 0.5, 1e-12)
	near(t, "conformance", d.Conformance, 0.97725, 5e-6)
	near(t, "false acceptance", limits.Decide(isolation, uncertainty.Estimate{Value: 30.5001,
		Standard: 0.25}).FalseAcceptance(), 0.02275, 5e-5)
	d = limits.Decide(isolation, uncertainty.Estimate{Value: 29, Standard: 0.25})
	near(t, "false rejection", d.FalseRejection(), 3.17e-5, 1e-7) // 1 - Phi(4), Abramowitz and Stegun, table 26.1
	near(t, "false acceptance of what failed", d.FalseAcceptance(), 0, 0)
}

// TestSpeed is the guarded rejection of JCGM 106:2012, 8.3.3 (from memory): a speed limit of 100 km/h, speeds measured
// to 2 %, and a fine only with 99.9 % of certainty: from 107 km/h on. One-sided, the guard factor on U = 2u is 3.09/2.
func TestSpeed(t *testing.T) {
	limit := limits.Limit{Value: 100, Rule: &limits.Rule{Guard: 3.0902 / 2}}
	for v, want := range map[float64]document.Outcome{106: document.Undecided, 107: document.Fail, 90: document.Pass} {
		d := limits.Decide(limit, uncertainty.Estimate{Value: v, Standard: 0.02 * v})
		if d.Outcome != want {
			t.Errorf("%g km/h: got %v, want %v", v, d.Outcome, want)
		}
		if d.Outcome == document.Fail && d.FalseRejection() > 0.001 {
			t.Errorf("%g km/h: fined with a risk of %g", v, d.FalseRejection())
		}
	}
}

// TestGlobalRisk compares the risks under a prior with a million units drawn from it.
func TestGlobalRisk(t *testing.T) {
	for _, guard := range []float64{0, 0.5, 1} {
		l := isolation
		l.Rule = &limits.Rule{Guard: guard}
		l.Prior = &limits.Prior{Name: "drawn", Mean: 31, Standard: 0.8}
		const u = 0.3
		d := limits.Decide(l, uncertainty.Estimate{Value: 30.4, Standard: u})
		rng := rand.New(rand.NewPCG(106, uint64(10*guard)))
		const n = 1000000
		var consumer, producer, failed, conforming, alike, kept float64
		for range n {
			actual := 31 + 0.8*rng.NormFloat64()
			read := actual + u*rng.NormFloat64()
			accepted, conforms := read >= 30+guard*2*u, actual >= 30
			switch {
			case accepted && !conforms:
				consumer++
			case conforms && !accepted:
				producer++
				if read <= 30-guard*2*u {
					failed++
				}
			}
			if conforms {
				conforming++
			}
			if math.Abs(read-30.4) < 0.02 {
				alike++
				if conforms {
					kept++
				}
			}
		}
		// Three standard deviations of a count of n/4 out of a million.
		const scatter = 0.0013
		near(t, "consumer's risk", d.Risk.Consumer, consumer/n, scatter)
		near(t, "producer's risk", d.Risk.Producer, producer/n, scatter)
		near(t, "falsely failed", d.Risk.FalselyFailed, failed/n, scatter)
		near(t, "conforming", d.Risk.Conforming, conforming/n, scatter)
		near(t, "posterior", d.Risk.Posterior, kept/alike, 0.01) // some 14,000 units read alike
	}
}

// TestRiskOfFewReadings: an uncertainty from five readings is itself uncertain, and the error is Student's with 4
// degrees of freedom, scaled by it (JCGM 101:2008, 6.4.9). The values were integrated by SciPy 1.10.1, stats.t with
// integrate.quad, limits and guard band as here; with a normal error of the same standard uncertainty and k = 2 they
// are 0.000495, 0.21468, 0.000677 and 0.99942. A million units drawn with an error of z / sqrt(chi-squared / 4) are the
// second witness.
func TestRiskOfFewReadings(t *testing.T) {
	l := isolation
	l.Prior = &limits.Prior{Name: "drawn", Mean: 31, Standard: 0.8}
	const u, read = 0.3, 30.9
	d := limits.Decide(l, uncertainty.Estimate{Value: read, Standard: u, DOF: 4})
	near(t, "consumer's risk", d.Risk.Consumer, 0.00106088, 1e-8)
	near(t, "producer's risk", d.Risk.Producer, 0.33309766, 1e-8)
	near(t, "falsely failed", d.Risk.FalselyFailed, 0.00280789, 1e-8)
	near(t, "posterior", d.Risk.Posterior, 0.99377317, 1e-8)
	rng := rand.New(rand.NewPCG(106, 4))
	const n = 1000000
	var consumer, alike, kept float64
	for range n {
		chi := 0.0
		for range 4 {
			z := rng.NormFloat64()
			chi += z * z
		}
		actual := 31 + 0.8*rng.NormFloat64()
		seen := actual + u*rng.NormFloat64()/math.Sqrt(chi/4)
		if seen >= 30+d.GuardBand && actual < 30 {
			consumer++
		}
		if math.Abs(seen-read) < 0.02 {
			alike++
			if actual >= 30 {
				kept++
			}
		}
	}
	near(t, "consumer's risk, drawn", d.Risk.Consumer, consumer/n, 1e-4) // three standard deviations of the count
	near(t, "posterior, drawn", d.Risk.Posterior, kept/alike, 2e-3)
}

// TestBetween decides by an interval whose sides differ, as an isolation near the floor has them.
func TestBetween(t *testing.T) {
	d := limits.Decide(isolation, uncertainty.Estimate{Value: 30.3, Standard: 0.1})
	if d.Outcome != document.Pass {
		t.Fatalf("got %v, want pass", d.Outcome)
	}
	if d = d.Between(29.9, 30.5, 0.96); d.Outcome != document.Undecided || math.Abs(d.GuardBand-0.4) > 1e-12 {
		t.Errorf("got %v with a guard band of %g, want undecided with 0.4", d.Outcome, d.GuardBand)
	}
	d = limits.Decide(isolation, uncertainty.Estimate{Value: 29.7, Standard: 0.1}).Between(29.5, 30.1, 0.2)
	if d.Outcome != document.Undecided || math.Abs(d.GuardBand-0.4) > 1e-12 {
		t.Errorf("got %v with a guard band of %g, want undecided with 0.4", d.Outcome, d.GuardBand)
	}
	loss := limits.Decide(limits.Limit{Value: 0.6}, uncertainty.Estimate{Value: 0.5, Standard: 0.01}).Between(0.2, 0.55,
		0.99)
	if loss.Outcome != document.Pass || math.Abs(loss.GuardBand-0.05) > 1e-12 {
		t.Errorf("got %v with a guard band of %g, want pass with 0.05", loss.Outcome, loss.GuardBand)
	}
}
