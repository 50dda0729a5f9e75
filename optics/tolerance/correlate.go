package tolerance

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Correlation says that two tolerances of a study are not independent.
type Correlation struct {
	Paths [2]string // of two parameters with a tolerance
	// Value is the correlation coefficient, from -1 to 1, of two normal tolerances; of others that of the standard normal
	// variables which their quantiles are taken at, so that each keeps its own distribution.
	Value float64
}

// link is a share of a standard normal variable: that many times the one drawn for a parameter.
type link struct {
	parameter int
	weight    float64
}

// correlated works out, by parameter, what its standard normal variable is the sum of: the lower triangle of A. L.
// Cholesky (G. H. Golub and C. F. Van Loan, Matrix Computations, 4.2; from memory), nil for one that is independent of
// those before it.
func correlated(paths []string, all []Correlation) ([][]link, error) {
	n := len(paths)
	links := make([][]link, n)
	if len(all) == 0 {
		return links, nil
	}
	c := make([][]float64, n)
	for i := range c {
		c[i] = make([]float64, n)
		c[i][i] = 1
	}
	for _, one := range all {
		i, j := slices.Index(paths, one.Paths[0]), slices.Index(paths, one.Paths[1])
		switch {
		case i < 0 || j < 0:
			path := one.Paths[0]
			if i >= 0 {
				path = one.Paths[1]
			}
			return nil, fmt.Errorf("correlation of %s and %s: %s has no tolerance above zero", one.Paths[0],
				one.Paths[1], path)
		case i == j:
			return nil, fmt.Errorf("correlation of %s with itself: expected two different parameters", one.Paths[0])
		case c[i][j] != 0:
			return nil, fmt.Errorf("correlation of %s and %s is given twice", one.Paths[0], one.Paths[1])
		case !(math.Abs(one.Value) <= 1):
			return nil, fmt.Errorf("correlation of %s and %s: %g is not from -1 to 1", one.Paths[0], one.Paths[1],
				one.Value)
		}
		c[i][j], c[j][i] = one.Value, one.Value
	}
	l, err := cholesky(c)
	if err != nil {
		return nil, err
	}
	for i := range l {
		for j, w := range l[i] {
			if w != 0 {
				links[i] = append(links[i], link{j, w})
			}
		}
		if len(links[i]) == 1 && links[i][0] == (link{i, 1}) {
			links[i] = nil
		}
	}
	return links, nil
}

// nothing is what rounding leaves of a variance of zero.
const nothing = 1e-12

// cholesky returns the lower triangle whose product with its transpose is c, which may be singular: parameters may
// follow from others.
func cholesky(c [][]float64) ([][]float64, error) {
	l := make([][]float64, len(c))
	for i := range c {
		l[i] = make([]float64, i+1)
		for j := range i + 1 {
			rest := c[i][j]
			for k := range j {
				rest -= l[i][k] * l[j][k]
			}
			switch d := l[j][j]; {
			case i == j && rest > nothing:
				l[i][i] = math.Sqrt(rest)
			case i == j && rest >= -nothing:
			case i != j && d > 0:
				l[i][j] = rest / d
			case i != j && math.Abs(rest) <= math.Sqrt(nothing):
			default:
				return nil, fmt.Errorf("the correlations cannot all hold: no variables have them (their matrix is not " +
					"positive semidefinite)")
			}
		}
	}
	return l, nil
}

// departure is how far a parameter departs from its nominal value in a unit, in SI units.
func (w *study) departure(unit, j int) float64 {
	if w.links[j] == nil {
		return w.drawn[j](w.stream.At(unit, j))
	}
	z := 0.0
	for _, k := range w.links[j] {
		z += k.weight * Score(w.stream.At(unit, k.parameter))
	}
	if by := &w.sample.By[j]; by.Shape == Normal {
		return by.Value.SI() * z
	}
	return w.drawn[j](distuv.UnitNormal.CDF(z))
}

// Correlated reports whether the tolerances of the units are not all independent.
func (o *Outcome) Correlated() bool { return len(o.study.Correlations) > 0 }
