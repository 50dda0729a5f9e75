package predict

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// The steps over which the model's slopes are taken: wide against rounding, narrow against the curve.
const (
	SlopeLength      = 0.05 * quantity.Nanometre
	SlopeTemperature = quantity.Temperature(0.2)
)

// Terms evaluates the budget at every observation, with the slopes of the model m: the best known one,
// for the slope near a null depends on where the null is, and where the pulls z put the readings. level is
// the leakage power, floor included, of which errors in dB are a fraction: see Levels.
func Terms(ctx context.Context, d *readings.Set, b uncertainty.Budget, m model.Model, z readings.Pulls,
	level []float64) ([]readings.Term, error) {
	p := NewBatch(d, d.Moved(d.Obs, b, z))
	slopes := p.slopes(ctx, m)
	var terms []readings.Term
	for _, c := range b.Contributions {
		t, err := contributed(d, c, slopes, level)
		if err != nil {
			return nil, err
		}
		if t != nil {
			terms = append(terms, *t)
		}
	}
	if t := statedTerm(d, level); t != nil {
		terms = append(terms, *t)
	}
	if t, ok := d.ReferenceTerm(level); ok {
		terms = append(terms, t)
	}
	more, err := abscissae(d, slopes)
	if err != nil {
		return nil, err
	}
	terms = append(terms, more...)
	for _, q := range limits.Quantities {
		if t, ok := d.OpenTerm(q); ok {
			terms = append(terms, t)
		}
	}
	if err := eachUncertain(d, b); err != nil {
		return nil, err
	}
	if d.Floor != nil && d.Back > 0 {
		terms = append(terms, floorTerm(d, b.Floor))
	}
	return withRipple(ctx, d, p, m, terms)
}

// contributed is the term of a contribution of the budget; nil where it contributes nothing. What a file states for
// each reading takes the place of a contribution that belongs to single readings.
func contributed(d *readings.Set, c uncertainty.Contribution, slopes func(quantity.Dimension) ([]float64, error),
	level []float64) (*readings.Term, error) {
	standard, err := c.Standard()
	if err != nil || standard == 0 {
		return nil, err
	}
	t := &readings.Term{Name: c.Name, Value: c.Value, Distribution: c.Distribution, Divisor: c.Value.SI() / standard,
		Standard: standard, DOF: readings.Finite(c.DOF), Shared: c.SharedBy(), U: make([]float64, len(d.Obs))}
	if t.Distribution == "" {
		t.Distribution = uncertainty.Normal
	}
	dimension := c.Value.Dimension()
	if dimension != quantity.OfLength && dimension != quantity.OfTemperature {
		acts := map[limits.Quantity]float64{}
		for _, q := range limits.Quantities {
			acts[q] = readings.Acts(q, c)
		}
		for i, o := range d.Obs {
			if u := acts[o.Quantity]; u > 0 && (t.Shared != uncertainty.ByPoint || math.IsNaN(o.Stated)) {
				t.U[i] = o.Scale().Moved(u, level[i])
			}
		}
		return t, nil
	}
	slope, err := slopes(dimension)
	if err != nil {
		return nil, err
	}
	for i, o := range d.Obs {
		if t.Shared != uncertainty.ByPoint || !(d.Rows[o.Row].Abscissa(dimension) > 0) {
			t.U[i] = standard * slope[i]
		}
	}
	return t, nil
}

// statedTerm is that of the uncertainties which the file states for its readings; nil where it states none.
func statedTerm(d *readings.Set, level []float64) *readings.Term {
	if !slices.ContainsFunc(d.Obs, func(o readings.Observation) bool { return !math.IsNaN(o.Stated) }) {
		return nil
	}
	t := &readings.Term{Name: "stated in the file", Distribution: uncertainty.Normal, Divisor: 1,
		Shared: uncertainty.ByPoint, Value: quantity.Of(0, "dB"), U: make([]float64, len(d.Obs))}
	for i, o := range d.Obs {
		if !math.IsNaN(o.Stated) {
			t.U[i] = o.Scale().Moved(o.Stated, level[i])
		}
	}
	return t
}

// eachUncertain returns an error for a reading without an uncertainty of its own level: one would outweigh all others.
func eachUncertain(d *readings.Set, b uncertainty.Budget) error {
	for i := range d.Obs {
		o := &d.Obs[i]
		line := d.Rows[o.Row].Line
		switch {
		case math.IsNaN(o.Stated) && !(o.PointNoise(b) > 0):
			return fmt.Errorf("line %d: no uncertainty for this reading alone: add repeatability=0.05*dB, or the "+
				"like, to the budget, or a column u(%s) to the file", line, o.Quantity)
		case !math.IsNaN(o.Stated) && !(o.Stated > 0):
			return fmt.Errorf("line %d: u(%s) is %g %s, expected a positive uncertainty", line, o.Quantity, o.Stated,
				o.Quantity.Unit())
		}
	}
	return nil
}

// slopes returns the model's slopes over wavelength and temperature, each evaluated when it is first asked for.
func (p *Batch) slopes(ctx context.Context, m model.Model) func(quantity.Dimension) ([]float64, error) {
	known := map[quantity.Dimension][]float64{}
	return func(d quantity.Dimension) ([]float64, error) {
		if known[d] != nil {
			return known[d], nil
		}
		over, dl, dt := "wavelength", SlopeLength, quantity.Temperature(0)
		if d == quantity.OfTemperature {
			over, dl, dt = "temperature", 0, SlopeTemperature
		}
		slope, err := p.slope(ctx, m, dl, dt)
		if err != nil {
			return nil, fmt.Errorf("slope over %s: %w", over, err)
		}
		known[d] = slope
		return slope, nil
	}
}

// abscissae are the terms of columns u(wavelength) and u(temperature): errors of each reading of its own.
func abscissae(d *readings.Set, slopes func(quantity.Dimension) ([]float64, error)) ([]readings.Term, error) {
	var terms []readings.Term
	for _, c := range []struct {
		name, unit string
		of         quantity.Dimension
	}{{measured.Wavelength, "nm", quantity.OfLength}, {measured.Temperature, "kelvin", quantity.OfTemperature}} {
		if !slices.ContainsFunc(d.Rows, func(r readings.Reading) bool { return r.Abscissa(c.of) > 0 }) {
			continue
		}
		slope, err := slopes(c.of)
		if err != nil {
			return nil, err
		}
		t := readings.Term{Name: c.name + ", stated in the file", Distribution: uncertainty.Normal, Divisor: 1,
			Shared: uncertainty.ByPoint,
			Value:  quantity.Of(0, c.unit), U: make([]float64, len(d.Obs))}
		for i, o := range d.Obs {
			t.U[i] = d.Rows[o.Row].Abscissa(c.of) * slope[i]
		}
		terms = append(terms, t)
	}
	return terms, nil
}

// Levels returns the leakage powers that model m leads to expect, floor included. A fit must take its
// relative errors of these and not of the readings: an error shared by all, taken as a fraction of noisy
// readings, pulls a fit low by about its square times the number of readings (R. W. Peelle's puzzle; G.
// D'Agostini, Nuclear Instruments and Methods A 346, 306, 1994). Where the model is off by more than a
// factor of 2 it says nothing, and the reading stands.
func Levels(ctx context.Context, d *readings.Set, b uncertainty.Budget, m model.Model,
	z readings.Pulls) ([]float64, error) {
	expected, err := NewBatch(d, d.Moved(d.Obs[:d.Back], b, z)).Predict(ctx, m)
	if err != nil {
		return nil, err
	}
	level := d.Powers()
	for i := range d.Back {
		e := expected[i]
		if d.Floor != nil {
			e += d.Floor.Power
		}
		if e < 2*level[i] && e > level[i]/2 {
			level[i] = e
		}
	}
	return level, nil
}

// FloorName is how a budget calls the fixture's floor.
const FloorName = "floor"

func floorTerm(d *readings.Set, f *uncertainty.Floor) readings.Term {
	t := readings.Term{Name: FloorName, Value: f.Uncertainty, Distribution: uncertainty.Normal, Divisor: 1,
		Standard: d.Floor.Standard / d.Floor.Power / readings.PerDecibel, DOF: readings.Finite(f.DOF),
		Shared: uncertainty.ByAll, U: make([]float64, len(d.Obs))}
	if !d.Floor.Stated {
		t.Value, t.Distribution, t.Divisor = quantity.FromSI(t.Standard*math.Sqrt(3), quantity.MustNamed("dB")),
			uncertainty.Rectangular, math.Sqrt(3)
	}
	for i := range d.Back {
		t.U[i] = -d.Floor.Standard
	}
	return t
}

// RippleName is how the budget calls the model's ghost ripple, ReturnRippleName that of reflections among each other.
const (
	RippleName       = "double-reflection ripple of the model"
	ReturnRippleName = "interference of reflections"
)

// withRipple adds what the model leaves open because it averages ghost ripple out. It belongs to each point:
// over a sweep the fringes average out.
func withRipple(ctx context.Context, d *readings.Set, p *Batch, m model.Model,
	terms []readings.Term) ([]readings.Term, error) {
	all, err := p.ripple(ctx, m)
	if err != nil {
		return nil, fmt.Errorf("ripple from double reflections: %w", err)
	}
	t := readings.Term{Name: RippleName, Distribution: uncertainty.Arcsine, Divisor: math.Sqrt2,
		Shared: uncertainty.ByPoint,
		Model:  true, Value: quantity.Of(0, "dB"), U: make([]float64, len(d.Obs))}
	seen := false
	for i := range d.Back {
		if t.U[i] = all[i].T1; d.Scrambled {
			t.U[i] = all[i].Mean
		}
		seen = seen || t.U[i] > 0
	}
	if seen {
		terms = append(terms, t)
	}
	single := t
	single.Name, single.U = ReturnRippleName, make([]float64, len(d.Obs))
	seen = false
	for i := range d.Obs {
		if d.Obs[i].Quantity == limits.ReturnLoss {
			single.U[i], seen = all[i].T1, true
		}
	}
	if seen {
		terms = append(terms, single)
	}
	return terms, nil
}
