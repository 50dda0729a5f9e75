package decide

import (
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// minimumBias is the expected raw minimum of the isolation of the given observations less the true
// minimum, in dB, from their point-wise uncertainties and the best model's curve.
func (e *Evidence) minimumBias(at []int) float64 {
	values, u := make([]float64, len(at)), make([]float64, len(at))
	least := math.Inf(1)
	for k, i := range at {
		p := max(e.Best.Values[i], math.SmallestNonzeroFloat64)
		values[k] = -quantity.Decibels(p)
		// Relative to the reading where that is the greater: a reading far above the model is not as noisy as the
		// model's own level would make of it.
		u[k] = e.Own.Point(i) / (max(p, e.Values[i]) * readings.PerDecibel)
		least = min(least, values[k])
	}
	return uncertainty.ExpectedMinimum(values, u) - least
}
