package verify

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// fan returns the adopted model with arms along the independent directions of its covariance.
func (x *hypothesis) fan() (*fan, error) {
	f := &fan{centre: x.model}
	n := len(x.vs)
	if n == 0 {
		return f, nil
	}
	// Eigenvectors of the correlation, not of the covariance: parameters have different dimensions.
	r := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			r.SetSym(i, j, x.solution.Correlation[i][j])
		}
	}
	var e mat.EigenSym
	if !e.Factorize(r, true) {
		return nil, fmt.Errorf("the correlation of %s has no eigenvectors", x.Label)
	}
	var vectors mat.Dense
	e.VectorsTo(&vectors)
	for k, value := range e.Values(nil) {
		var arm [2]Model
		for side, sign := range []float64{1, -1} {
			at := make([]float64, n)
			for j := range at {
				at[j] = x.solution.Parameters[j] + sign*coverage*x.sigma(j)*vectors.At(j, k)*math.Sqrt(max(value, 0))
			}
			var err error
			if arm[side], err = adjusted(x.f.model, x.vs, at); err != nil {
				return nil, err
			}
		}
		f.arms = append(f.arms, arm)
	}
	return f, nil
}
