package uncertainty

import (
	"maps"
	"slices"
)

// Alone turns whitened residuals w = W r into what is left of each reading once the errors that it shares with others
// are estimated and taken off, in units of the uncertainty that it shares with none: D^-1/2 times D V^-1 r, since
// the estimate of the shared errors is U^T V^-1 r and r - U U^T V^-1 r = D V^-1 r.
func (w *Whitener) Alone(white []float64) []float64 {
	r := append([]float64(nil), white...)
	w.project(r)
	w.projectOwn(r)
	return r
}

// AloneVariance returns the variance of component i of Alone for residuals of covariance V: less than 1, for a reading
// takes part in the estimate of what is taken off it. A fit takes off more.
func (w *Whitener) AloneVariance(i int) float64 {
	if w.own == nil {
		v := 1.0
		for j, q := range w.q {
			v -= q[i] * q[i] * w.c[j] * (2 - w.c[j])
		}
		return v
	}
	row := map[int]float64{i: 1} // of the root of the local errors
	for _, o := range w.own {
		if k, ok := slices.BinarySearch(o.at, i); ok {
			for m, at := range o.at {
				row[at] -= o.c * o.u[k] * o.u[m]
			}
		}
	}
	v := 0.0
	at := slices.Sorted(maps.Keys(row))
	for _, k := range at {
		v += row[k] * row[k]
	}
	for j, q := range w.q {
		f := 0.0
		for _, k := range at {
			f += row[k] * q[k]
		}
		v -= f * f * w.c[j] * (2 - w.c[j])
	}
	return v
}

// project is multiplication with I - Q diag(c) Q^T.
func (w *Whitener) project(r []float64) {
	for j, q := range w.q {
		// The columns are orthonormal, so taking one off does not change the next one's part.
		f := w.c[j] * dot(q, r)
		for i := range r {
			r[i] -= f * q[i]
		}
	}
}
