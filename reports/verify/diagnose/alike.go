package diagnose

import (
	"context"
	"math"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/optics/tolerance"
	"wedgework/reports/fit"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

const (
	// plausible bounds the departure an angle without a tolerance may need to be offered as an
	// alternative; a choice: parts are not cut or put together 2 deg off unnoticed.
	plausible = 2 * float64(quantity.Degree)
	// stretch does the same, in multiples, for a parameter with a tolerance.
	stretch = 10
)

// How far off a scale of the bench may be to be offered as an alternative (choices: a source out of calibration, a
// sensor that is not at the unit).
const (
	offScale   = 5 * float64(quantity.Nanometre)
	offChamber = 5 // kelvin
)

// FixturePath stands among parameters for the floor of the fixture.
const FixturePath = "fixture floor"

// lookalikes finds what the readings cannot distinguish from the departure of one parameter: every other angle of
// the model, every parameter with a tolerance, the scales of wavelength and temperature, and the fixture's floor, whose
// derivative is parallel and whose departure would be believable.
type lookalikes struct {
	f          *fitting.Fitter
	m          model.Model
	tolerances map[string]tolerance.Tolerance
	columns    map[string][]float64
	candidates []*model.Variable
	scales     []scale
	floor      []float64
	stated     float64 // power of the floor that was subtracted; 0 for none
}

// scale is one of the bench's that may be off.
type scale struct {
	path   string
	column []float64
	si     float64 // what all of the scale is, in metres or kelvin
	unit   string
	most   float64 // believable
}

func newLookalikes(ctx context.Context, f *fitting.Fitter, m model.Model, tolerances map[string]tolerance.Tolerance,
	d *readings.Set) (*lookalikes, error) {
	l := &lookalikes{f: f, m: m, tolerances: tolerances, columns: map[string][]float64{}}
	for _, p := range m.Parameters() {
		_, toleranced := tolerances[p.Path]
		if (p.Value.Dimension() != quantity.OfAngle || p.Omitted) && !toleranced {
			continue
		}
		if v, err := model.NewVariable(p); err == nil { // without a finite value it has no derivative
			l.candidates = append(l.candidates, v)
		}
	}
	columns := make([][]float64, len(l.candidates))
	err := parallel.Each(len(columns), func(i int) error {
		// A model that cannot be moved this way leaves nil: no departure of it is an explanation.
		columns[i], _ = f.Column(ctx, m, l.candidates[i])
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	var movable []*model.Variable
	for i, v := range l.candidates {
		if columns[i] != nil {
			l.columns[v.Path] = columns[i]
			movable = append(movable, v)
		}
	}
	l.candidates = movable
	// A floor adds the same power to every reading: dy = dP / 2y. Residuals are measured minus model.
	l.floor = make([]float64, f.Count())
	for i := range f.Numbers {
		l.floor[i] = -1 / (2 * f.Measured[i])
	}
	f.Weigh(l.floor)
	if d.Floor != nil {
		l.stated = d.Floor.Power
	}
	return l, l.findScales(ctx, d.Runs)
}

// findScales finds how the readings move with the scales of the bench.
func (l *lookalikes) findScales(ctx context.Context, runs []readings.Sweep) error {
	off := model.OffScale(l.m)
	at, kelvin := 0.0, 0.0
	for _, r := range runs {
		at += float64(r.Low+r.High) / 2 / float64(len(runs))
		kelvin += float64(r.Temperature) / float64(len(runs))
	}
	for _, s := range []scale{{model.WavelengthScale, nil, at, "nm", offScale},
		{model.TemperatureScale, nil, kelvin, "kelvin", offChamber}} {
		v, err := model.VariableOf(off, s.path)
		if err != nil {
			return err
		}
		if s.column, err = l.f.Column(ctx, off, v); err == nil {
			l.scales = append(l.scales, s)
		} else if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}

// floorFor returns the power of a floor that moves the readings as the change d of a parameter with that column does;
// false where it moves them in another way, or the other way.
func (l *lookalikes) floorFor(own []float64, d float64) (power float64, ok bool) {
	if cosine := fit.Cosine(own, l.floor); !(cosine*math.Copysign(1, d) > fitting.Inseparable) {
		return 0, false
	}
	return d * fit.Dot(own, l.floor) / fit.Dot(l.floor, l.floor), true
}

// floorMistake is by how many decibels a stated floor may be too low (a choice: a fixture closed otherwise, a meter on
// another range).
const floorMistake = 15

// open returns by how much a leakage may be too large because the floor that was subtracted is higher than stated.
func (l *lookalikes) open(ctx context.Context, v *model.Variable) (float64, error) {
	if !v.Leak || l.stated == 0 {
		return 0, nil
	}
	own, err := l.column(ctx, v)
	if err != nil {
		return 0, err
	}
	power, ok := l.floorFor(own, 1)
	if !ok || power <= 0 {
		return 0, nil
	}
	return (quantity.Ratio(floorMistake) - 1) * l.stated / power, nil
}

// column is how the readings move with a parameter.
func (l *lookalikes) column(ctx context.Context, v *model.Variable) ([]float64, error) {
	if own, ok := l.columns[v.Path]; ok {
		return own, nil
	}
	here, err := model.VariableOf(l.m, v.Path)
	if err != nil {
		return nil, err
	}
	own, err := l.f.Column(ctx, l.m, here)
	if err == nil {
		l.columns[v.Path] = own
	}
	return own, err
}

// of returns the parameters that look like a departure of v by the SI (or leakage) difference d.
func (l *lookalikes) of(ctx context.Context, v *model.Variable, d float64) ([]Alike, error) {
	own, err := l.column(ctx, v)
	if err != nil {
		return nil, err
	}
	var found []Alike
	for _, c := range l.candidates {
		if c.Path == v.Path {
			continue
		}
		column := l.columns[c.Path]
		cosine := fit.Cosine(own, column)
		if math.Abs(cosine) <= fitting.Inseparable {
			continue
		}
		by := d * fit.Dot(own, column) / fit.Dot(column, column)
		// A leakage's departure is compared with its tolerance in dB, on the side of its nominal.
		size, limit := math.Abs(by), plausible
		if c.Leak {
			size = math.Abs(c.Quantity(c.At+by).SI() - c.Nominal.SI())
		}
		if t, ok := l.tolerances[c.Path]; ok {
			limit = stretch * t.Limit()
		}
		if size > limit {
			continue
		}
		a := Alike{Path: c.Path, Correlation: cosine, Departure: quantity.FromSI(by, c.Nominal.Unit)}
		if c.Leak {
			a.Departure = quantity.FromSI(c.Quantity(c.At+by).SI()-c.Nominal.SI(), c.Nominal.Unit)
		}
		found = append(found, a)
	}
	for _, c := range l.scales {
		cosine := fit.Cosine(own, c.column)
		by := d * fit.Dot(own, c.column) / fit.Dot(c.column, c.column) * c.si
		if math.Abs(cosine) > fitting.Inseparable && math.Abs(by) <= c.most {
			found = append(found, Alike{Path: c.path, Correlation: cosine,
				Departure: quantity.FromSI(by, quantity.MustNamed(c.unit))})
		}
	}
	if power, ok := l.floorFor(own, d); ok && (l.stated == 0 || power <= (quantity.Ratio(floorMistake)-1)*l.stated) {
		found = append(found, Alike{Path: FixturePath, Correlation: fit.Cosine(own, l.floor),
			Departure: quantity.FromSI(-quantity.Decibels(power+l.stated), quantity.MustNamed("dB"))})
	}
	return found, nil
}
