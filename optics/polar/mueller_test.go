package polar

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func (m Mueller) apply(s [4]float64) (out [4]float64) {
	for i := range 4 {
		for j := range 4 {
			out[i] += m[i][j] * s[j]
		}
	}
	return out
}

// stokesOf is the Stokes vector of a field, from its definition.
func stokesOf(x, y complex128) [4]float64 {
	z := cmplx.Conj(x) * y
	return [4]float64{abs2(x) + abs2(y), abs2(x) - abs2(y), 2 * real(z), 2 * imag(z)}
}

// The Mueller matrix takes the Stokes vector of what is launched to that of what arrives, for any Jones matrix and any
// field; its first row gives the extremes of the transmission, m11 +- |(m12, m13, m14)|, as the eigenvalues of H do.
func TestMuellerTakesStokesVectors(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 15))
	random := func() complex128 { return complex(rng.NormFloat64(), rng.NormFloat64()) }
	for range 200 {
		var m, both Mueller
		var h Gram
		a, b := Matrix{{random(), random()}, {random(), random()}}, Matrix{{random(), random()}, {random(), random()}}
		m.Add(a)
		x, y := random(), random()
		want := stokesOf(a[0][0]*x+a[0][1]*y, a[1][0]*x+a[1][1]*y)
		got := m.apply(stokesOf(x, y))
		for i := range 4 {
			if math.Abs(got[i]-want[i]) > 1e-12*(1+want[0]) {
				t.Fatalf("S%d = %.15g, want %.15g", i, got[i], want[i])
			}
		}
		m.Add(b)
		h.Add(a)
		h.Add(b)
		t1, t2 := h.Extremes()
		r := math.Hypot(m[0][1], math.Hypot(m[0][2], m[0][3]))
		if math.Abs(m[0][0]+r-t1) > 1e-12*t1 || math.Abs(m[0][0]-r-t2) > 1e-12*t1 {
			t.Fatalf("extremes %.15g and %.15g, want %.15g and %.15g", m[0][0]+r, m[0][0]-r, t1, t2)
		}
		// Light that interferes in full is that of the sum of the matrices.
		m.Beat(a, b, 1)
		both.Add(a.Add(b))
		for i := range 4 {
			for j := range 4 {
				if math.Abs(m[i][j]-both[i][j]) > 1e-12*(1+both[0][0]) {
					t.Fatalf("element %d %d: %.15g, want %.15g", i, j, m[i][j], both[i][j])
				}
			}
		}
	}
}

// Textbook matrices: a rotation by theta turns (S1, S2) by twice that; a quarter-wave plate with its fast axis along x
// takes +45 deg to circular; a depolarizer of two crossed halves leaves S0 alone.
func TestMuellerOfParts(t *testing.T) {
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-15 {
			t.Errorf("%s: %.17g, want %g", what, got, want)
		}
	}
	var turn, quarter, half Mueller
	s, c := math.Sincos(0.3)
	turn.Add(Matrix{{complex(c, 0), complex(-s, 0)}, {complex(s, 0), complex(c, 0)}})
	near("m11", turn[1][1], math.Cos(0.6))
	near("m21", turn[2][1], math.Sin(0.6))
	near("m33", turn[3][3], 1)
	quarter.Add(Matrix{{1, 0}, {0, 1i}})
	near("circular of +45 deg", quarter[3][2], 1)
	h := complex(math.Sqrt(0.5), 0)
	half.Add(Matrix{{h, 0}, {0, h}})
	half.Add(Matrix{{0, -h}, {h, 0}})
	near("S0", half[0][0], 1)
	near("S1", half[1][1], 0)
	near("S2", half[2][2], 0)
}
