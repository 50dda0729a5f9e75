package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Strata have the mean and the standard deviation of their distribution (JCGM 100:2008, 4.3.7, 4.3.9 and E.3; for the arcsine
// one half its width over root two), whatever the order, and every one is drawn once.
func TestStrata(t *testing.T) {
	for name, c := range map[string]struct {
		middles  []float64
		standard float64
	}{
		"normal":      {normal(), 1},
		"rectangular": {rectangular(), 1 / math.Sqrt(3)},
		"triangular":  {triangular(), 1 / math.Sqrt(6)},
		"arcsine":     {arcsine(), 1 / math.Sqrt(2)},
	} {
		column := make([]float64, block)
		strata(column, c.middles, 3, 2, rand.New(rand.NewPCG(1, 2)))
		value, standard := moments(column)
		if math.Abs(value-3) > 1e-9 || math.Abs(standard/(2*c.standard)-1) > 2e-4 { // the middle of the last stratum is not its mean
			t.Errorf("%s: mean %.12g, standard deviation %.6g, want 3 and %.6g", name, value, standard, 2*c.standard)
		}
		if slices.IsSorted(column) {
			t.Errorf("%s: strata are in order", name)
		}
		slices.Sort(column)
		for k, m := range c.middles {
			if column[k] != 3+2*m {
				t.Fatalf("%s: stratum %d: got %g, want %g", name, k, column[k], 3+2*m)
			}
		}
	}
}
