package fitting

import (
	"context"
	"slices"

	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// Linear is what readings say of parameters and of the errors that they share, in the linear approximation at a model:
// reading = sum of row times (parameters, errors), each row over the standard uncertainty that the reading shares with
// no other.
type Linear struct {
	Indices []int // of the observations: numbers first, then "at least" readings
	Rows    [][]float64
	// Own is that standard uncertainty, an amplitude; 1 for an "at least" reading.
	Own    []float64
	Errors []readings.SharedError // in the order of the rows, after the parameters; each in its standard uncertainty
}

// Linear takes the derivatives at a model by the given parameters of it.
func (f *Fitter) Linear(ctx context.Context, m model.Model, vs []*model.Variable) (*Linear, error) {
	n := len(vs) + len(f.factors)
	l := &Linear{Indices: slices.Clone(f.Indices), Own: make([]float64, f.Count()), Rows: make([][]float64, f.Count())}
	for i := range l.Rows {
		l.Rows[i], l.Own[i] = make([]float64, n), 1
	}
	copy(l.Own, f.point)
	for j, v := range vs {
		column, err := f.Column(ctx, m, v)
		if err != nil {
			return nil, err
		}
		for i := range column {
			l.Rows[i][j] = -column[i] // of what was read less the model
		}
	}
	for k, g := range f.factors {
		l.Errors = append(l.Errors, g.SharedError)
		for i, u := range g.u {
			l.Rows[i][len(vs)+k] = u / f.point[i]
		}
	}
	return l, nil
}
