package lot

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"wedgework/reports/uncertainty"
)

// Trend is the straight line through a figure over the units in their order, by least squares.
type Trend struct {
	Slope    float64 // per unit
	Standard float64 // its standard uncertainty, from the scatter about the line
	U        float64 // expanded by Student's t
	DOF      int
	// PValue is the chance of a slope as steep as this or steeper, one way or the other, when there is none (Student's
	// t).
	PValue float64
}

// Significant reports whether a slope is beyond its expanded uncertainty.
func (t Trend) Significant() bool { return math.Abs(t.Slope) > t.U }

// NewTrend fits the line; at holds each value's place among the units. Nil for fewer than three values, which lie on a
// line.
func NewTrend(at, values []float64) *Trend {
	n := len(values)
	if n < 3 {
		return nil
	}
	a, b := stat.LinearRegression(at, values, nil, false)
	mean, about, spread := stat.Mean(at, nil), 0.0, 0.0
	for i, x := range at {
		r := values[i] - a - b*x
		about += r * r
		spread += (x - mean) * (x - mean)
	}
	t := &Trend{Slope: b, DOF: n - 2, Standard: math.Sqrt(about / float64(n-2) / spread), PValue: 1}
	t.U = uncertainty.CoverageFactor(uncertainty.Confidence, float64(t.DOF)) * t.Standard
	switch {
	case t.Standard > 0:
		t.PValue = 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(t.DOF)}.Survival(math.Abs(t.Slope)/t.Standard)
	case t.Slope != 0:
		t.PValue = 0
	}
	return t
}
