package verify

import (
	"math"

	"wedgework/reports/uncertainty"
)

// factor is the coverage factor of a combination of observations, by its gradient: Student's t where a contribution to it
// is poorly known, with the effective degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func (x *examiner) factor(gradient []float64) float64 {
	var at []int
	var g []float64
	for i, slope := range gradient {
		if slope != 0 {
			at, g = append(at, i), append(g, slope)
		}
	}
	return x.factorOf(func(t term) float64 {
		return sqrt(x.d.covariance([]term{t}, at, ones(len(at))).Between(g, g))
	})
}

// factorAt is that of one observation.
func (x *examiner) factorAt(i int) float64 {
	return x.factorOf(func(t term) float64 { return math.Abs(t.u[i]) })
}

func (x *examiner) factorOf(contribution func(term) float64) float64 {
	var u, dof []float64
	poor := false
	for _, t := range x.terms {
		if !t.model {
			poor = poor || t.dof > 0
		}
	}
	if !poor {
		return coverage
	}
	for _, t := range x.terms {
		if !t.model {
			u, dof = append(u, contribution(t)), append(dof, t.dof)
		}
	}
	return uncertainty.CoverageFactor(uncertainty.Confidence, uncertainty.WelchSatterthwaite(u, dof))
}
