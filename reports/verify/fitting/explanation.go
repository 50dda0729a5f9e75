package fitting

import (
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// Explanation is one hypothesis: the named parameters are free, all others as specified.
type Explanation struct {
	Label       string // "as specified", "rotator1.angle", ...; a gross error as a sentence
	Gross       bool   // a gross error, fitted to the readings of both directions as all others beside it
	Parameters  []Fitted
	Correlation [][]float64
	ChiSquared  float64
	DOF         int
	PValue      float64
	AICc        float64
	Delta       float64 // AICc above the best
	Converged   bool
}

// Fitted is a parameter with its fitted value, in the unit it was written in.
type Fitted struct {
	Path      string
	Unit      quantity.Unit
	Value     float64
	Sigma     float64 // 0 where the interval is not symmetric
	Low, High float64 // 95.45 %; High 0 where AtLeast
	AtLeast   bool    // compatible with no leakage at all: the value is at least Low
}

// Estimate states the value x with its standard uncertainty as a report prints it: from two of them below to two above,
// which holds the truth in 95.45 % of all cases. A leakage has no meaning below none: there the interval is cut, and
// says "at least" with the same end, so that its coverage is no less wherever the truth lies. A one-sided end at 1.645
// in its place, chosen after the data, would hold the truth in as little as 92.7 % (G. J. Feldman, R. D. Cousins, Phys.
// Rev. D 57, 3873, 1998).
func Estimate(v *model.Variable, x, sigma float64) Fitted {
	f := Fitted{Path: v.Path, Unit: v.Nominal.Unit, Value: v.Quantity(x).Value}
	if !v.Leak {
		f.Low, f.High = v.Quantity(x-readings.Coverage*sigma).Value, v.Quantity(x+readings.Coverage*sigma).Value
		f.Sigma = (v.Quantity(x+sigma).Value - v.Quantity(x-sigma).Value) / 2
		return f
	}
	if x-readings.Coverage*sigma <= tolerance.Darkest {
		f.AtLeast = true
		f.Low = v.Quantity(x + readings.Coverage*sigma).Value
		return f
	}
	f.Low, f.High = v.Quantity(x+readings.Coverage*sigma).Value, v.Quantity(x-readings.Coverage*sigma).Value
	return f
}
