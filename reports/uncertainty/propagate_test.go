package uncertainty_test

import (
	"fmt"
	"math"

	"wedgework/reports/uncertainty"
)

// propagated is the outcome of propagate.
type propagated struct {
	Estimates []uncertainty.Estimate
	// Contributions holds at [i][j] what input j contributes to the standard uncertainty of output i, with
	// the sign of its sensitivity.
	Contributions [][]float64
	Covariance    [][]float64 // of the outputs
	Correlation   [][]float64
}

// propagate is a second route to what budgets and covariances say: it takes the inputs through f to first order (JCGM
// 100:2008, 5.1 and 5.2; with several outputs JCGM 102:2011). Sensitivities come from half the difference over plus and
// minus one standard uncertainty (JCGM 100:2008, 5.1.3 note 2). correlation is that of the inputs; nil when they are
// independent. Degrees of freedom follow Welch and Satterthwaite if the inputs are independent; with correlated inputs
// that formula does not hold, and they are those of the least known input.
func propagate(f func(x []float64) []float64, inputs []uncertainty.Estimate, correlation [][]float64) (*propagated,
	error) {
	n := len(inputs)
	x := make([]float64, n)
	for i, in := range inputs {
		if !(in.Standard >= 0) || math.IsInf(in.Standard, 0) {
			return nil, fmt.Errorf("input %d has the standard uncertainty %g", i+1, in.Standard)
		}
		x[i] = in.Value
	}
	if correlation != nil && len(correlation) != n {
		return nil, fmt.Errorf("the correlation matrix has %d rows for %d inputs", len(correlation), n)
	}
	y := append([]float64(nil), f(x)...)
	m := len(y)
	p := &propagated{Estimates: make([]uncertainty.Estimate, m), Contributions: make([][]float64, m),
		Covariance: make([][]float64, m), Correlation: make([][]float64, m)}
	for i := range y {
		p.Contributions[i] = make([]float64, n)
		p.Covariance[i] = make([]float64, m)
		p.Correlation[i] = make([]float64, m)
	}
	for j, in := range inputs {
		x[j] = in.Value + in.Standard
		up := append([]float64(nil), f(x)...)
		x[j] = in.Value - in.Standard
		down := f(x)
		x[j] = in.Value
		for i := range y {
			p.Contributions[i][j] = (up[i] - down[i]) / 2
			if math.IsNaN(p.Contributions[i][j]) || math.IsInf(p.Contributions[i][j], 0) {
				return nil, fmt.Errorf("output %d cannot be evaluated at plus and minus one standard uncertainty of "+
					"input %d", i+1, j+1)
			}
		}
	}
	for i := range y {
		for k := range y {
			p.Covariance[i][k] = bilinear(p.Contributions[i], p.Contributions[k], correlation)
		}
		p.Estimates[i] = uncertainty.Estimate{Value: y[i], Standard: math.Sqrt(max(p.Covariance[i][i], 0)),
			DOF: effective(p.Contributions[i], inputs, correlation)}
	}
	for i := range y {
		for k := range y {
			if d := p.Estimates[i].Standard * p.Estimates[k].Standard; d > 0 {
				p.Correlation[i][k] = p.Covariance[i][k] / d
			}
		}
		p.Correlation[i][i] = 1
	}
	return p, nil
}

func bilinear(a, b []float64, correlation [][]float64) float64 {
	sum := 0.0
	for j := range a {
		if correlation == nil {
			sum += a[j] * b[j]
			continue
		}
		for k := range b {
			sum += a[j] * correlation[j][k] * b[k]
		}
	}
	return sum
}

func effective(contributions []float64, inputs []uncertainty.Estimate, correlation [][]float64) float64 {
	dof := make([]float64, len(inputs))
	least := 0.0
	for i, in := range inputs {
		dof[i] = in.DOF
		if contributions[i] != 0 && in.DOF > 0 && !math.IsInf(in.DOF, 1) && (least == 0 || in.DOF < least) {
			least = in.DOF
		}
	}
	if correlation != nil {
		return least
	}
	return uncertainty.WelchSatterthwaite(contributions, dof)
}
