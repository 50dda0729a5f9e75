package verify

import (
	"math"
	"wedgework/optics/quantity"

	"gonum.org/v1/gonum/mat"
)

// A raw extreme of many readings is as much the noise's as the unit's. With Spec.Smooth the statistic of a limit is the
// extreme of readings smoothed first: each is replaced by the value there of a parabola through the readings of its run
// within that distance (A. Savitzky and M. J. E. Golay, Analytical Chemistry 36, 1627, 1964, for spacings of any kind).

// smoothLeast is how many readings a window needs for a parabola to take anything off their noise.
const smoothLeast = 5

// window is the weights with which readings enter a smoothed one.
type window struct {
	at     []int // observations
	weight []float64
}

// noise is by how much the window divides errors that no two readings share.
func (w window) noise() float64 {
	sum := 0.0
	for _, v := range w.weight {
		sum += v * v
	}
	return math.Sqrt(sum)
}

func (w window) of(value func(i int) float64) float64 {
	sum := 0.0
	for k, i := range w.at {
		sum += w.weight[k] * value(i)
	}
	return sum
}

// window returns how observation i is smoothed; itself alone where too few readings are near.
func (m *measurement) window(i int, reach quantity.Length) window {
	alone := window{[]int{i}, []float64{1}}
	if reach <= 0 {
		return alone
	}
	o := m.obs[i]
	var w window
	for k, b := range m.obs {
		if b.run == o.run && b.quantity == o.quantity && math.Abs(float64(b.l-o.l)) <= float64(reach)*(1+1e-9) && !m.outlying.has(k) {
			if b.backward() && m.censored[k] {
				return alone // a bound is not an average's business
			}
			w.at = append(w.at, k)
		}
	}
	if len(w.at) < smoothLeast || m.outlying.has(i) {
		return alone
	}
	a := mat.NewDense(len(w.at), 3, nil)
	for k, j := range w.at {
		s := float64((m.obs[j].l - o.l) / reach)
		a.SetRow(k, []float64{1, s, s * s})
	}
	// The value at the middle is the first coefficient: the first row of the pseudo-inverse.
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) || svd.Values(nil)[2] < 1e-6 {
		return alone
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	w.weight = make([]float64, len(w.at))
	for k := range w.weight {
		for q, s := range svd.Values(nil) {
			w.weight[k] += v.At(0, q) / s * u.At(k, q)
		}
	}
	return w
}
