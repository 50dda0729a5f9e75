package uncertainty

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Covariance is that of many readings which share some of their errors: V = D + sum u u^T, with D
// diagonal and one vector u per shared error. With n readings and k shared errors everything below costs
// n k^2 at most, never n^2.
type Covariance struct {
	diagonal []float64
	factors  [][]float64
	local    []local
}

// local is an error shared by a few readings.
type local struct {
	at []int
	u  []float64
}

// NewCovariance returns the zero covariance of n readings.
func NewCovariance(n int) *Covariance { return &Covariance{diagonal: make([]float64, n)} }

// AddPoint adds the standard uncertainty u of an error that reading i shares with no other.
func (c *Covariance) AddPoint(i int, u float64) { c.diagonal[i] += u * u }

// AddShared adds one error shared by all readings; u holds by how much it moves each, with sign. The
// slice is kept.
func (c *Covariance) AddShared(u []float64) {
	if len(u) != len(c.diagonal) {
		panic("uncertainty: a shared error of another length")
	}
	c.factors = append(c.factors, u)
}

// AddLocal adds one error shared by the readings with the given indices, each once, such as that of the reading of a
// reference that they were divided by. Many of these cost little as long as few of them have readings in common.
func (c *Covariance) AddLocal(at []int, u []float64) {
	c.local = append(c.local, local{at, u})
}

// Standard returns the standard uncertainty of reading i.
func (c *Covariance) Standard(i int) float64 {
	v := c.diagonal[i]
	for _, l := range c.local {
		if k, ok := slices.BinarySearch(l.at, i); ok {
			v += l.u[k] * l.u[k]
		}
	}
	for _, u := range c.factors {
		v += u[i] * u[i]
	}
	return math.Sqrt(v)
}

// Point returns the part of the standard uncertainty of reading i that no other reading shares.
func (c *Covariance) Point(i int) float64 { return math.Sqrt(c.diagonal[i]) }

// Between returns a^T V b: the covariance of two linear combinations of the readings.
func (c *Covariance) Between(a, b []float64) float64 {
	sum := 0.0
	for i, d := range c.diagonal {
		sum += a[i] * d * b[i]
	}
	for _, u := range c.factors {
		sum += dot(u, a) * dot(u, b)
	}
	for _, l := range c.local {
		sum += l.dot(a) * l.dot(b)
	}
	return sum
}

// Take returns the covariance of the readings with the given indices.
func (c *Covariance) Take(indices []int) *Covariance {
	t := NewCovariance(len(indices))
	for k, i := range indices {
		t.diagonal[k] = c.diagonal[i]
	}
	for _, u := range c.factors {
		v, touched := make([]float64, len(indices)), false
		for k, i := range indices {
			v[k] = u[i]
			touched = touched || u[i] != 0
		}
		if touched {
			t.factors = append(t.factors, v)
		}
	}
	if c.local == nil {
		return t
	}
	place := make(map[int]int, len(indices))
	for k, i := range indices {
		place[i] = k
	}
	for _, l := range c.local {
		on := map[int]float64{}
		for k, i := range l.at {
			if to, ok := place[i]; ok {
				on[to] = l.u[k]
			}
		}
		if len(on) == 0 {
			continue
		}
		at := slices.Sorted(maps.Keys(on))
		u := make([]float64, len(at))
		for k, i := range at {
			u[k] = on[i]
		}
		t.AddLocal(at, u)
	}
	return t
}

// Whitener turns correlated residuals into independent ones of unit variance.
type Whitener struct {
	scale []float64   // D^-1/2
	own   []sparse    // orthonormal columns of the local errors
	q     [][]float64 // orthonormal columns of those shared by all
	c     []float64   // 1 - 1/sqrt(1 + s^2)
}

// Whitener returns W with W^T W = V^-1, by the symmetric root of Woodbury's identity: with
// A = D^-1/2 U = Q S R^T, (I + A A^T)^-1/2 = I - Q diag(1 - 1/sqrt(1 + s^2)) Q^T. Local errors come first, block by
// block, and what is shared by all after them. Every reading needs an
// error of its own: two readings that share all their errors would have to agree exactly.
func (c *Covariance) Whitener() (*Whitener, error) {
	n, k := len(c.diagonal), len(c.factors)
	w := &Whitener{scale: make([]float64, n)}
	for i, d := range c.diagonal {
		if !(d > 0) || math.IsInf(d, 1) {
			return nil, fmt.Errorf("reading %d has the variance %g of its own: every reading needs an uncertainty "+
				"that it does not share, such as repeatability", i+1, d)
		}
		w.scale[i] = 1 / math.Sqrt(d)
	}
	if err := w.blocks(c.local); err != nil {
		return nil, err
	}
	if k == 0 || n == 0 {
		return w, nil
	}
	a := mat.NewDense(n, k, nil)
	for j, u := range c.factors {
		column := make([]float64, n)
		for i, v := range u {
			column[i] = v * w.scale[i]
		}
		w.projectOwn(column)
		a.SetCol(j, column)
	}
	q, s, err := columns(a)
	if err != nil {
		return nil, err
	}
	for j, s := range s {
		if s > 0 {
			w.q = append(w.q, mat.Col(nil, j, q))
			w.c = append(w.c, 1-1/math.Hypot(1, s))
		}
	}
	return w, nil
}

// columns returns the left singular vectors and the singular values of a matrix.
func columns(a *mat.Dense) (*mat.Dense, []float64, error) {
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		n, _ := a.Dims()
		return nil, nil, fmt.Errorf("the shared uncertainties of %d readings cannot be separated: a value is not "+
			"finite", n)
	}
	var q mat.Dense
	svd.UTo(&q)
	return &q, svd.Values(nil), nil
}

// Apply replaces residuals by whitened ones, whose sum of squares is r^T V^-1 r.
func (w *Whitener) Apply(r []float64) {
	for i := range r {
		r[i] *= w.scale[i]
	}
	w.projectOwn(r)
	w.project(r)
}

// LogDet returns the logarithm of the determinant of V, by the same identity.
func (w *Whitener) LogDet() float64 {
	sum := 0.0
	for _, s := range w.scale {
		sum -= 2 * math.Log(s)
	}
	for _, o := range w.own {
		sum -= 2 * math.Log1p(-o.c)
	}
	for _, c := range w.c {
		sum -= 2 * math.Log1p(-c)
	}
	return sum
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
