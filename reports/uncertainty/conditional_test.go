package uncertainty

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestAlone compares with the dense formulas: D V^-1 r over the root of D, and its covariance D V^-1 D over D.
func TestAlone(t *testing.T) {
	const n = 6
	c := NewCovariance(n)
	u := [][]float64{{1, 1, 1, 1, 1, 1}, {0, 0, 0, 2, -1, 0.5}}
	d := []float64{0.5, 1, 0.7, 0.3, 2, 0.1}
	v := mat.NewSymDense(n, nil)
	for i := range n {
		c.AddPoint(i, d[i])
		v.SetSym(i, i, d[i]*d[i])
	}
	for _, f := range u {
		c.AddShared(f)
		v.SymRankOne(v, 1, mat.NewVecDense(n, f))
	}
	for _, l := range []struct { // two with a reading in common, and one apart
		at []int
		u  []float64
	}{{[]int{0, 2}, []float64{0.8, -0.5}}, {[]int{2, 3}, []float64{0.4, 1.1}}, {[]int{1, 5}, []float64{2, 0.3}}} {
		c.AddLocal(l.at, l.u)
		whole := make([]float64, n)
		for k, i := range l.at {
			whole[i] = l.u[k]
		}
		v.SymRankOne(v, 1, mat.NewVecDense(n, whole))
	}
	w, err := c.Whitener()
	if err != nil {
		t.Fatal(err)
	}
	var inverse mat.Dense
	if err := inverse.Inverse(v); err != nil {
		t.Fatal(err)
	}
	r := []float64{1, -2, 0.5, 3, 0, 1.5}
	white := append([]float64(nil), r...)
	w.Apply(white)
	got := w.Alone(white)
	for i := range n {
		want := 0.0
		for j := range n {
			want += d[i] * inverse.At(i, j) * r[j]
		}
		if math.Abs(got[i]-want) > 1e-12 {
			t.Errorf("reading %d: got %g, want %g", i, got[i], want)
		}
		if got, want := w.AloneVariance(i), d[i]*d[i]*inverse.At(i, i); math.Abs(got-want) > 1e-12 {
			t.Errorf("variance of reading %d: got %g, want %g", i, got, want)
		}
	}
}
