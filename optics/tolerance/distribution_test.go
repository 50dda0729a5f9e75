package tolerance

import (
	"math"
	"testing"
)

// TestYieldInterval compares with scipy.stats.beta.ppf (scipy 1.10) and the rule of three.
func TestYieldInterval(t *testing.T) {
	for _, c := range []struct {
		good, n   int
		low, high float64
	}{
		{8, 10, 0.44390453, 0.97478927},
		{50, 100, 0.39832112, 0.60167888},
		{0, 100, 0, 0.03621669},
		{100, 100, 0.96378331, 1},
	} {
		low, high := Yield(c.good, c.n)
		if math.Abs(low-c.low) > 1e-7 || math.Abs(high-c.high) > 1e-7 {
			t.Errorf("%d of %d: %.8f to %.8f, want %.8f to %.8f", c.good, c.n, low, high, c.low, c.high)
		}
	}
}

func TestDistribution(t *testing.T) {
	o := &Outcome{Values: [][]float64{{4, 1, 3, 2}}}
	d := o.Distribution(0)
	for p, want := range map[float64]float64{0: 1, 0.125: 1, 0.5: 2.5, 0.25: 1.5, 1: 4} {
		if got := d.Quantile(p); got != want {
			t.Errorf("the %g quantile is %g, want %g", p, got, want)
		}
	}
	if d.Mean != 2.5 || math.Abs(d.Deviation-math.Sqrt(5./3)) > 1e-15 {
		t.Errorf("mean %g, standard deviation %g", d.Mean, d.Deviation)
	}
	one := (&Outcome{Values: [][]float64{{7}}}).Distribution(0)
	if one.Mean != 7 || one.Deviation != 0 || one.Quantile(0.3) != 7 {
		t.Errorf("of one unit: %+v", one)
	}
}
