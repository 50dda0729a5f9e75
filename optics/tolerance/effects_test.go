package tolerance

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/optics/quantity"
)

// Ishigami's function sin x1 + 7 sin^2 x2 + x3^4 sin x1/10 of three numbers even within ±pi (T. Ishigami and T. Homma,
// ISUMA '90): V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2, V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V13 = 8 b^2 pi^8/225; with
// a = 7 and b = 0.1 shares of 0.3139, 0.4424 and 0 by themselves, 0.5576, 0.4424 and 0.2437 in all, as A. Saltelli et
// al., Global Sensitivity Analysis: The Primer (2008), has them (from memory).
func TestEffectsOfIshigami(t *testing.T) {
	const rows, m = 1 << 16, 3
	stream := NewStream(1, 2*m)
	values := make([]float64, rows*(m+2))
	for u := range values {
		var x [m]float64
		for j := range m {
			x[j] = math.Pi * (2*stream.At(crossed(u, m, j)) - 1)
		}
		s1 := math.Sin(x[0])
		s := math.Sin(x[1])
		values[u] = s1 + 7*s*s + 0.1*x[2]*x[2]*x[2]*x[2]*s1
	}
	first, total := effects(values, m)
	for j, want := range [][2]float64{{0.3139, 0.5576}, {0.4424, 0.4424}, {0, 0.2437}} {
		for k, got := range []Share{first[j], total[j]} {
			if off := math.Abs(got.Value - want[k]); off > 4*got.Error+5e-5 || got.Error > 0.01 {
				t.Errorf("x%d: %.4f ± %.4f, want %.4f", j+1, got.Value, got.Error, want[k])
			}
		}
	}
}

// Near its null the leak is the square of a sum of angles, of which two alike have a quarter of the variance each by
// themselves and three quarters in all: (d+e)^2 = d^2 + e^2 + 2 d e with variances 2, 2 and 4. The isolation in dB is
// another function of the sum, but far from the null nearly linear in it: shares as the squares of the angles, in all
// as by themselves.
func TestEffectsOfAngles(t *testing.T) {
	far := Figure{Isolation, []quantity.Length{1580 * quantity.Nanometre}, point(Isolation).Temperatures}
	e, err := Study{Stack: core(t), Seed: 1, Figures: []Figure{far},
		Tolerances: map[string]Tolerance{"wedge1.axis": {Shape: Normal, Value: deg(0.1)},
			"wedge2.axis": {Shape: Normal, Value: deg(0.05)}},
	}.Effects(context.Background(), 4000)
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range []float64{0.8, 0.2} {
		for _, got := range []Share{e.First[0][j], e.Total[0][j]} {
			if math.Abs(got.Value-want) > 4*got.Error+0.01 {
				t.Errorf("%s: %.3f ± %.3f, want %.1f", e.Paths[j], got.Value, got.Error, want)
			}
		}
	}
	values := make([]float64, 4*20000)
	stream := NewStream(2, 4)
	for u := range values {
		var sum float64
		for j := range 2 {
			sum += distuv.UnitNormal.Quantile(stream.At(crossed(u, 2, j)))
		}
		values[u] = sum * sum
	}
	first, total := effects(values, 2)
	for j := range 2 {
		if math.Abs(first[j].Value-0.25) > 4*first[j].Error || math.Abs(total[j].Value-0.75) > 4*total[j].Error {
			t.Errorf("of a square: %+v by itself and %+v in all, want 0.25 and 0.75", first[j], total[j])
		}
	}
}

// The yield of two angles whose sum must stay below a limit, with one halved, taken away or doubled, against the normal
// distribution of the sum.
func TestChangesOfYield(t *testing.T) {
	s := core(t)
	l := leakOf(t, s)
	const n, limit = 20000, 35
	c, err := Study{Stack: s, Trials: n, Seed: 1, Figures: []Figure{point(Isolation)},
		Tolerances: map[string]Tolerance{"rotator1.angle": {Shape: Normal, Value: deg(0.4)},
			"wedge2.axis": {Shape: Normal, Value: deg(0.3)}},
	}.Changes(context.Background(), []float64{0.5, 0, 2}, func(f []float64) bool { return f[0] >= limit })
	if err != nil {
		t.Fatal(err)
	}
	yield := func(a, b float64) float64 {
		return 1 - 2*distuv.Normal{Sigma: math.Hypot(a, b)}.CDF(-l.angle(limit))
	}
	if got, want := float64(c.Good)/n, yield(0.4, 0.3); math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/n) {
		t.Errorf("yield %.4f, want %.4f", got, want)
	}
	for j, path := range c.Paths {
		for k, factor := range c.Factors {
			want := yield(0.4*factor, 0.3)
			if path == "wedge2.axis" {
				want = yield(0.4, 0.3*factor)
			}
			got := c.By[j][k]
			if math.Abs(got.Gain-(want-yield(0.4, 0.3))) > 4*got.Error || got.Error > 0.005 ||
				math.Abs(got.Gain-float64(got.Good-c.Good)/n) > 1e-12 {
				t.Errorf("%s times %g: gain %.4f ± %.4f, want %.4f", path, factor, got.Gain, got.Error,
					want-yield(0.4, 0.3))
			}
		}
	}
}
