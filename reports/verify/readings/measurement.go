package readings

import (
	"maps"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
)

// Coverage is how many standard deviations the arms of a fan reach: those of an expanded uncertainty.
const Coverage = 2

// Measurement is the readings with what they are uncertain by: their values, the covariance that the budget gives
// them, and which of them are bounds or outliers.
type Measurement struct {
	*Set
	Budget uncertainty.Budget
	Terms  []Term
	// own is the covariance of all observations' values from the measurement alone; what the model leaves open is not
	// in it.
	Own      *uncertainty.Covariance
	Values   []float64 // of all observations
	Censored []bool    // bounds of the file, and net power that drowns
	Outlying Outlying  // isolations left out of the fit, and how far off they are
	Doubts   []Doubt   // why readings are no evidence; none where they are
}

// NewMeasurement takes the terms of the budget about the model that describes the readings best.
func NewMeasurement(d *Set, b uncertainty.Budget, terms []Term, out Outlying) *Measurement {
	n := len(d.Obs)
	m := &Measurement{Set: d, Budget: b, Terms: terms, Outlying: out,
		Own: d.Covariance(Without(terms, OfModel), UpTo(n), Ones(n)), Values: make([]float64, n), Censored: make([]bool,
			n)}
	for i, o := range d.Obs {
		m.Values[i] = o.Value
		_, m.Censored[i] = o.Threshold(m.Own.Standard(i))
	}
	m.Doubts = m.findDoubts()
	return m
}

// CovarianceWithModel is that of the values of all observations, what the model leaves open included.
func (m *Measurement) CovarianceWithModel() *uncertainty.Covariance {
	n := len(m.Obs)
	return m.Set.Covariance(m.Terms, UpTo(n), Ones(n))
}

// Figure returns what an observation says the figure is, net of floor and noise, in its unit; for an "at least" reading
// the least that it proves at one-sided 95 %.
func (m *Measurement) Figure(i int) (figure float64, atLeast bool) {
	scale := m.Obs[i].Scale()
	if m.Censored[i] {
		return scale.Figure(max(m.Values[i], 0) + OneSided*m.Own.Standard(i)), true
	}
	return scale.Figure(m.Values[i]), false
}

// CurveNoise is the standard uncertainty of an observation's value as a curve through a sweep takes it: its own, and
// that of its reference. Of n readings at one wavelength over one reference that does not average out, and each has it
// n times.
func (m *Measurement) CurveNoise(i, n int) float64 {
	o := &m.Obs[i]
	return math.Hypot(m.Own.Point(i), o.Reference()*o.PerLevel(o.Power)*math.Sqrt(float64(n)))
}

// Worst reports whether a figure of the quantity is that of the worst polarization only if the readings sought it: a
// PDL and a DGD are of all polarizations by themselves, and along the axes of fibres light is launched in one.
func Worst(q limits.Quantity) bool { return q != limits.PDL && q != limits.DGD && !q.ByAxes() }

// Sought reports whether the readings say what the worst polarization does: extremes, or means that can be taken there.
// A reading in one state of unknown polarization only bounds it.
func (m *Measurement) Sought() bool {
	return m.Polarization == MinMax || m.Polarization == Scrambled
}

// Outlier is a reading of isolation that no model near the others can give. It is left out of the fit and of the
// key figures; limits are compared with it all the same, and say so.
type Outlier struct {
	Line        int
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Off         float64 // standard uncertainties from the curve, with sign: positive where it leaks more
}

// Outliers states them by line.
func (m *Measurement) Outliers() []Outlier {
	var list []Outlier
	for _, i := range m.Outlying.Indices() {
		o := m.Obs[i]
		list = append(list, Outlier{m.Rows[o.Row].Line, o.Wavelength, o.Temperature, m.Outlying[i]})
	}
	slices.SortStableFunc(list, func(a, b Outlier) int { return a.Line - b.Line })
	return list
}

// Factor is the coverage factor of a combination of observations, by its gradient: Student's t where a contribution to
// it is poorly known, with the effective degrees of freedom of Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func (m *Measurement) Factor(gradient []float64) float64 {
	var at []int
	var g []float64
	for i, slope := range gradient {
		if slope != 0 {
			at, g = append(at, i), append(g, slope)
		}
	}
	return m.factorOf(func(t Term) float64 {
		return Root(m.Set.Covariance([]Term{t}, at, Ones(len(at))).Between(g, g))
	})
}

// FactorAt is that of one observation.
func (m *Measurement) FactorAt(i int) float64 {
	return m.factorOf(func(t Term) float64 { return math.Abs(t.U[i]) })
}

func (m *Measurement) factorOf(contribution func(Term) float64) float64 {
	var u, dof []float64
	poor := false
	for _, t := range m.Terms {
		if !t.Model {
			poor = poor || t.DOF > 0
		}
	}
	if !poor {
		return Coverage
	}
	for _, t := range m.Terms {
		if !t.Model {
			u, dof = append(u, contribution(t)), append(dof, t.DOF)
		}
	}
	return uncertainty.CoverageFactor(uncertainty.Confidence, uncertainty.WelchSatterthwaite(u, dof))
}

// Outlying holds the isolations that no model near the others can give, by index, and how far off each is, in standard
// uncertainties: positive where it leaks more.
type Outlying map[int]float64

func (o Outlying) Has(i int) bool { _, out := o[i]; return out }

// Indices lists them in order.
func (o Outlying) Indices() []int { return slices.Sorted(maps.Keys(o)) }
