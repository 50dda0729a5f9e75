package verify_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/reports/require"
	"wedgework/reports/verify"
)

// TestCoverage plants a rotation error d, an axis error e and an extinction ratio in simulated units,
// measured with errors of each reading, of each run (wavelength and temperature) and of all readings. It
// counts how often the 95.45 % intervals of the fit hold the truth, and how chi-squared is spread. Only one
// of the angles is fitted, and stands for d + e; the other lies within its tolerance. The simulation is the
// closed form of this package's tests, not the optics under test.
func TestCoverage(t *testing.T) {
	units := require.Sample(75, 300)
	rng := rand.New(rand.NewPCG(17, 4))
	angle, leak, rejected := 0, 0, 0
	mean := 0.0
	for k := range units {
		unit := nominal
		in := lab
		in.step, in.seed = 4, uint64(1000+k)
		path, truth := "rotator1.angle", 0.0
		if k%2 == 0 {
			unit.angle += 1.6 * (rng.Float64() - 0.5)
			unit.axis2 += 0.4 * (rng.Float64() - 0.5)
			truth = unit.angle + unit.axis2 - nominal.axis2
		} else {
			path = "wedge2.axis"
			unit.angle += 0.6 * (rng.Float64() - 0.5)
			unit.axis2 += 1.6 * (rng.Float64() - 0.5)
			truth = unit.axis2 + unit.angle - nominal.angle
		}
		unit.extinction = 30 + 15*rng.Float64()
		s := scenario(unit, in)
		s.Fit = []string{path, "rotator1.extinction"}
		s.Limits = nil
		r, err := verify.Run(context.Background(), s)
		if err != nil {
			t.Fatal(err)
		}
		p := r.Diagnosis.Explanations[r.Diagnosis.Best].PValue
		mean += p / float64(units)
		if p < 0.01 {
			rejected++
		}
		for _, d := range r.Diagnosis.Departures {
			switch {
			case d.Path == path && d.Low <= truth && truth <= d.High:
				angle++
			case d.Path == "rotator1.extinction" && d.Low <= unit.extinction &&
				(d.AtLeast || unit.extinction <= d.High):
				leak++
			}
		}
	}
	// Four standard deviations of a count at 95.45 %, a binomial one.
	const stated = 0.9545
	n := float64(units)
	spread := 4 * math.Sqrt(n*stated*(1-stated))
	for name, got := range map[string]int{"the sum of the errors": angle, "the extinction ratio": leak} {
		t.Logf("%s: %d of %d", name, got, units)
		if want := stated * n; math.Abs(float64(got)-want) > spread {
			t.Errorf("%s lies in its interval for %d of %d units, want %.0f ± %.0f", name, got, units, want, spread)
		}
	}
	// The p-value of a true explanation is spread evenly; the mean of n such has the standard deviation
	// 1/sqrt(12 n).
	if d := 4 / math.Sqrt(12*n); math.Abs(mean-0.5) > d {
		t.Errorf("the mean p-value is %.3f, want 0.5 ± %.2f", mean, d)
	}
	if float64(rejected) > n*0.01+4*math.Sqrt(n*0.01) {
		t.Errorf("%d of %d units rejected at 1 %%", rejected, units)
	}
}
