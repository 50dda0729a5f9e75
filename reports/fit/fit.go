// Package fit solves weighted nonlinear least-squares problems by the method of Levenberg and Marquardt
// and says how well the data fix what was fitted: covariance, correlation, chi-squared and its p-value.
//
// The caller hands in residuals that are already divided by their standard uncertainties, or whitened
// when they are correlated (reports/uncertainty does that), so that chi-squared is the plain sum of
// their squares. The package knows nothing of what the parameters mean. It finds the well it starts in,
// not the deepest one: several starts are the caller's business. Parameters may be bounded; a bound is
// where a parameter stops having a meaning, not a prior.
package fit

import (
	"context"
	"errors"
)

// Residuals fills r, whose length is Problem.Count, with the whitened residuals at parameters p. It must
// keep neither slice. An error, or a residual that is not a number, makes a trial step fail and a
// shorter one be tried; at the start it ends the fit.
type Residuals func(ctx context.Context, p, r []float64) error

// Problem is what is to be fitted.
type Problem struct {
	Residuals Residuals
	Count     int       // of residuals
	Start     []float64 // of the parameters
	// Step holds the change of each parameter over which the residuals are differentiated, always
	// centred where the bounds allow. Nil, or a zero, chooses the cube root of the machine's precision
	// times the size of the parameter, where the errors of rounding and of truncation meet.
	Step []float64
	// Jacobian, when not nil, fills columns with the derivatives of the residuals at p, column j holding
	// those by parameter j; Step is then not used. r holds the residuals at p.
	Jacobian func(ctx context.Context, p, r []float64, columns [][]float64) error
	// Lower and Upper, when not nil, bound the parameters, ends included; infinities stand for none.
	Lower, Upper []float64
	// MaxIterations bounds the number of Jacobians; 0 means 200 per parameter.
	MaxIterations int
	// Tolerance is the relative fall of chi-squared, and the relative size of a step, under which the
	// fit has converged; 0 means 1e-14.
	Tolerance float64
	// Unjudged leaves out how well the data fix the parameters: the Solution holds these, chi-squared, the residuals
	// and the number of iterations, for up to a Jacobian less.
	Unjudged bool
}

// Solution is the best fit. All its matrices are square with one row per parameter.
type Solution struct {
	Parameters  []float64
	Sigma       []float64   // standard uncertainties; 0 for a parameter the residuals do not depend on
	Covariance  [][]float64 // for residuals of unit variance: not scaled by chi-squared
	Correlation [][]float64
	ChiSquared  float64
	DOF         int     // residuals less the parameters the data fix
	PValue      float64 // the chance of a greater chi-squared if the model is true; 1 when DOF is 0
	Iterations  int
	// AtBound marks parameters that the data would push beyond a bound.
	AtBound []bool
	// Undetermined marks parameters that the residuals do not depend on at the solution.
	Undetermined []bool
	// Singular is set when the data fix a combination of the parameters only; Covariance then covers
	// what they do fix, and the other directions have no finite uncertainty.
	Singular bool
	// Jacobian holds the derivative of residual i by parameter j at [j][i]: by columns, for that is how
	// they are compared.
	Jacobian  [][]float64
	Residuals []float64 // at the solution
}

// ErrNotConverged is returned, wrapped, with the best solution so far when the iterations run out.
var ErrNotConverged = errors.New("the fit did not converge")

// Dot returns the sum of the products of two vectors of one length.
func Dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
