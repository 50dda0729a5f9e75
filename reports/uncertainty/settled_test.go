package uncertainty

import (
	"math"
	"testing"
)

// TestSettled: the trials have settled when the mean over h blocks is known to a fifth of the numerical tolerance, with
// s/sqrt(h) for its standard deviation, s being that of the blocks with h-1 degrees of freedom (JCGM 101:2008, 7.9.4 g
// and 8.2), expanded by Student's t: 4.53 for two degrees of freedom and 95.45 % (JCGM 100:2008, table G.2).
func TestSettled(t *testing.T) {
	const tolerance, k = 0.5 / 5, 4.527 // of a standard uncertainty of 2 to one digit
	// Blocks at m-d, m and m+d have the standard deviation d.
	limit := tolerance * math.Sqrt(3) / k
	for look := range 4 { // mean, standard deviation, and both ends count alike
		for _, c := range []struct {
			d    float64
			want bool
		}{{0.99 * limit, true}, {1.01 * limit, false}} {
			looks := [4][]float64{{10, 10, 10}, {2, 2, 2}, {6, 6, 6}, {14, 14, 14}}
			m := looks[look][1]
			looks[look] = []float64{m - c.d, m, m + c.d}
			if got := settled(looks, Confidence, 1); got != c.want {
				t.Errorf("look %d, blocks apart by %g: settled %t, want %t", look, c.d, got, c.want)
			}
		}
	}
	// More blocks: h = 5, t = 2.87 for four degrees of freedom; -d, -d, 0, d, d has the standard deviation d.
	limit = tolerance * math.Sqrt(5) / 2.869
	for d, want := range map[float64]bool{0.99 * limit: true, 1.01 * limit: false} {
		looks := [4][]float64{{-d, -d, 0, d, d}, {2, 2, 2, 2, 2}, {0, 0, 0, 0, 0}, {0, 0, 0, 0, 0}}
		if got := settled(looks, Confidence, 1); got != want {
			t.Errorf("five blocks apart by %g: settled %t, want %t", d, got, want)
		}
	}
}
