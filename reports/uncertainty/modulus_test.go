package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/reports/require"
)

// TestNoncentral holds the distribution function against scipy 1.10, stats.ncx2.cdf and stats.chi2.cdf.
func TestNoncentral(t *testing.T) {
	for _, c := range [][4]float64{
		{1, 3, 0, 0.198748043099},
		{7.81472790325, 3, 0, 0.95},
		{2, 3, 1.5, 0.261053202106},
		{10, 2, 4, 0.83143108647},
		{30, 2.33, 20, 0.807865233867},
		{50, 3, 80, 0.0228036362057},
		{120, 3, 100, 0.804773886742},
		{380, 3, 400, 0.288737402049},
		{450, 3, 420, 0.748993386474},
		{480, 2, 500, 0.317616313617},
		{40000, 3, 40400, 0.158051079531},
		{0.01, 3, 0.5, 0.000206613970109},
	} {
		tolerance := 1e-9 // of the sum
		if c[2] > 400 {
			tolerance = 1e-4 // of the approximation
		}
		if got := noncentral(c[0], c[1], c[2]); math.Abs(got-c[3]) > tolerance {
			t.Errorf("P(%g; %g, %g) = %.12g, scipy has %.12g", c[0], c[1], c[2], got, c[3])
		}
	}
}

// TestModulusCoverage draws vectors with noise of equal and of unequal size, that of four launch states, and counts how
// often the interval holds the true length: as often as it says, from nothing to many standard uncertainties.
func TestModulusCoverage(t *testing.T) {
	count := require.Sample(100, 500)
	n := float64(count)
	// Four standard deviations of a share of n trials, and what Patnaik's approximation leaves with unequal noise.
	allowed := func(p float64) float64 { return 4*math.Sqrt(p*(1-p)/n) + 0.01 }
	rng := rand.New(rand.NewPCG(5, 8))
	for _, u := range [][3]float64{{1, 1, 1}, {1, 1, 0}, {math.Sqrt(0.5), 1, math.Sqrt2}} {
		for _, r := range []float64{0, 0.3, 1, 2, 3, 6, 30} {
			counts := [2]int{}
			sum := 0.0
			for range count {
				m := drawn(rng, r, u)
				for k, p := range []float64{0.6827, 0.9545} {
					if low, high := m.Interval(p); low <= r && r <= high {
						counts[k]++
					}
				}
				sum += m.Length*m.Length - m.Trace
			}
			for k, p := range []float64{0.6827, 0.9545} {
				if got := float64(counts[k]) / n; math.Abs(got-p) > allowed(p) {
					t.Errorf("noise %.2g, length %g: the interval of %g holds it in %.4f", u, r, p, got)
				}
			}
			if got, s := sum/n, math.Sqrt((4*r*r+2*5.25)*2/n); math.Abs(got-r*r) > 4*s {
				t.Errorf("noise %.2g, length %g: the squared length without noise is %.4g in the mean", u, r, got)
			}
		}
	}
}

// drawn returns a vector of the length r in a random direction with noise u along the axes, as it is read.
func drawn(rng *rand.Rand, r float64, u [3]float64) Modulus {
	var n, x [3]float64
	s := 0.0
	for k := range n {
		if u[k] > 0 {
			n[k] = rng.NormFloat64()
		}
		s += n[k] * n[k]
	}
	for k := range n {
		n[k] /= math.Sqrt(s)
	}
	var m Modulus
	for k := range x {
		x[k] = r*n[k] + u[k]*rng.NormFloat64()
		m.Length += x[k] * x[k]
		m.Trace += u[k] * u[k]
		m.Square += math.Pow(u[k], 4)
	}
	m.Length = math.Sqrt(m.Length)
	for k := range x {
		m.Radial += math.Pow(x[k]/m.Length*u[k], 2)
	}
	return m
}

// TestQuantile: the confidence distribution of a length of three components with noise 1, against SciPy 1.10.1: the
// root r of stats.ncx2.cdf(length^2, 3, r^2) = 1 - p, and 0 where even no length would mostly be read longer.
func TestQuantile(t *testing.T) {
	for _, c := range []struct{ length, p, want float64 }{
		{2, 0.9, 2.850774}, {2, 0.5, 1.361785}, {1, 0.9, 1.297923}, {6, 0.1, 4.526086}, {2, 0.2, 0}, {1, 0.5, 0},
	} {
		if got := Isotropic(c.length, 1, 3).Quantile(c.p); math.Abs(got-c.want) > 1e-5 {
			t.Errorf("length %g at %g: got %.6f, want %.6f", c.length, c.p, got, c.want)
		}
	}
	if got := Isotropic(2, 0, 3).Quantile(0.9); got != 2 {
		t.Errorf("without noise: got %g, want 2", got)
	}
}
