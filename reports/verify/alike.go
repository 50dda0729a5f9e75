package verify

import (
	"context"
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/fit"
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

// lookalikes finds what this data cannot tell from the departure of one parameter: every other angle of
// the model, every parameter with a tolerance, and the fixture's floor when none was subtracted, whose
// derivative is parallel and whose departure would be believable.
type lookalikes struct {
	f          *fitter
	m          Model
	tolerances map[string]Tolerance
	columns    map[string][]float64
	candidates []*vary
	floor      []float64 // nil when a floor was subtracted
}

func newLookalikes(ctx context.Context, f *fitter, m Model, tolerances map[string]Tolerance, floorMeasured bool) (*lookalikes, error) {
	l := &lookalikes{f: f, m: m, tolerances: tolerances, columns: map[string][]float64{}}
	for _, p := range m.Parameters() {
		if _, toleranced := tolerances[p.Path]; p.Value.Dimension() != quantity.OfAngle && !toleranced {
			continue
		}
		if v, err := newVary(p); err == nil { // without a finite value it has no derivative
			l.candidates = append(l.candidates, v)
		}
	}
	columns := make([][]float64, len(l.candidates))
	err := each(len(columns), func(i int) error {
		// A model that cannot be moved this way leaves nil: no departure of it is an explanation.
		columns[i], _ = f.column(ctx, m, l.candidates[i])
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	var movable []*vary
	for i, v := range l.candidates {
		if columns[i] != nil {
			l.columns[v.path] = columns[i]
			movable = append(movable, v)
		}
	}
	l.candidates = movable
	if !floorMeasured {
		// A floor adds the same power to every reading: dy = dP / 2y. Residuals are measured minus model.
		column := make([]float64, f.count())
		for i := range f.free {
			column[i] = -1 / (2 * f.measured[i])
		}
		f.weigh(column)
		l.floor = column
	}
	return l, nil
}

// of returns the parameters that look like a departure of v by the SI (or leak) difference d.
func (l *lookalikes) of(ctx context.Context, v *vary, d float64) ([]Alike, error) {
	own, ok := l.columns[v.path]
	if !ok {
		here, err := varied(l.m, v.path)
		if err != nil {
			return nil, err
		}
		if own, err = l.f.column(ctx, l.m, here); err != nil {
			return nil, err
		}
		l.columns[v.path] = own
	}
	var found []Alike
	for _, c := range l.candidates {
		if c.path == v.path {
			continue
		}
		column := l.columns[c.path]
		cosine := fit.Cosine(own, column)
		if math.Abs(cosine) <= same {
			continue
		}
		by := d * product(own, column) / product(column, column)
		// A leak's departure is compared with its tolerance in dB, on the side of its nominal.
		size, limit := math.Abs(by), plausible
		if c.leak {
			size = math.Abs(c.quantity(c.at+by).SI() - c.nominal.SI())
		}
		if t, ok := l.tolerances[c.path]; ok {
			limit = stretch * t.Limit()
		}
		if size > limit {
			continue
		}
		a := Alike{Path: c.path, Correlation: cosine, Departure: quantity.FromSI(by, c.nominal.Unit)}
		if c.leak {
			a.Departure = quantity.FromSI(c.quantity(c.at+by).SI()-c.nominal.SI(), c.nominal.Unit)
		}
		found = append(found, a)
	}
	if l.floor != nil {
		if cosine := fit.Cosine(own, l.floor); cosine*math.Copysign(1, d) > same {
			power := d * product(own, l.floor) / product(l.floor, l.floor)
			found = append(found, Alike{Path: FixturePath, Correlation: cosine,
				Departure: quantity.FromSI(-quantity.Decibels(power), quantity.MustNamed("dB"))})
		}
	}
	return found, nil
}

func product(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}
