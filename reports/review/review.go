// Package review holds a design against limits before a unit of it exists: the figures of a stack, each the extreme
// over the whole band and range of temperatures of its limit, with margins and the place of the extreme, and a verdict.
//
// The figures are those of the model as drawn, with double reflections averaged: they have no uncertainty of
// measurement, and no guard band applies. What tolerances make of them is the yield, which the caller samples
// (optics/tolerance).
package review

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/stack"
	"wedgework/optics/tolerance"
	"wedgework/reports/document"
	"wedgework/reports/limits"
	"wedgework/reports/verify/text"
)

// Spec is a design with what is required of it.
type Spec struct {
	Name   string // as a report calls the design
	Stack  *stack.Stack
	Limits limits.Limits
	Yield  *Yield // of units sampled within tolerances; nil for none
}

// Yield is how many of sampled units meet limits.
type Yield struct {
	Units, Good int
	Low, High   float64     // 95 % interval of the share
	Each        []int       // units that meet each limit, in the order of the limits
	Least       float64     // share of units that is required; 0 for no requirement
	Seed        uint64      // of the sample
	How         string      // what was done to each unit
	Tolerances  []Tolerance // in the order of the stack's parameters
}

// Tolerance is how far a parameter may be off, in words: "normal, 0.3 deg".
type Tolerance struct{ Path, Text string }

// Result is what a review found.
type Result struct {
	Spec
	Figures    []Figure // in the order of the limits
	Curves     []Curve  // by quantity, in the order of the limits, and rising temperature
	Conformity Verdict  // of the figures with the limits
	Enough     *Verdict // of the yield with what is required of it; nil without a requirement
	Cautions   []string // of the model
}

// Verdict is a judgement with its reason.
type Verdict struct {
	Outcome  document.Outcome
	Sentence string
}

// Figure is the extreme of a quantity, with its limit.
type Figure struct {
	Limit       limits.Limit
	Value       float64 // in the unit of the quantity; NaN where the design has none
	Margin      float64 // positive where the limit is met
	Wavelength  quantity.Length
	Temperature quantity.Temperature
	Port        int    // of a return loss, the port with the smaller one: 1 or 2; else 0
	Why         string // why the figure does not decide
	Outcome     document.Outcome
}

// Curve is a quantity over wavelength, at one temperature.
type Curve struct {
	Quantity    limits.Quantity
	Temperature quantity.Temperature
	Wavelengths []quantity.Length
	Values      []float64 // in the unit of the quantity
}

// Passes reports whether every verdict is a pass.
func (r *Result) Passes() bool {
	return r.Conformity.Outcome == document.Pass && (r.Enough == nil || r.Enough.Outcome == document.Pass)
}

// Run reviews a design. An error is the context's, that of a limit that no design can be held against, or that of a
// wavelength or temperature outside what a material is known for.
func Run(ctx context.Context, spec Spec) (*Result, error) {
	if len(spec.Limits) == 0 {
		return nil, fmt.Errorf("no limit was given")
	}
	for i, l := range spec.Limits {
		if err := l.Check(); err != nil {
			return nil, fmt.Errorf("limit %d: %w", i+1, err)
		}
		if l.Change != nil {
			return nil, fmt.Errorf("limit %d: a change of %s since %s is of a measured unit; a design has none", i+1,
				l.Quantity, l.Change.Since)
		}
	}
	r := &Result{Spec: spec, Cautions: spec.Stack.Cautions()}
	var err error
	if r.Figures, err = Figures(ctx, spec.Stack, spec.Limits); err != nil {
		return nil, err
	}
	if r.Curves, err = curves(ctx, spec.Stack, r.Figures); err != nil {
		return nil, err
	}
	r.Conformity = conformity(r.Figures)
	if y := spec.Yield; y != nil && y.Least > 0 {
		r.Enough = y.verdict()
	}
	return r, nil
}

// Figures finds the extreme of each limit. An error is the context's, or that of a wavelength or temperature outside
// what a material is known for.
func Figures(ctx context.Context, s *stack.Stack, all limits.Limits) ([]Figure, error) {
	found := make([]Figure, len(all))
	return found, parallel.Each(len(all), func(k int) (err error) {
		if found[k], err = figure(ctx, s, all[k]); err != nil {
			err = fmt.Errorf("%s, %s: %w", all[k].Quantity.Extreme(), text.Condition(all[k]), err)
		}
		return err
	})
}

// figure finds the extreme that a limit is on.
func figure(ctx context.Context, s *stack.Stack, l limits.Limit) (Figure, error) {
	x, err := tolerance.Region{Quantity: string(l.Quantity), Low: l.Low, High: l.High, Coldest: l.TemperatureLow,
		Warmest: l.TemperatureHigh}.Worst(ctx, s)
	if err != nil {
		return Figure{}, err
	}
	f := Figure{Limit: l, Value: inUnit(x.Value, l.Quantity), Wavelength: x.Wavelength, Temperature: x.Temperature}
	f.Margin = l.Value - f.Value
	if l.AtLeast {
		f.Margin = -f.Margin
	}
	if l.Quantity == limits.ReturnLoss {
		if f.Port, err = port(s, x); err != nil {
			return f, err
		}
	}
	switch {
	case math.IsNaN(f.Value):
		f.Why = fmt.Sprintf("there is no %s at %s, %s, where only one polarization passes", l.Quantity,
			text.Nanometres(x.Wavelength), text.Celsius(x.Temperature))
	case x.Fringes > 0 && f.Margin >= 0:
		f.Why = fmt.Sprintf("the band holds %.0f periods of interference between rays, more than are resolved",
			x.Fringes)
	}
	switch {
	case f.Why != "":
		f.Outcome = document.Undecided
	case f.Margin >= 0:
		f.Outcome = document.Pass
	default:
		f.Outcome = document.Fail
	}
	return f, nil
}

// port is that with the smaller return loss at the extreme.
func port(s *stack.Stack, x tolerance.Extreme) (int, error) {
	var losses [2]float64
	for i, d := range []stack.Direction{stack.Forward, stack.Backward} {
		r, err := s.ReturnLoss(d, x.Wavelength, x.Temperature, false)
		if err != nil {
			return 0, err
		}
		losses[i] = r.Loss
	}
	if losses[1] < losses[0] {
		return 2, nil
	}
	return 1, nil
}

// inUnit is a figure of package tolerance in the unit of its quantity.
func inUnit(v float64, q limits.Quantity) float64 {
	if q == limits.DGD {
		return quantity.FromSI(v, quantity.MustNamed(q.Unit())).Value
	}
	return v
}

// curvePoints and curveReturns are how many wavelengths a curve has; a return loss takes every face anew.
const curvePoints, curveReturns = 121, 31

// curves computes what is drawn: each quantity over the widest of its bands, at the ends of its ranges of temperature
// and where a figure is worst. What is limited at one wavelength has no curve.
func curves(ctx context.Context, s *stack.Stack, figures []Figure) ([]Curve, error) {
	var all []Curve
	for i, f := range figures {
		q := f.Limit.Quantity
		if slices.ContainsFunc(figures[:i], func(o Figure) bool { return o.Limit.Quantity == q }) {
			continue
		}
		low, high := f.Limit.Low, f.Limit.High
		var at []quantity.Temperature
		for _, o := range figures[i:] {
			if o.Limit.Quantity == q {
				low, high = min(low, o.Limit.Low), max(high, o.Limit.High)
				at = append(at, o.Limit.TemperatureLow, o.Limit.TemperatureHigh, o.Temperature)
			}
		}
		if low == high {
			continue
		}
		slices.Sort(at)
		at = apart(at)
		n := curvePoints
		if q == limits.ReturnLoss {
			n = curveReturns
		}
		ls := tolerance.Spaced(low, high, n)
		values, err := tolerance.Each(ctx, s, tolerance.Figure{Quantity: string(q), Wavelengths: ls,
			Temperatures: at})
		if err != nil {
			return nil, err
		}
		for k, t := range at {
			c := Curve{Quantity: q, Temperature: t, Wavelengths: ls, Values: values[k*n : (k+1)*n]}
			for m, v := range c.Values {
				c.Values[m] = inUnit(v, q)
			}
			all = append(all, c)
		}
	}
	return all, nil
}

// apart leaves out temperatures within half a kelvin of one before: their curves would cover each other.
func apart(sorted []quantity.Temperature) []quantity.Temperature {
	kept := sorted[:1]
	for _, t := range sorted[1:] {
		if t-kept[len(kept)-1] > 0.5 {
			kept = append(kept, t)
		}
	}
	return kept
}
