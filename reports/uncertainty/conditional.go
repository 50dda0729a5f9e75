package uncertainty

// Alone turns whitened residuals w = W r into what is left of each reading once the errors that it shares with others
// are estimated and taken off, in units of the uncertainty that it shares with none: D^-1/2 times D V^-1 r, since
// the estimate of the shared errors is U^T V^-1 r and r - U U^T V^-1 r = D V^-1 r.
func (w *Whitener) Alone(white []float64) []float64 {
	r := append([]float64(nil), white...)
	w.project(r)
	return r
}

// AloneVariance returns the variance of component i of Alone for residuals of covariance V: less than 1, for a reading
// takes part in the estimate of what is taken off it. A fit takes off more.
func (w *Whitener) AloneVariance(i int) float64 {
	v := 1.0
	for j, q := range w.q {
		v -= q[i] * q[i] * w.c[j] * (2 - w.c[j])
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
