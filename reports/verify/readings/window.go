package readings

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"wedgework/optics/quantity"
)

// A raw extreme of many readings is as much the noise's as the unit's. With Spec.Smooth the statistic of a limit is the
// extreme of readings smoothed first: each is replaced by the value there of a parabola through the readings of its run
// within that distance (A. Savitzky and M. J. E. Golay, Analytical Chemistry 36, 1627, 1964, for spacings of any kind).

// smoothLeast is how many readings a window needs for a parabola to take anything off their noise.
const smoothLeast = 5

// Window is the weights with which readings enter a smoothed one.
type Window struct {
	At     []int // observations
	weight []float64
}

// Noise is by how much the window divides errors that no two readings share.
func (w Window) Noise() float64 {
	sum := 0.0
	for _, v := range w.weight {
		sum += v * v
	}
	return math.Sqrt(sum)
}

func (w Window) Of(value func(i int) float64) float64 {
	sum := 0.0
	for k, i := range w.At {
		sum += w.weight[k] * value(i)
	}
	return sum
}

// Window returns how observation i is smoothed; itself alone where too few readings are near.
func (m *Measurement) Window(i int, reach quantity.Length) Window {
	alone := Window{[]int{i}, []float64{1}}
	if reach <= 0 {
		return alone
	}
	o := m.Obs[i]
	var w Window
	for k, b := range m.Obs {
		if b.Run == o.Run && b.Quantity == o.Quantity && math.Abs(float64(b.Wavelength-o.Wavelength)) <= float64(reach)*(1+1e-9) && !m.Outlying.Has(k) {
			if b.Backward() && m.Censored[k] {
				return alone // a bound is not an average's business
			}
			w.At = append(w.At, k)
		}
	}
	if len(w.At) < smoothLeast || m.Outlying.Has(i) {
		return alone
	}
	a := mat.NewDense(len(w.At), 3, nil)
	for k, j := range w.At {
		s := float64((m.Obs[j].Wavelength - o.Wavelength) / reach)
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
	w.weight = make([]float64, len(w.At))
	for k := range w.weight {
		for q, s := range svd.Values(nil) {
			w.weight[k] += v.At(0, q) / s * u.At(k, q)
		}
	}
	return w
}
