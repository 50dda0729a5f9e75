package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Strata have the mean and the standard deviation of their distribution (JCGM 100:2008, 4.3.7, 4.3.9 and E.3; for the
// arcsine one half its width over root two), whatever the order, and every one is drawn once.
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
		strata(column, c.middles, 7, 3, 2, rand.New(rand.NewPCG(1, 2)))
		value, standard := moments(column)
		// the middle of the last stratum is not its mean
		if math.Abs(value-3) > 1e-9 || math.Abs(standard/(2*c.standard)-1) > 2e-4 {
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

// No two inputs fill the plane worse than random order would: P2 of the pair alone, the mean of the product of
// Bernoulli's second polynomials times 2 pi^2 (Sloan and Joe), has a standard deviation of 0.022 for random orders of
// 10,000. The nearest ones fill it a hundred times better; of three among the first dozen it would be 0.03 at random.
func TestInputsFillTheirSpace(t *testing.T) {
	bernoulli := make([]float64, block)
	for k := range bernoulli {
		x := float64(k) / block
		bernoulli[k] = 2 * math.Pi * math.Pi * (x*x - x + 1.0/6)
	}
	p2 := func(inputs ...int) float64 {
		sum := 0.0
		for k := range block {
			product := bernoulli[k]
			for _, i := range inputs {
				product *= bernoulli[k*stepOf(i)%block]
			}
			sum += product
		}
		return sum / block
	}
	for i := 1; i < mostInputs; i++ {
		most := 0.022
		if i < 24 {
			most = 2e-4
		}
		if p := p2(i); p > most {
			t.Errorf("inputs %d apart: P2 is %.2g, want at most %.2g", i, p, most)
		}
		for j := 1; j < i && i < 12; j++ {
			if p := p2(j, i); p > 0.006 {
				t.Errorf("inputs 0, %d and %d: P2 is %.2g, want at most 0.006", j, i, p)
			}
		}
	}
	if p := p2(mostInputs); p < 0.1 {
		t.Errorf("inputs %d apart: P2 is %.2g: there could be more", mostInputs, p)
	}
}
