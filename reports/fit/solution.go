package fit

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// solution takes the Jacobian where the fit ended and draws up what the data fix.
func (w *worker) solution(ctx context.Context) (*Solution, error) {
	if !w.current {
		if err := w.differentiate(ctx); err != nil {
			return nil, err
		}
		w.release()
	}
	n := len(w.x)
	s := &Solution{
		Parameters:   append([]float64(nil), w.x...),
		ChiSquared:   w.chi,
		Sigma:        make([]float64, n),
		AtBound:      make([]bool, n),
		Undetermined: make([]bool, n),
		Residuals:    append([]float64(nil), w.r...),
		Jacobian:     w.jac,
	}
	for j := range w.x {
		lo, hi := w.bounds(j)
		s.AtBound[j] = w.x[j] <= lo || w.x[j] >= hi
	}
	rank := 0
	s.Covariance, rank = covariance(w.jac)
	determined := 0
	for j := range w.jac {
		s.Undetermined[j] = norm(w.jac[j]) == 0
		if !s.Undetermined[j] {
			determined++
		}
		s.Sigma[j] = math.Sqrt(s.Covariance[j][j])
	}
	s.Singular = rank < determined
	s.Correlation = Correlation(s.Covariance)
	s.DOF = max(w.Count-rank, 0)
	s.PValue = PValue(s.ChiSquared, s.DOF)
	return s, nil
}

// PValue returns the chance that a chi-squared variable of dof degrees of freedom exceeds chi; 1 when
// there are none.
func PValue(chi float64, dof int) float64 {
	if dof <= 0 {
		return 1
	}
	return distuv.ChiSquared{K: float64(dof)}.Survival(chi)
}

// Correlation returns the correlation matrix of a covariance; the rows of an undetermined parameter are
// zero except for its own 1.
func Correlation(covariance [][]float64) [][]float64 {
	n := len(covariance)
	r := square(n)
	for i := range r {
		for j := range r {
			if d := math.Sqrt(covariance[i][i] * covariance[j][j]); d > 0 {
				r[i][j] = min(max(covariance[i][j]/d, -1), 1)
			}
		}
		r[i][i] = 1
	}
	return r
}

// Cosine returns the cosine of the angle between two columns of a Jacobian of whitened residuals: at
// +1 or -1 a change of one parameter looks like a change of the other. 0 if one of them changes nothing.
func Cosine(a, b []float64) float64 {
	d := norm(a) * norm(b)
	if d == 0 {
		return 0
	}
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return min(max(sum/d, -1), 1)
}

func norm(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s)
}

// negligible is the noise of a numerical derivative, relative: with a step of 1e-8 of the start at worst.
const negligible = 1e-7

// covariance returns (J^T J)^-1 over the directions the data fix, by singular values of the columns
// scaled to length 1, and how many there are. Directions whose singular value is below negligible times the
// greatest are left out.
func covariance(columns [][]float64) ([][]float64, int) {
	n := len(columns)
	c := square(n)
	var used []int
	for j := range columns {
		if norm(columns[j]) > 0 {
			used = append(used, j)
		}
	}
	if len(used) == 0 {
		return c, 0
	}
	a := mat.NewDense(max(len(columns[0]), len(used)), len(used), nil)
	for k, j := range used {
		d := norm(columns[j])
		for i, v := range columns[j] {
			a.Set(i, k, v/d)
		}
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return c, 0
	}
	values := svd.Values(nil)
	var v mat.Dense
	svd.VTo(&v)
	rank := 0
	for q, value := range values {
		if value <= negligible*values[0] {
			continue
		}
		rank++
		for k, i := range used {
			for l, j := range used {
				c[i][j] += v.At(k, q) * v.At(l, q) / (value * value) / norm(columns[i]) / norm(columns[j])
			}
		}
	}
	return c, rank
}

func square(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	return m
}
