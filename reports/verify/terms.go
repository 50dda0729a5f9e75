package verify

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/measured"
	"wedgework/reports/uncertainty"
)

// The steps over which the model's slopes are taken: wide against rounding, narrow against the curve.
const (
	slopeLength      = 0.05 * quantity.Nanometre
	slopeTemperature = quantity.Temperature(0.2)
)

// evaluateTerms evaluates the budget at every observation, with the slopes of the model m: the best known one,
// for the slope near a null depends on where the null is, and where the pulls z put the readings. level is
// the leak power, floor included, of which errors in dB are a fraction: see levels.
func evaluateTerms(ctx context.Context, d *data, b uncertainty.Budget, m Model, z pulls, level []float64) ([]term, error) {
	p := newBatch(d, d.moved(d.obs, b, z))
	slopes := p.slopes(ctx, m)
	var terms []term
	point, column := false, false
	for _, o := range d.obs {
		column = column || !math.IsNaN(o.column)
	}
	for _, c := range b.Contributions {
		standard, err := c.Standard()
		if err != nil {
			return nil, err
		}
		if standard == 0 {
			continue
		}
		t := term{name: c.Name, value: c.Value, distribution: c.Distribution, divisor: c.Value.SI() / standard,
			standard: standard, dof: finite(c.DOF), shared: c.SharedBy(), u: make([]float64, len(d.obs))}
		if t.distribution == "" {
			t.distribution = uncertainty.Normal
		}
		switch c.Value.Dimension() {
		case quantity.OfLength, quantity.OfTemperature:
			slope, err := slopes(c.Value.Dimension())
			if err != nil {
				return nil, err
			}
			for i, o := range d.obs {
				if t.shared == uncertainty.ByPoint && d.Rows[o.row].abscissa(c.Value.Dimension()) > 0 {
					continue // the file says it better
				}
				t.u[i] = standard * slope[i]
			}
		default:
			for i, o := range d.obs {
				if t.shared == uncertainty.ByPoint && !math.IsNaN(o.column) {
					continue // the file says it better
				}
				t.u[i] = standard * o.perLevel(level[i])
			}
			point = point || t.shared == uncertainty.ByPoint
		}
		terms = append(terms, t)
	}
	if column {
		t := term{name: "stated in the file", distribution: uncertainty.Normal, divisor: 1, shared: uncertainty.ByPoint,
			value: quantity.Of(0, "dB"), u: make([]float64, len(d.obs))}
		for i, o := range d.obs {
			if !math.IsNaN(o.column) {
				t.u[i] = o.column * o.perLevel(level[i])
			}
		}
		terms = append(terms, t)
	}
	more, err := abscissae(d, slopes)
	if err != nil {
		return nil, err
	}
	terms = append(terms, more...)
	for _, o := range d.obs {
		switch {
		case math.IsNaN(o.column) && !point:
			return nil, fmt.Errorf("line %d: the reading has no uncertainty of its own: give the budget a repeatability, as in repeatability=0.05*dB, or the file a column u(%s)",
				d.Rows[o.row].Line, o.quantity)
		case !math.IsNaN(o.column) && !(o.column > 0):
			return nil, fmt.Errorf("line %d: u(%s) is %g dB: a positive uncertainty was expected", d.Rows[o.row].Line, o.quantity, o.column)
		}
	}
	if d.floor != nil && d.back > 0 {
		terms = append(terms, d.floorTerm(b.Floor))
	}
	return withRipple(ctx, d, p, m, terms)
}

// slopes returns the model's slopes over wavelength and temperature, each evaluated when it is first asked for.
func (p *batch) slopes(ctx context.Context, m Model) func(quantity.Dimension) ([]float64, error) {
	known := map[quantity.Dimension][]float64{}
	return func(d quantity.Dimension) ([]float64, error) {
		if known[d] != nil {
			return known[d], nil
		}
		over, dl, dt := "wavelength", slopeLength, quantity.Temperature(0)
		if d == quantity.OfTemperature {
			over, dl, dt = "temperature", 0, slopeTemperature
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
func abscissae(d *data, slopes func(quantity.Dimension) ([]float64, error)) ([]term, error) {
	var terms []term
	for _, c := range []struct {
		name, unit string
		of         quantity.Dimension
	}{{measured.Wavelength, "nm", quantity.OfLength}, {measured.Temperature, "kelvin", quantity.OfTemperature}} {
		if !slices.ContainsFunc(d.Rows, func(r Reading) bool { return r.abscissa(c.of) > 0 }) {
			continue
		}
		slope, err := slopes(c.of)
		if err != nil {
			return nil, err
		}
		t := term{name: c.name + ", stated in the file", distribution: uncertainty.Normal, divisor: 1, shared: uncertainty.ByPoint,
			value: quantity.Of(0, c.unit), u: make([]float64, len(d.obs))}
		for i, o := range d.obs {
			t.u[i] = d.Rows[o.row].abscissa(c.of) * slope[i]
		}
		terms = append(terms, t)
	}
	return terms, nil
}

// levels returns the leak powers that model m leads to expect, floor included. A fit must take its
// relative errors of these and not of the readings: an error shared by all, taken as a fraction of noisy
// readings, pulls a fit low by about its square times the number of readings (R. W. Peelle's puzzle; G.
// D'Agostini, Nuclear Instruments and Methods A 346, 306, 1994). Where the model is off by more than a
// factor of 2 it says nothing, and the reading stands.
func levels(ctx context.Context, d *data, b uncertainty.Budget, m Model, z pulls) ([]float64, error) {
	expected, err := newBatch(d, d.moved(d.obs[:d.back], b, z)).predict(ctx, m)
	if err != nil {
		return nil, err
	}
	level := d.powers()
	for i := range d.back {
		e := expected[i]
		if d.floor != nil {
			e += d.floor.Power
		}
		if e < 2*level[i] && e > level[i]/2 {
			level[i] = e
		}
	}
	return level, nil
}

// floorName is how a budget calls the fixture's floor.
const floorName = "floor"

func (d *data) floorTerm(f *uncertainty.Floor) term {
	t := term{name: floorName, value: f.Uncertainty, distribution: uncertainty.Normal, divisor: 1,
		standard: d.floor.Standard / d.floor.Power / perDecibel, dof: finite(f.DOF), shared: uncertainty.ByAll, u: make([]float64, len(d.obs))}
	if !d.floor.Stated {
		t.value, t.distribution, t.divisor = quantity.FromSI(t.standard*math.Sqrt(3), quantity.MustNamed("dB")), uncertainty.Rectangular, math.Sqrt(3)
	}
	for i := range d.back {
		t.u[i] = -d.floor.Standard
	}
	return t
}

// rippleName is how the budget calls the model's ghost ripple.
const rippleName = "ghost ripple of the model"

// withRipple adds what the model leaves open because it averages ghost ripple out. It belongs to each point:
// over a sweep the fringes average out.
func withRipple(ctx context.Context, d *data, p *batch, m Model, terms []term) ([]term, error) {
	all, err := p.ripple(ctx, m)
	if err != nil {
		return nil, fmt.Errorf("ghost ripple: %w", err)
	}
	t := term{name: rippleName, distribution: uncertainty.Arcsine, divisor: math.Sqrt2, shared: uncertainty.ByPoint,
		model: true, value: quantity.Of(0, "dB"), u: make([]float64, len(d.obs))}
	seen := false
	for i := range d.back {
		if t.u[i] = all[i].T1; d.scrambled {
			t.u[i] = all[i].Mean
		}
		seen = seen || t.u[i] > 0
	}
	if seen {
		terms = append(terms, t)
	}
	return terms, nil
}
