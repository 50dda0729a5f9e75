package decide

import (
	"math"
	"slices"
	"testing"

	"wedgework/reports/limits"
)

// A square that noise has made negative is nothing, and no less is known of it than of any other: the interval does not
// end below values that the readings leave open.
func TestNothingHasAnInterval(t *testing.T) {
	b := &band{}
	for k := range 2000 {
		b.extreme = append(b.extreme, -5+math.Sqrt2*math.Erfinv((2*float64(k)+1)/2000-1))
	}
	b.nonnegative(limits.PDL)
	value, standard := b.figure(limits.PDL)
	if value > 1e-6 || math.Abs(standard-1) > 0.01 {
		t.Errorf("found %.4f with %.4f, expected 0 with 1", value, standard)
	}
	b.extreme = []float64{-3, -2, -1}
	if b.nonnegative(limits.InsertionLoss); b.extreme[1] != -2 {
		t.Errorf("an insertion loss may be negative: found %v", b.extreme)
	}
}

// The greatest of four equal squares is no greater than they are: what noise alone chooses is taken off, and ripple
// widens the interval upwards.
func TestRippledSquares(t *testing.T) {
	normal := func(k, n, seed int) float64 {
		return math.Sqrt2 * math.Erfinv((2*float64((k*seed)%n)+1)/float64(n)-1)
	}
	const n = 2003 // a prime: every multiplier makes another order
	none := []float64{math.Inf(-1)}
	m := merged{draws: slices.Repeat(none, n), smooth: slices.Repeat(none, n)}
	for _, seed := range []int{1, 501, 777, 1234} {
		for k := range n {
			m.smooth[k] = max(m.smooth[k], normal(k, n, seed))
			m.draws[k] = m.smooth[k] + 3
		}
	}
	m.rippled()
	// The median of the greatest of four is at 1.00 of a normal distribution (0.5^(1/4) = 0.841).
	low, middle, high := m.draws[n/50], m.draws[n/2], m.draws[n-1-n/50]
	if low > -1 || math.Abs(middle-0.5) > 0.1 || high < 2.5 {
		t.Errorf("found %.2f, %.2f, %.2f: expected about -1.2, 0.5, 3.4", low, middle, high)
	}
}
