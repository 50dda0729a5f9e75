package decide

import (
	"math"
	"math/rand/v2"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// smooths reports whether a limit's readings are smoothed before their extreme is taken.
func (e *Evidence) smooths(l limits.Limit) bool { return e.Smooth > 0 && l.Quantity != limits.PDL }

// bias of the extreme, in dB.
func (e *Evidence) bias(l limits.Limit, all []candidate) float64 {
	if l.Quantity == limits.PDL {
		return 0 // the model's PDL is not a curve to lay noise on
	}
	at := make([]int, len(all))
	for k, c := range all {
		at[k] = c.obs
	}
	if e.smooths(l) {
		return e.smoothedBias(l, all)
	}
	if l.Quantity == limits.Isolation {
		if !l.AtLeast {
			return 0
		}
		return e.minimumBias(at)
	}
	// The greatest loss is the least of the negatives.
	values, u := make([]float64, len(at)), make([]float64, len(at))
	least := math.Inf(1)
	for k, i := range at {
		values[k], u[k] = -e.Best.Values[i], e.Own.Point(i)
		least = min(least, values[k])
	}
	return least - uncertainty.ExpectedMinimum(values, u)
}

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

// smoothTrials is how often noise is drawn for the bias of a smoothed extreme: neighbours share readings, so that
// there is no product of probabilities as for raw ones. It settles the bias to a twentieth of the noise.
const smoothTrials = 400

// smoothedBias is the expected smoothed extreme less the true one, in dB, from the point-wise uncertainties and the best
// model's curve; what a parabola cuts off a peak counts as well.
func (e *Evidence) smoothedBias(l limits.Limit, all []candidate) float64 {
	sense := 1.0
	if !l.AtLeast {
		sense = -1
	}
	truth, u := map[int]float64{}, map[int]float64{}
	least := math.Inf(1)
	for _, c := range all {
		for _, i := range c.window.At {
			o := e.Obs[i]
			truth[i], u[i] = sense*e.Best.Values[i], e.Own.Point(i)
			if o.Backward() {
				p := max(e.Best.Values[i], math.SmallestNonzeroFloat64)
				truth[i], u[i] = sense*readings.Decibels(math.Sqrt(p)), u[i]/(max(p, e.Values[i])*readings.PerDecibel)
			}
		}
		least = min(least, truth[c.obs])
	}
	rng := rand.New(rand.NewPCG(1, 0x5e))
	sum := 0.0
	drawn := map[int]float64{}
	for range smoothTrials {
		clear(drawn)
		got := math.Inf(1)
		for _, c := range all {
			got = min(got, c.window.Of(func(i int) float64 {
				v, ok := drawn[i]
				if !ok {
					v = truth[i] + u[i]*rng.NormFloat64()
					drawn[i] = v
				}
				return v
			}))
		}
		sum += got
	}
	return sense * (sum/smoothTrials - least)
}
