package predict

import (
	"context"
	"math"

	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/readings"
)

// Uncertain is a model with what is not known of its parameters: a fan, or scatter.
type Uncertain interface {
	// spread evaluates it at the observations of a plan.
	Spread(ctx context.Context, p *Batch) (*Spread, error)
}

// Spread is what an uncertain model makes of the values of some observations: either what it makes of them at the
// ends of arms, coverage standard deviations away, or in trials.
type Spread struct {
	Centre []float64
	arms   [][2][]float64
	Trials [][]float64
}

// Sides returns a figure of the spread at its centre, and how far below and above that the expanded uncertainty
// reaches.
//
// Of trials it is the probabilistically symmetric interval (JCGM 101:2008, 7.7), widened to hold the centre: near a
// null nearly all trials lie on one side of it. Of arms the effects of each side are added in quadrature: near a null
// both arms of an angle move the leakage up, and a single symmetric slope would show no effect at all.
func (s *Spread) Sides(figure func(values []float64) float64) (centre, down, up float64) {
	centre = figure(s.Centre)
	if len(s.Trials) > 0 {
		drawn := make([]float64, Trials)[:len(s.Trials)] // of a size that needs no heap, for thousands of figures
		for t, values := range s.Trials {
			drawn[t] = figure(values)
		}
		low, high := tails(drawn)
		return centre, max(centre-low, 0), max(high-centre, 0)
	}
	low, high := 0.0, 0.0
	for _, arm := range s.arms {
		a, b := figure(arm[0])-centre, figure(arm[1])-centre
		l, h := min(a, b, 0), max(a, b, 0)
		low += l * l
		high += h * h
	}
	return centre, readings.Root(low), readings.Root(high)
}

// tails returns the ends of the interval that leaves out as much of the values on either side as an expanded
// uncertainty does. The values are taken for the middles of strata of equal probability, which they are where a single
// parameter was drawn, and between two of them the interval's end lies in proportion.
func tails(values []float64) (low, high float64) {
	place := max((1-uncertainty.Confidence)/2*float64(len(values))-0.5, 0)
	k := int(place)
	last := min(k+1, len(values)-1)
	end := func(sign float64) float64 {
		// The least of them in order: a sort of all, thousands of times, would take longer than the model.
		least := make([]float64, 0, 16)
		for _, v := range values {
			v *= sign
			if len(least) > last && v >= least[last] {
				continue
			}
			j := len(least)
			least = append(least, v)
			for ; j > 0 && least[j-1] > v; j-- {
				least[j] = least[j-1]
			}
			least[j] = v
			least = least[:min(len(least), last+1)]
		}
		return sign * (least[k] + (place-math.Floor(place))*(least[last]-least[k]))
	}
	return end(1), end(-1)
}

// Models is what the specified and the fitted model say of all observations, each with its uncertainty.
type Models struct {
	Specified, Fitted *Spread // fitted is nil when nothing was fitted
}

// Diagnosed is the fitted model; when nothing was fitted, the specified one as if it were exact.
func (m Models) Diagnosed() *Spread {
	if m.Fitted == nil {
		return &Spread{Centre: m.Specified.Centre}
	}
	return m.Fitted
}
