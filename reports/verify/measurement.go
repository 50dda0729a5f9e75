package verify

import (
	"maps"
	"math"
	"slices"
	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
)

// coverage is how many standard deviations the arms of a fan reach: those of an expanded uncertainty.
const coverage = 2

// measurement is the readings with what they are uncertain by: their values, the covariance that the budget gives
// them, and which of them are bounds or outliers.
type measurement struct {
	*data
	budget uncertainty.Budget
	terms  []term
	// own is the covariance of all observations' values from the measurement alone; what the model leaves open is not in it.
	own      *uncertainty.Covariance
	value    []float64 // of all observations
	censored []bool    // bounds of the file, and net power that drowns
	outlying outlying  // isolations left out of the fit, and how far off they are
}

// newMeasurement takes the terms of the budget about the model that describes the readings best.
func newMeasurement(d *data, b uncertainty.Budget, terms []term, out outlying) *measurement {
	n := len(d.obs)
	m := &measurement{data: d, budget: b, terms: terms, outlying: out,
		own: d.covariance(without(terms, ofModel), upTo(n), ones(n)), value: make([]float64, n), censored: make([]bool, n)}
	for i, o := range d.obs {
		m.value[i] = o.value
		_, m.censored[i] = o.threshold(m.own.Standard(i))
	}
	return m
}

// every is the covariance of the values of all observations, what the model leaves open included.
func (m *measurement) every() *uncertainty.Covariance {
	n := len(m.obs)
	return m.data.covariance(m.terms, upTo(n), ones(n))
}

// isolation returns the net isolation of a backward observation in dB; for an "at least" reading the
// least that it proves at one-sided 95 %.
func (m *measurement) isolation(i int) (dB float64, atLeast bool) {
	p := m.value[i]
	if m.censored[i] {
		return decibels(math.Sqrt(max(p, 0) + oneSided*m.own.Standard(i))), true
	}
	return decibels(math.Sqrt(p)), false
}

// sought reports whether the readings say what the worst polarization does: extremes, or means that can be taken there.
// A reading in one state of unknown polarization only bounds it.
func (m *measurement) sought() bool {
	return m.Polarization == MinMax || m.Polarization == Scrambled
}

// Outlier is a reading of isolation that no model near the others can give. It is left out of the fit and of the declared
// figures; limits are held against it all the same, and say so.
type Outlier struct {
	Line        int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Off         float64 // standard uncertainties from the curve, with sign: positive where it leaks more
}

// Outliers states them by line.
func (m *measurement) Outliers() []Outlier {
	var list []Outlier
	for _, i := range m.outlying.indices() {
		o := m.obs[i]
		list = append(list, Outlier{m.Rows[o.row].Line, o.l, o.t, m.outlying[i]})
	}
	slices.SortStableFunc(list, func(a, b Outlier) int { return a.Line - b.Line })
	return list
}

// factor is the coverage factor of a combination of observations, by its gradient: Student's t where a contribution to it
// is poorly known, with the effective degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func (m *measurement) factor(gradient []float64) float64 {
	var at []int
	var g []float64
	for i, slope := range gradient {
		if slope != 0 {
			at, g = append(at, i), append(g, slope)
		}
	}
	return m.factorOf(func(t term) float64 {
		return sqrt(m.data.covariance([]term{t}, at, ones(len(at))).Between(g, g))
	})
}

// factorAt is that of one observation.
func (m *measurement) factorAt(i int) float64 {
	return m.factorOf(func(t term) float64 { return math.Abs(t.u[i]) })
}

func (m *measurement) factorOf(contribution func(term) float64) float64 {
	var u, dof []float64
	poor := false
	for _, t := range m.terms {
		if !t.model {
			poor = poor || t.dof > 0
		}
	}
	if !poor {
		return coverage
	}
	for _, t := range m.terms {
		if !t.model {
			u, dof = append(u, contribution(t)), append(dof, t.dof)
		}
	}
	return uncertainty.CoverageFactor(uncertainty.Confidence, uncertainty.WelchSatterthwaite(u, dof))
}

// outlying holds the isolations that no model near the others can give, by index, and how far off each is, in standard
// uncertainties: positive where it leaks more.
type outlying map[int]float64

func (o outlying) has(i int) bool { _, out := o[i]; return out }

// indices lists them in order.
func (o outlying) indices() []int { return slices.Sorted(maps.Keys(o)) }
