package diagnose

import (
	"context"
	"math"
	"slices"
	"strings"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
	"wedgework/reports/verify/text"
)

// Correction is a turn of a part that takes out what the diagnosis found, as far as a turn can: the film stays as it
// is, but the angle between the axes is made to suit it.
type Correction struct {
	Path  string            // of the parameter turned: "wedge2.roll"
	Part  string            // "wedge2"
	Turn  quantity.Quantity // from +x towards +y
	U     float64           // expanded uncertainty of Turn, in its unit
	Gains []Gain            // minimum isolation by the fitted model, in the order of the limits
	Loss  [2]float64        // maximum insertion loss, dB, before and after
}

// Gain is what a correction does for one limit.
type Gain struct {
	Limit         int // index into Spec.Limits; -1: the isolation at Spec.LossAt where there is no limit
	Condition     string
	Before, After float64 // dB
}

const (
	// worthwhile is the least gain that a correction is offered for, in dB: less does not show in a reading.
	worthwhile = 0.1
	// across is at how many wavelengths a band is looked at.
	across = 13
)

// remedy is what a correction has to suit.
type remedy struct {
	limits limits.Limits
	lossAt quantity.Length
	runs   []readings.Sweep
}

// correct looks for a turn of a part that looks like a departure outside tolerance; the last such part, which the line
// bonds last. Nil when there is none, or when it gains nothing.
func correct(ctx context.Context, g *Diagnosis, m model.Model, r remedy) (*Correction, error) {
	for _, d := range g.Departures {
		if !slices.Contains(g.Causes, d.Path) {
			continue
		}
		for _, suffix := range []string{".roll", ".axis"} {
			var turn *Alike
			for k := range d.Alike {
				if strings.HasSuffix(d.Alike[k].Path, suffix) {
					turn = &d.Alike[k]
				}
			}
			if turn == nil {
				continue
			}
			c, err := r.turned(ctx, m, *turn, math.Abs(d.U/d.Departure))
			if err != nil || c != nil {
				return c, err
			}
		}
	}
	return nil, nil
}

// turned seeks the turn by the path of an Alike that is best for the isolation limits; relative is the uncertainty of
// the departure over itself.
func (r *remedy) turned(ctx context.Context, m model.Model, like Alike, relative float64) (*Correction, error) {
	v, err := model.VariableOf(m, like.Path)
	if err != nil {
		return nil, err
	}
	at := func(turn float64) (model.Model, error) {
		return model.Adjust(m, []*model.Variable{v}, []float64{v.At + turn})
	}
	bands := r.bands()
	// worst is the leakage over what is allowed, in the band where that is most.
	worst := func(turn float64) (float64, error) {
		turned, err := at(turn)
		if err != nil {
			return 0, err
		}
		most := 0.0
		for _, b := range bands {
			leak, err := r.greatest(ctx, turned, model.Backward, b)
			if err != nil {
				return 0, err
			}
			most = max(most, leak*quantity.Ratio(b.Value))
		}
		return most, nil
	}
	guess := -quantity.Attach(like.Departure.Value, like.Departure.Unit).SI()
	reach := math.Abs(guess)/2 + 0.2*float64(quantity.Degree)
	turn, err := model.BestTurn(worst, guess-reach, guess+reach)
	if err != nil {
		return nil, err
	}
	after, err := at(turn)
	if err != nil {
		return nil, err
	}
	part, _ := model.Split(like.Path)
	c := &Correction{Path: like.Path, Part: part, Turn: quantity.FromSI(turn, like.Departure.Unit)}
	c.U = math.Abs(c.Turn.Value) * relative
	gain := 0.0
	for _, b := range bands {
		one := Gain{Limit: slices.Index(r.limits, b), Condition: text.Condition(b)}
		for side, of := range []model.Model{m, after} {
			leak, err := r.greatest(ctx, of, model.Backward, b)
			if err != nil {
				return nil, err
			}
			*[]*float64{&one.Before, &one.After}[side] = readings.Decibels(math.Sqrt(leak))
			loss, err := r.greatest(ctx, of, model.Forward, b)
			if err != nil {
				return nil, err
			}
			c.Loss[side] = max(c.Loss[side], loss)
		}
		gain = max(gain, one.After-one.Before)
		c.Gains = append(c.Gains, one)
	}
	if gain < worthwhile {
		return nil, nil
	}
	return c, nil
}

// bands are the isolation limits; without one the neighbourhood of the wavelength of the insertion loss, all runs.
func (r *remedy) bands() []limits.Limit {
	var all []limits.Limit
	for _, l := range r.limits {
		if l.Quantity == limits.Isolation && l.AtLeast {
			all = append(all, l)
		}
	}
	if len(all) == 0 {
		runs := r.runs
		middle := runs[len(runs)/2].Temperature
		all = append(all, limits.Limit{Quantity: limits.Isolation, AtLeast: true, Value: 30,
			Low: r.lossAt - readings.LossReach, High: r.lossAt + readings.LossReach,
			TemperatureLow: middle, TemperatureHigh: middle})
	}
	return all
}

// greatest returns the greatest leakage over a limit's band at both ends of its temperatures, and of runs between;
// forward the greatest loss in dB.
func (r *remedy) greatest(ctx context.Context, m model.Model, d model.Direction, l limits.Limit) (float64, error) {
	ts := []quantity.Temperature{l.TemperatureLow}
	if l.TemperatureHigh != l.TemperatureLow {
		ts = append(ts, l.TemperatureHigh)
		for _, run := range r.runs {
			if run.Temperature > l.TemperatureLow+readings.TemperatureMargin &&
				run.Temperature < l.TemperatureHigh-readings.TemperatureMargin {
				ts = append(ts, run.Temperature)
			}
		}
	}
	var ls []quantity.Length
	for k := range across {
		ls = append(ls, l.Low+(l.High-l.Low)*quantity.Length(k)/(across-1))
	}
	most := math.Inf(-1)
	for _, t := range ts {
		all, err := m.Over(ctx, d, ls, t)
		if err != nil {
			return 0, err
		}
		for _, v := range all {
			if d == model.Backward {
				most = max(most, v.T1)
			} else {
				most = max(most, -quantity.Decibels(v.T2))
			}
		}
	}
	return most, nil
}

// Decimals returns the decimals of the turn: two significant digits of its uncertainty.
func (c *Correction) Decimals() int { return text.TwoDigits(c.U) }

// Cost returns the insertion loss that the correction adds, in dB.
func (c *Correction) Cost() float64 { return max(c.Loss[1]-c.Loss[0], 0) }
