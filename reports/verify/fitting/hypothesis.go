package fitting

import (
	"context"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"

	"wedgework/reports/fit"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

const (
	// Inseparable is the correlation above which two parameters are one to these data.
	Inseparable = 0.99
	// Unlikely is the p-value under which chi-squared is called more than the budget accounts for.
	Unlikely = 0.01
)

// Hypothesis is an explanation with what it was fitted from.
type Hypothesis struct {
	Explanation
	Free     []*model.Variable
	Solution *fit.Solution // nil for "as specified"
	Model    model.Model
	Fitter   *Fitter // what it was fitted to
	// twice the negative log-likelihood, which the fit made least: chi-squared of the readings that are numbers and
	// more
	Deviance float64
}

// Try frees some parameters: from where an earlier hypothesis about them ended, or else from a search.
func Try(ctx context.Context, thin, full *Fitter, vs []*model.Variable, start *Hypothesis) (*Hypothesis, error) {
	var s *fit.Solution
	var err error
	if start != nil {
		s, err = full.Solve(ctx, vs, start.Solution.Parameters, Precisely)
	} else {
		s, err = Search(ctx, thin, full, vs)
	}
	if err != nil {
		return nil, fmt.Errorf("fitting %s: %w", Label(vs), err)
	}
	x := &Hypothesis{Free: vs, Solution: s, Fitter: full}
	if x.Model, err = model.Adjust(full.Model, vs, s.Parameters); err != nil {
		return nil, err
	}
	x.Label, x.Correlation = Label(vs), s.Correlation
	return x, x.Fill(ctx, s.ChiSquared, s.DOF, s.Iterations < Patience)
}

// Fill states how well an explanation fits, from its deviance and how many more residuals than parameters there are.
// An "at least" reading is not a degree of freedom, and adds to chi-squared the square of what the model leaks above
// it, if anything: its share of the deviance, -2 ln Phi(z), is 1.4 for a model that sits on the bound and would cry
// misfit. Over bounds on either side of the curve this has the mean that it should, to a quarter of one reading.
func (x *Hypothesis) Fill(ctx context.Context, deviance float64, dof int, converged bool) error {
	x.Deviance = deviance
	x.AICc, x.Converged = Aicc(deviance, x.Fitter.Count(), len(x.Free)), converged
	chi := deviance
	if x.Fitter.Numbers < x.Fitter.Count() {
		p, err := x.Fitter.Plan.Predict(ctx, x.Model)
		if err != nil {
			return err
		}
		for k, b := range x.Fitter.Bounds {
			inside := b.Inside(p[x.Fitter.Numbers+k])
			chi += 2*logPhi(inside) + math.Pow(min(inside, 0), 2)
		}
		chi, dof = max(chi, 0), max(dof-len(x.Fitter.Bounds), 0)
	}
	x.ChiSquared, x.DOF, x.PValue = chi, dof, fit.PValue(chi, dof)
	return nil
}

func Label(vs []*model.Variable) string {
	var names []string
	for _, v := range vs {
		names = append(names, v.Path)
	}
	return strings.Join(names, ", ")
}

// Aicc is the corrected information criterion of Hurvich and Tsai, Biometrika 76, 297 (1989), with the
// errors known: chi-squared + 2k + 2k(k+1)/(n-k-1). Without readings to spare the correction is dropped
// and the parameters count double.
func Aicc(chi float64, n, k int) float64 {
	if n-k-1 < 1 {
		return chi + 4*float64(k)
	}
	return chi + 2*float64(k) + 2*float64(k*(k+1))/float64(n-k-1)
}

// Scaled is by how much standard uncertainties are widened when chi-squared is more than the budget
// accounts for: the Birge ratio.
func (x *Hypothesis) Scaled() float64 {
	if x.PValue >= Unlikely || x.DOF == 0 {
		return 1
	}
	return max(1, math.Sqrt(x.ChiSquared/float64(x.DOF)))
}

// Sigma of parameter j, widened.
func (x *Hypothesis) Sigma(j int) float64 { return x.Solution.Sigma[j] * x.Scaled() }

// Fan returns the selected model with arms along the independent directions of its covariance.
func (x *Hypothesis) Fan() (*predict.Fan, error) {
	f := &predict.Fan{Centre: x.Model}
	n := len(x.Free)
	if n == 0 {
		return f, nil
	}
	// Eigenvectors of the correlation, not of the covariance: parameters have different dimensions.
	r := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			r.SetSym(i, j, x.Solution.Correlation[i][j])
		}
	}
	var e mat.EigenSym
	if !e.Factorize(r, true) {
		return nil, fmt.Errorf("the correlation of %s has no eigenvectors", x.Label)
	}
	var vectors mat.Dense
	e.VectorsTo(&vectors)
	for k, value := range e.Values(nil) {
		var arm [2]model.Model
		for side, sign := range []float64{1, -1} {
			at := make([]float64, n)
			for j := range at {
				at[j] = x.Solution.Parameters[j] + sign*readings.Coverage*x.Sigma(j)*vectors.At(j,
					k)*math.Sqrt(max(value, 0))
			}
			var err error
			if arm[side], err = model.Adjust(x.Fitter.Model, x.Free, at); err != nil {
				return nil, err
			}
		}
		f.Arms = append(f.Arms, arm)
	}
	return f, nil
}
