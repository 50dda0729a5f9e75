package pairing_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"wedgework/reports/pairing"
)

// within is the margin of a unit whose leakage is the square of the sum of two errors, as of a film's rotation and of
// the angle between the axes of wedges: it passes where the sum is smaller in size than a value.
func within(delta float64) func(context.Context, []float64, []float64) ([]float64, error) {
	return func(_ context.Context, xs, ys []float64) ([]float64, error) {
		var all []float64
		for _, x := range xs {
			for _, y := range ys {
				all = append(all, delta-math.Abs(x+y))
			}
		}
		return all, nil
	}
}

func drawn(rng *rand.Rand, n int, spread float64) []float64 {
	all := make([]float64, n)
	for i := range all {
		all[i] = spread * rng.NormFloat64()
	}
	return all
}

// TestChance: the sum of two numbers with normal errors is normal, with the root of the sum of squares, so that the
// chance of a pair is that of a normal between -delta and delta. The optimum is proved by its prices, is no worse than
// the parts in order, and turning either way mends any sum that is within reach.
func TestChance(t *testing.T) {
	phi := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ delta, ux, uy float64 }{{1, 0.3, 0.2}, {0.4, 0.1, 0.4}, {0.5, 0.15, 0.02},
		{0.3, 0.3, 0.3}} {
		xs, ys := drawn(rng, 60, 0.7), drawn(rng, 75, 0.7)
		r, err := pairing.Run(context.Background(), pairing.Spec{Rows: pairing.Side{Values: xs, Standard: c.ux},
			Columns: pairing.Side{Values: ys, Standard: c.uy}, Margin: within(c.delta), Reach: 8})
		if err != nil {
			t.Fatal(err)
		}
		u := math.Hypot(c.ux, c.uy)
		of := func(i, j int) float64 {
			s := xs[i] + ys[j]
			return phi((c.delta-s)/u) - phi((-c.delta-s)/u)
		}
		seen := map[int]bool{}
		sum, order, random := 0.0, 0.0, 0.0
		for i, j := range r.Column {
			// The margin is linear between nodes but for its corners, which lie off the limit; nodes are up to 0.05
			// apart.
			if math.Abs(r.Chance[i]-of(i, j)) > 2e-3 {
				t.Errorf("%+v: pair %d, %d has a chance of %.5f, want %.5f", c, i, j, r.Chance[i], of(i, j))
			}
			if seen[j] {
				t.Fatalf("column %d twice", j)
			}
			seen[j] = true
			sum, order = sum+of(i, j), order+of(i, i)
			for k := range ys {
				random += of(i, k) / float64(len(ys))
			}
		}
		for what, v := range map[string][2]float64{"expected": {r.Expected, sum}, "in order": {r.InOrder, order},
			"random": {r.Random, random}, "bound": {r.Bound, r.Expected}, "turned": {r.Turned, 60}} {
			if math.Abs(v[0]-v[1]) > 60*2e-3 {
				t.Errorf("%+v: %s %.4f, want %.4f", c, what, v[0], v[1])
			}
		}
		if math.Abs(r.Bound-r.Expected) > 1e-9 || r.Expected < r.InOrder || r.Expected < r.Random {
			t.Errorf("%+v: expected %g, bound %g, in order %g, random %g", c, r.Expected, r.Bound, r.InOrder, r.Random)
		}
	}
}

// TestReachOfTurns: a turn that reaches less far than the sum is off mends nothing more than it reaches.
func TestReachOfTurns(t *testing.T) {
	phi := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
	for _, reach := range []float64{0, 0.5, 1} {
		r, err := pairing.Run(context.Background(), pairing.Spec{
			Rows:    pairing.Side{Values: []float64{1.5}, Standard: 0.2},
			Columns: pairing.Side{Values: []float64{0}, Standard: 1e-3}, Margin: within(0.5), Reach: reach})
		if err != nil {
			t.Fatal(err)
		}
		// The best sum within reach is 1.5 - reach, and what is nearer than that to nothing is turned to nothing.
		if want := phi((0.5 - 1.5 + reach) / 0.2); math.Abs(r.Turned-want) > 2e-3 {
			t.Errorf("reach %g: %.4f, want %.4f", reach, r.Turned, want)
		}
	}
}

func TestRefusals(t *testing.T) {
	good := pairing.Side{Values: []float64{0, 1}, Standard: 0.1}
	for what, s := range map[string]pairing.Spec{
		"no parts":       {Columns: good, Margin: within(1)},
		"too few":        {Rows: good, Columns: pairing.Side{Values: []float64{1}, Standard: 1}, Margin: within(1)},
		"no uncertainty": {Rows: pairing.Side{Values: []float64{1}}, Columns: good, Margin: within(1)},
	} {
		if _, err := pairing.Run(context.Background(), s); err == nil {
			t.Errorf("%s: no error", what)
		}
	}
}

func BenchmarkPairing(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 4))
	s := pairing.Spec{Rows: pairing.Side{Values: drawn(rng, 2000, 0.5), Standard: 0.1},
		Columns: pairing.Side{Values: drawn(rng, 2000, 0.5), Standard: 0.1}, Margin: within(0.5), Reach: 2}
	for b.Loop() {
		if _, err := pairing.Run(context.Background(), s); err != nil {
			b.Fatal(err)
		}
	}
}
