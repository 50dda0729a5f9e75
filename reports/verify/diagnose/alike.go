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
)

const (
	// plausible bounds the departure an angle without a tolerance may need to be offered as an
	// alternative; a choice: parts are not cut or put together 2 deg off unnoticed.
	plausible = 2 * float64(quantity.Degree)
	// stretch does the same, in multiples, for a parameter with a tolerance.
	stretch = 10
)

// FixturePath stands among parameters for the floor of the fixture when none was measured.
const FixturePath = "fixture floor"

// lookalikes finds what the readings cannot distinguish from the departure of one parameter: every other angle of
// the model, every parameter with a tolerance, and the fixture's floor when none was subtracted, whose
// derivative is parallel and whose departure would be believable.
type lookalikes struct {
	f          *fitting.Fitter
	m          model.Model
	tolerances map[string]tolerance.Tolerance
	columns    map[string][]float64
	candidates []*model.Variable
	floor      []float64 // nil when a floor was subtracted
}

func newLookalikes(ctx context.Context, f *fitting.Fitter, m model.Model, tolerances map[string]tolerance.Tolerance,
	floorMeasured bool) (*lookalikes, error) {
	l := &lookalikes{f: f, m: m, tolerances: tolerances, columns: map[string][]float64{}}
	for _, p := range m.Parameters() {
		if _, toleranced := tolerances[p.Path]; p.Value.Dimension() != quantity.OfAngle && !toleranced {
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
	if !floorMeasured {
		// A floor adds the same power to every reading: dy = dP / 2y. Residuals are measured minus model.
		column := make([]float64, f.Count())
		for i := range f.Numbers {
			column[i] = -1 / (2 * f.Measured[i])
		}
		f.Weigh(column)
		l.floor = column
	}
	return l, nil
}

// of returns the parameters that look like a departure of v by the SI (or leakage) difference d.
func (l *lookalikes) of(ctx context.Context, v *model.Variable, d float64) ([]Alike, error) {
	own, ok := l.columns[v.Path]
	if !ok {
		here, err := model.VariableOf(l.m, v.Path)
		if err != nil {
			return nil, err
		}
		if own, err = l.f.Column(ctx, l.m, here); err != nil {
			return nil, err
		}
		l.columns[v.Path] = own
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
	if l.floor != nil {
		if cosine := fit.Cosine(own, l.floor); cosine*math.Copysign(1, d) > fitting.Inseparable {
			power := d * fit.Dot(own, l.floor) / fit.Dot(l.floor, l.floor)
			found = append(found, Alike{Path: FixturePath, Correlation: cosine,
				Departure: quantity.FromSI(-quantity.Decibels(power), quantity.MustNamed("dB"))})
		}
	}
	return found, nil
}
