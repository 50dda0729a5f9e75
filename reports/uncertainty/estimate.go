package uncertainty

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Confidence is the coverage probability of every expanded uncertainty: that of two standard deviations
// of a normal distribution, 95.45 %, so that k is 2 exactly where nothing is poorly known.
var Confidence = math.Erf(math.Sqrt2)

// Estimate is a value with its standard uncertainty. DOF is its degrees of freedom; 0 or infinity mean
// that the standard uncertainty itself is well known.
type Estimate struct{ Value, Standard, DOF float64 }

// manyDOF is where Student's t is the normal distribution to all digits that are printed: their quantiles differ by
// some 2/dof, and from 1e9 on the numerical quantile of t has the larger error.
const manyDOF = 1e7

// CoverageFactor returns the k that gives an interval of the coverage probability p with dof effective
// degrees of freedom: Student's t, dof cut to a whole number (JCGM 100:2008, G.4.1). dof 0 or infinity
// gives the normal distribution's. NaN unless 0 < p < 1 and dof, when finite, is at least 1.
func CoverageFactor(p, dof float64) float64 {
	if !(p > 0 && p < 1) {
		return math.NaN()
	}
	if dof == 0 || dof > manyDOF {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	if dof = math.Floor(dof); !(dof >= 1) {
		return math.NaN()
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + p) / 2)
}

// Expanded returns the expanded uncertainty at Confidence and its coverage factor.
func (e Estimate) Expanded() (u, k float64) {
	k = CoverageFactor(Confidence, e.DOF)
	return k * e.Standard, k
}

// WelchSatterthwaite returns the effective degrees of freedom of a sum of independent contributions
// (JCGM 100:2008, G.4.1): u^4 / sum(u_i^4 / v_i). 0, for infinite, when none is poorly known.
func WelchSatterthwaite(u, dof []float64) float64 {
	sum, poor := 0.0, 0.0
	for i, v := range u {
		sum += v * v
		if d := dof[i]; d > 0 && !math.IsInf(d, 1) {
			poor += v * v * v * v / d
		}
	}
	if poor == 0 {
		return 0
	}
	return max(sum*sum/poor, 1)
}

// TypeA evaluates repeated observations by statistics (JCGM 100:2008, 4.2): the value is their mean, the standard
// uncertainty s/sqrt(averaged), with n-1 degrees of freedom. averaged is the number of observations that a reported
// value is the mean of: n for the mean of these, 1 when what is reported is a single reading of the same kind.
func TypeA(observations []float64, averaged int) (Estimate, error) {
	n := len(observations)
	switch {
	case n == 1:
		return Estimate{}, fmt.Errorf("one observation: at least 2 are needed for their spread")
	case n < 2:
		return Estimate{}, fmt.Errorf("no observations: at least 2 are needed for their spread")
	case averaged < 1:
		return Estimate{}, fmt.Errorf("a mean of %d observations: expected 1 or more", averaged)
	}
	mean, s := stat.MeanStdDev(observations, nil)
	if !finiteNumber(s) {
		return Estimate{}, fmt.Errorf("an observation is not finite")
	}
	return Estimate{mean, s / math.Sqrt(float64(averaged)), float64(n - 1)}, nil
}

// Pooled evaluates the scatter of single readings from groups of repeated ones, each about its own mean (JCGM 100:2008,
// 4.2.4): s^2 is the mean of the groups' variances weighted by their degrees of freedom, which add. Groups of one
// reading say nothing.
func Pooled(groups [][]float64) (Estimate, error) {
	sum, dof := 0.0, 0
	for _, g := range groups {
		if len(g) < 2 {
			continue
		}
		sum += stat.Variance(g, nil) * float64(len(g)-1)
		dof += len(g) - 1
	}
	if dof == 0 || !finiteNumber(sum) {
		return Estimate{}, fmt.Errorf("nothing was read twice")
	}
	return Estimate{Standard: math.Sqrt(sum / float64(dof)), DOF: float64(dof)}, nil
}
