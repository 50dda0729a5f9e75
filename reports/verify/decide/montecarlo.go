package decide

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"

	"wedgework/optics/quantity"
	"wedgework/reports/curve"
	"wedgework/reports/limits"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// MonteCarlo is the check of a figure's budget by the Monte Carlo method (JCGM 101:2008, clause 8). The contributions
// act as they do in the bench: errors in dB on the power as read, the floor in power, wavelength and temperature along
// the model's curve and not along its tangent. Both intervals hold 95.45 %, with as much on either side.
type MonteCarlo struct {
	Trials    int // 0: not done, for the figure is a bound
	Stable    bool
	Low, High float64 // dB, 120 where the leakage may be none at all

	LinearLow, LinearHigh float64
	Tolerance             float64 // numerical: half a unit of the first significant digit of the standard uncertainty
	Agrees                bool    // both ends agree within Tolerance; the figure is else decided by Low and High
}

// check adds the Monte Carlo check to a decision and its budget, and decides anew where linear propagation does not
// hold.
func (e *Evidence) check(ctx context.Context, l limits.Limit, of *band, d *Decision, b *FigureBudget) error {
	if b == nil || d.AtLeast || b.Standard == 0 {
		return nil
	}
	s, err := e.simulate(ctx, l, of, b)
	if err != nil {
		return fmt.Errorf("the %s, checked by Monte Carlo: %w", l.Quantity.Extreme(), err)
	}
	linear := uncertainty.Estimate{Value: of.value, Standard: b.Standard, DOF: b.DOF}
	v := uncertainty.Validate(linear, s, 1)
	m := &b.MonteCarlo
	*m = MonteCarlo{Trials: s.Trials, Stable: s.Stable, Low: s.Low, High: min(s.High, readings.Most),
		LinearLow: v.Low, LinearHigh: v.High, Tolerance: v.Tolerance, Agrees: v.Agrees}
	if m.Agrees {
		return nil
	}
	low, high := l.Value, math.Inf(1)
	if !l.AtLeast {
		low, high = math.Inf(-1), l.Value
	}
	d.Decision = d.Decision.Between(m.Low, m.High, s.Between(low, high))
	d.settle()
	return nil
}

// simulate draws the errors of a budget's lines and works out the figure from each.
func (e *Evidence) simulate(ctx context.Context, l limits.Limit, of *band,
	b *FigureBudget) (*uncertainty.Simulated, error) {
	s := &simulated{evidence: e, of: of, scale: readings.ScaleOf(l.Quantity), floor: -1, drawn: -1}
	var inputs []uncertainty.Input
	if of.extreme != nil { // the distribution that the curve gives, by its quantiles
		s.drawn = 0
		inputs = append(inputs, uncertainty.Input{Estimate: uncertainty.Estimate{Standard: 1 / math.Sqrt(3)},
			Distribution: uncertainty.Rectangular})
	}
	for _, line := range b.Lines {
		if s.drawn >= 0 && inCurve(line) && line.Name != correctionName {
			continue // it is in the curve's
		}
		in := uncertainty.Input{Estimate: uncertainty.Estimate{Standard: line.Standard *
			readings.PerUnit(line.Value.Unit),
			DOF: line.DOF}, Distribution: line.Distribution}
		k := len(inputs)
		switch dimension := line.Value.Dimension(); {
		case dimension == quantity.OfLength || dimension == quantity.OfTemperature:
			f, err := e.along(ctx, of.candidate.obs, in.Standard, dimension)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", line.Name, err)
			}
			s.moves = append(s.moves, move{k, f})
		case line.Name == predict.FloorName:
			s.floor = k
			if !e.Floor.Stated { // the power itself is rectangular
				in.Standard = e.Floor.Standard
			}
		case line.Name == readings.BiasName(l.Quantity): // on the square
			in.Standard = e.Obs[of.obs].Open / math.Sqrt(3)
			s.squares = append(s.squares, k)
		case s.scale == readings.Square: // on the length itself, whose slope the square has lost near zero
			in.Standard = line.Standard * readings.PerUnit(line.Value.Unit) /
				readings.PerUnit(quantity.MustNamed(l.Quantity.Unit()))
			s.plain = append(s.plain, k)
		case line.Name == correctionName || s.scale == readings.Level:
			in.Standard = line.Contribution
			s.plain = append(s.plain, k)
		default:
			s.levels = append(s.levels, k)
		}
		inputs = append(inputs, in)
	}
	return uncertainty.Simulate(s.figure, inputs, uncertainty.Simulation{})
}

// simulated is a figure as its errors make it; each error is known by its place among those drawn.
type simulated struct {
	evidence *Evidence
	of       *band
	scale    readings.Scale
	drawn    int    // the place in the distribution of the curve's extreme; -1 without one
	levels   []int  // errors in dB of the power as read
	plain    []int  // errors added to the figure
	squares  []int  // errors added to its square
	moves    []move // errors of wavelength and temperature
	floor    int    // the error of the floor; -1 without one
}

// move is by how much an error of wavelength or temperature moves the value of an observation.
type move struct {
	input int
	by    func(float64) float64
}

// figure returns what is measured with these errors: of an isolation the power as read less the floor, and of a PDL or
// DGD nothing below zero.
func (s *simulated) figure(x []float64) float64 {
	c, floor := s.of.candidate, s.evidence.Floor
	if !s.evidence.Obs[c.obs].Backward() {
		floor = nil
	}
	value, power := c.value, c.power
	if s.drawn >= 0 {
		value = curve.Quantile(s.of.extreme, (x[s.drawn]+1)/2)
		power = value / quantity.Ratio(-c.correction) // from the worst polarization to the mean
		if floor != nil {
			power += floor.Power
		}
	}
	added, moved, off := 0.0, 0.0, 0.0
	for _, k := range s.plain {
		added += x[k]
	}
	for _, m := range s.moves {
		moved += m.by(x[m.input])
	}
	switch s.scale {
	case readings.Level:
		return value + added - moved
	case readings.Square:
		if s.drawn < 0 {
			value *= value
		}
		for _, k := range s.squares {
			moved -= x[k]
		}
		return max(s.scale.Figure(value-moved)+added, 0)
	}
	for _, k := range s.levels {
		off += x[k]
	}
	net := power*ratio(off) - moved
	if floor != nil {
		dark := floor.Power
		switch {
		case s.floor >= 0 && floor.Stated:
			dark *= ratio(x[s.floor])
		case s.floor >= 0:
			dark += x[s.floor]
		}
		net -= dark
	}
	if net <= 0 {
		return math.Inf(1)
	}
	return -quantity.Decibels(net) + c.correction + added
}

// followed is how many standard uncertainties an error is followed along the curve; beyond, where one trial in ten
// thousand falls, the curve is taken as level.
const followed = 4

// along returns by how much an observation's value moves with an error of wavelength or temperature, in SI units, by
// the selected model's curve: a spline through nine points of it. The reading is off by that much, the figure by its
// negative: near the null it matters which.
func (e *Evidence) along(ctx context.Context, obs int, standard float64,
	of quantity.Dimension) (func(float64) float64, error) {
	const half = 4
	at := e.Moved(e.Obs[obs:obs+1], e.Budget, e.Best.Pulls)[0]
	var errors []float64
	var moved []readings.Observation
	for k := -half; k <= half; k++ {
		e := followed * standard * float64(k) / half
		o := at
		if of == quantity.OfLength {
			o.Wavelength += quantity.Length(e)
		} else {
			o.Temperature += quantity.Temperature(e)
		}
		errors, moved = append(errors, e), append(moved, o)
	}
	values := make([]float64, len(moved))
	for k := range moved { // one by one: a plan interpolates over the temperatures of a run
		v, err := predict.NewBatch(e.Set, moved[k:k+1]).Predict(ctx, e.Best.Model)
		if err != nil {
			return nil, err
		}
		values[k] = v[0]
	}
	centre := values[half]
	for k := range values {
		values[k] -= centre
	}
	var s interp.AkimaSpline
	if err := s.Fit(errors, values); err != nil {
		return nil, err
	}
	step := errors[1] - errors[0]
	slopes := make([]float64, len(errors)) // per step
	for k, e := range errors {
		slopes[k] = s.PredictDerivative(e) * step
	}
	return func(e float64) float64 { // as s.Predict, but the points are evenly spaced: none needs looking for
		at := min(max(e/step+half, 0), 2*half)
		k := min(int(at), 2*half-1)
		u := at - float64(k)
		rise := values[k+1] - values[k]
		return values[k] + u*(slopes[k]+u*(3*rise-2*slopes[k]-slopes[k+1]+u*(slopes[k]+slopes[k+1]-2*rise)))
	}, nil
}

// ratio is quantity.Ratio to within rounding, faster: the trials are many.
func ratio(db float64) float64 { return math.Exp(db * (math.Ln10 / 10)) }
