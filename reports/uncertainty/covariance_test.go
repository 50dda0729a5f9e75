package uncertainty_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"wedgework/reports/uncertainty"
)

// build returns a covariance and the same as a dense matrix.
func build(n, shared int, seed uint64) (*uncertainty.Covariance, *mat.SymDense) {
	rng := rand.New(rand.NewPCG(seed, 7))
	c, dense := uncertainty.NewCovariance(n), mat.NewSymDense(n, nil)
	for i := range n {
		u := 0.1 + rng.Float64()
		c.AddPoint(i, u)
		dense.SetSym(i, i, u*u)
	}
	for range shared {
		u := make([]float64, n)
		for i := range u {
			u[i] = 3 * rng.NormFloat64()
		}
		c.AddShared(u)
		dense.SymRankOne(dense, 1, mat.NewVecDense(n, u))
	}
	for k := 0; k+3 < n; k += 4 { // local errors: pairs, the second one of the pair before in every other
		at, u := []int{k, k + 2}, []float64{rng.NormFloat64(), rng.NormFloat64()}
		if k > 0 && k%8 == 0 {
			at, u = append([]int{k - 2}, at...), append(u, 0.7)
		}
		c.AddLocal(at, u)
		whole := make([]float64, n)
		for i, place := range at {
			whole[place] = u[i]
		}
		dense.SymRankOne(dense, 1, mat.NewVecDense(n, whole))
	}
	return c, dense
}

// TestWhitening compares the Woodbury root with a dense Cholesky factor, whose quadratic form r^T V^-1 r is
// independent of it.
func TestWhitening(t *testing.T) {
	for _, c := range []struct{ n, shared int }{{1, 0}, {1, 3}, {5, 0}, {5, 1}, {5, 9}, {60, 7}} {
		v, dense := build(c.n, c.shared, uint64(c.n))
		w, err := v.Whitener()
		if err != nil {
			t.Fatal(err)
		}
		var chol mat.Cholesky
		if !chol.Factorize(dense) {
			t.Fatal("the dense covariance is not positive definite")
		}
		rng := rand.New(rand.NewPCG(3, 4))
		r := make([]float64, c.n)
		for i := range r {
			r[i] = rng.NormFloat64()
		}
		var x mat.VecDense
		if err := chol.SolveVecTo(&x, mat.NewVecDense(c.n, append([]float64(nil), r...))); err != nil {
			t.Fatal(err)
		}
		want := mat.Dot(&x, mat.NewVecDense(c.n, r))
		for i := range r {
			near(t, "standard uncertainty", v.Standard(i), math.Sqrt(dense.At(i, i)), 1e-12*v.Standard(i))
		}
		white := append([]float64(nil), r...)
		w.Apply(white)
		got := 0.0
		for _, x := range white {
			got += x * x
		}
		// The condition of the dense matrix, about 1e4, times the precision, with room.
		near(t, "chi-squared", got, want, 1e-10*want)
		near(t, "log determinant", w.LogDet(), chol.LogDet(), 1e-10*float64(c.n))
		a := make([]float64, c.n)
		a[0] = 1
		near(t, "a^T V b", v.Between(a, r), mat.Inner(mat.NewVecDense(c.n, a), dense, mat.NewVecDense(c.n, r)), 1e-10)
	}
}

// TestWhitenedNoise: residuals drawn from V have unit variance and no correlation once whitened, so their
// sum of squares averages to their number.
func TestWhitenedNoise(t *testing.T) {
	const n, trials = 20, 4000
	v, dense := build(n, 4, 11)
	w, err := v.Whitener()
	if err != nil {
		t.Fatal(err)
	}
	var chol mat.Cholesky
	chol.Factorize(dense)
	var l mat.TriDense
	chol.LTo(&l)
	rng := rand.New(rand.NewPCG(5, 6))
	sum := 0.0
	for range trials {
		z := mat.NewVecDense(n, nil)
		for i := range n {
			z.SetVec(i, rng.NormFloat64())
		}
		var r mat.VecDense
		r.MulVec(&l, z)
		white := r.RawVector().Data
		w.Apply(white)
		for _, x := range white {
			sum += x * x
		}
	}
	// The mean of chi-squared over the trials has the standard deviation sqrt(2n/trials) = 0.1.
	near(t, "mean chi-squared", sum/trials, n, 0.4)
}

func TestTake(t *testing.T) {
	v, dense := build(6, 2, 9)
	part := v.Take([]int{4, 1})
	a, b := []float64{1, 0}, []float64{0, 1}
	near(t, "variance", part.Between(a, a), dense.At(4, 4), 1e-12)
	near(t, "covariance", part.Between(a, b), dense.At(4, 1), 1e-12)
}

func TestWhitenerRefuses(t *testing.T) {
	v := uncertainty.NewCovariance(2)
	v.AddPoint(0, 1)
	v.AddShared([]float64{1, 1})
	if _, err := v.Whitener(); err == nil || !strings.Contains(err.Error(), "reading 2") {
		t.Errorf("got %v, want an error that names reading 2", err)
	}
}

func BenchmarkWhitening(b *testing.B) {
	v, _ := build(1500, 12, 1)
	w, err := v.Whitener()
	if err != nil {
		b.Fatal(err)
	}
	r := make([]float64, 1500)
	for b.Loop() {
		w.Apply(r)
	}
}
