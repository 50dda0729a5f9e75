package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestOrdered compares the tails with those of the same values sorted by the standard library: smooth ones, ones with
// many ties, in order, in reverse, and with infinities.
func TestOrdered(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for name, f := range map[string]func(i int) float64{
		"normal":    func(int) float64 { return rng.NormFloat64() },
		"ties":      func(int) float64 { return float64(rng.IntN(5)) },
		"equal":     func(int) float64 { return 1 },
		"rising":    func(i int) float64 { return float64(i) },
		"falling":   func(i int) float64 { return float64(-i) },
		"infinite":  func(int) float64 { return math.Log(max(rng.NormFloat64(), 0)) },
		"infinite+": func(int) float64 { return -math.Log(max(rng.NormFloat64(), 0)) },
	} {
		for _, n := range []int{1, 2, 3, 10, 31, 32, 1000, 10007} {
			for _, p := range []float64{0.3, 0.5, 0.6827, 0.95, 0.9545, 0.9999} {
				values := make([]float64, n)
				for i := range values {
					values[i] = f(i)
				}
				sorted := slices.Sorted(slices.Values(values))
				o := newOrdered(values, p)
				least := n - o.span
				if !slices.Equal(values[:least], sorted[:least]) || !slices.Equal(values[o.span:], sorted[o.span:]) {
					t.Errorf("%s, %d values, p = %g: the tails are not those of the sorted values", name, n, p)
				}
				if slices.Sort(values); !slices.Equal(values, sorted) {
					t.Errorf("%s, %d values, p = %g: they are not the same values", name, n, p)
				}
			}
		}
	}
}
