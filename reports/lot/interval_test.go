package lot

import (
	"math"
	"testing"
)

// TestFactors compares with factors of normal tolerance intervals from three sources. Five decimals: scipy, its
// noncentral t for one side and an adaptive integral for two. Printed: the two-sided table of P. M. Berthouex and L. C.
// Brown, Statistics for Environmental Engineers, table 21.1, and of ISO 16269-6 (from memory).
func TestFactors(t *testing.T) {
	for _, c := range []struct {
		n                  int
		p, c               float64
		one, two, accuracy float64
	}{
		{2, 0.90, 0.95, 20.58147, 31.09223, 2e-5},
		{2, 0.95, 0.99, 131.42629, 182.72010, 1e-4},
		{2, 0.999, 0.99, 246.55747, 294.40999, 2e-4},
		{4, 0.5, 0.75, 0.38245, 1.21074, 6e-6},
		{3, 0.95, 0.95, 7.65590, 9.78875, 6e-6},
		{5, 0.95, 0.95, 4.20268, 5.07687, 6e-6},
		{10, 0.90, 0.95, 2.35464, 2.85631, 6e-6},
		{10, 0.95, 0.95, 2.91096, 3.39343, 6e-6},
		{10, 0.99, 0.99, 5.07373, 5.61017, 6e-6},
		{20, 0.99, 0.95, 3.29516, 3.62099, 6e-6},
		{43, 0.90, 0.99, 1.87395, 2.22283, 6e-6},
		{100, 0.95, 0.95, 1.92654, 2.23388, 6e-6},
	} {
		near(t, "one-sided", OneSided(c.n, c.p, c.c), c.one, c.accuracy)
		near(t, "two-sided", TwoSided(c.n, c.p, c.c), c.two, c.accuracy)
	}
	for n, printed := range map[int][3]float64{ // for 90, 95 and 99 % of the population, with 95 % confidence
		5: {4.29, 5.08, 6.60}, 7: {3.39, 4.02, 5.24}, 10: {2.86, 3.39, 4.44}, 15: {2.49, 2.96, 3.89},
		20: {2.32, 2.76, 3.62}, 30: {2.15, 2.55, 3.35}, 60: {1.96, 2.34, 3.07},
	} {
		for i, p := range []float64{0.90, 0.95, 0.99} {
			near(t, "printed", TwoSided(n, p, 0.95), printed[i], 0.011) // one in its last digit
		}
	}
	// ISO 16269-6, one-sided, 95 % with 95 % confidence (from memory; the NIST handbook's noncentral t for n = 43 is
	// 1.8740).
	near(t, "n = 30", OneSided(30, 0.95, 0.95), 2.220, 0.0005)
	near(t, "n = 43", OneSided(43, 0.90, 0.99), 1.8740, 0.0001)
	for _, bad := range []float64{OneSided(1, 0.95, 0.95), TwoSided(10, 1, 0.95), OneSided(10, 0.95, 0.4)} {
		if !math.IsNaN(bad) {
			t.Errorf("got %g, want NaN", bad)
		}
	}
	// Many units: the normal quantiles.
	near(t, "limit, one-sided", OneSided(1000000, 0.95, 0.5), 1.6449, 2e-4)
	near(t, "limit, two-sided", TwoSided(1000000, 0.95, 0.5), 1.9600, 2e-4)
}

// TestFree compares with the sizes of ISO 16269-6 (from memory): 59 and 93 values for 95 % with 95 % confidence, 299
// and 473 for 99 %, 29 and 46 for 90 %.
func TestFree(t *testing.T) {
	for _, c := range []struct {
		p        float64
		one, two int
	}{{0.90, 29, 46}, {0.95, 59, 93}, {0.99, 299, 473}} {
		if got := FreeSize(c.p, 0.95, Lower); got != c.one {
			t.Errorf("%g, one side: got %d, want %d", c.p, got, c.one)
		}
		if got := FreeSize(c.p, 0.95, Both); got != c.two {
			t.Errorf("%g, two sides: got %d, want %d", c.p, got, c.two)
		}
	}
	near(t, "three, one side", FreeProportion(3, 0.95, Upper), math.Cbrt(0.05), 1e-9)
	for _, n := range []int{2, 3, 12, 93} {
		p := FreeProportion(n, 0.95, Both)
		near(t, "confidence at the proportion", FreeConfidence(n, p, Both), 0.95, 1e-9)
	}
	if !math.IsNaN(FreeProportion(1, 0.95, Both)) || FreeSize(1, 0.95, Lower) != 0 {
		t.Error("expected nothing of one value between extremes, and no size for all units")
	}
}
