package diagnose

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// unfitted returns what the fit does not know because parameters that have a tolerance are not free in it:
// each is one error of all readings. Of a parameter that looks like a free one only what does not look
// like it counts: the free one stands for both, as the report says, but the little in which they differ
// would otherwise be taken for something else, an extinction ratio above all. An error of the axes, which a free
// rotation stands for, leaves the film's coefficients as they are, whereas a thicker film scales them.
func (x *inquiry) unfitted(ctx context.Context, d *readings.Set, m model.Model) ([]readings.Term, error) {
	if x.found == nil || len(x.Fit) == 0 {
		return nil, nil
	}
	p := predict.NewBatch(d, d.Moved(d.Obs, x.Budget, x.Pulls))
	free := x.found.freest().Free
	columns := make([][]float64, len(free))
	departed := make([]float64, len(free)) // what each free parameter departs by, in units of its column
	for j, v := range free {
		here, err := model.VariableOf(m, v.Path)
		if err != nil {
			return nil, err
		}
		var arm [2]model.Model
		up, down := here.Around(here.At)
		departed[j] = 2 * (here.At - v.At) / (up - down)
		for side, at := range []float64{up, down} {
			if arm[side], err = model.Adjust(model.Nearby(m), []*model.Variable{here}, []float64{at}); err != nil {
				return nil, err
			}
		}
		if columns[j], err = halfDifference(ctx, p, arm); err != nil {
			return nil, err
		}
	}
	own := x.pointwise()
	var terms []readings.Term
	for _, q := range m.Parameters() {
		tolerance, ok := x.Tolerances[q.Path]
		isFree := slices.ContainsFunc(free, func(v *model.Variable) bool { return v.Path == q.Path })
		if !ok || tolerance.Sigma() == 0 || isFree {
			continue
		}
		arm, err := model.Arms(m, []model.Parameter{q}, []float64{tolerance.Sigma()})
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", q.Path, err)
		}
		u, err := halfDifference(ctx, p, arm)
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", q.Path, err)
		}
		kind := slices.Clone(departed)
		for j, v := range free {
			if v.Nominal.Dimension() != q.Value.Dimension() {
				kind[j] = 0
			}
		}
		apartFromOne(u, columns, kind, own)
		terms = append(terms, readings.Term{Name: "tolerance of " + q.Path, Value: tolerance.Value,
			Distribution: uncertainty.Normal, Divisor: 1, Shared: uncertainty.ByAll, Model: true, U: u})
	}
	return terms, nil
}

// halfDifference is half of what separates the values of two models.
func halfDifference(ctx context.Context, p *predict.Batch, arm [2]model.Model) ([]float64, error) {
	up, err := p.Predict(ctx, arm[0])
	if err != nil {
		return nil, err
	}
	down, err := p.Predict(ctx, arm[1])
	if err != nil {
		return nil, err
	}
	for i := range up {
		up[i] = (up[i] - down[i]) / 2
	}
	return up, nil
}

// apartFromOne takes from u its part along the first of the columns that it cannot be distinguished from, both counted
// in the readings' own uncertainties. departed is what the parameter of each column departs by, in units of its column:
// it may be all of this parameter's, however small its tolerance, and anything from none of it to all of it.
//
// Only errors of a kind are exchanged, an angle for an angle: departed is 0 for the others.
func apartFromOne(u []float64, columns [][]float64, departed, own []float64) {
	weighted := func(v []float64) []float64 {
		w := make([]float64, len(own))
		for i := range w {
			w[i] = v[i] / own[i]
		}
		return w
	}
	a := weighted(u)
	for j, column := range columns {
		b := weighted(column)
		if math.Abs(fit.Cosine(a, b)) > fitting.Inseparable {
			k := fit.Dot(a, b) / fit.Dot(b, b)
			wide := max(1, math.Abs(departed[j]/k)/math.Sqrt(3))
			for i := range u {
				u[i] = wide * (u[i] - k*column[i])
			}
			return
		}
	}
}

// pointwise returns the standard uncertainty of each backward observation that it shares with no other.
func (x *inquiry) pointwise() []float64 {
	all := readings.UpTo(x.Set.Back)
	c := x.Set.Covariance(x.Terms, all, readings.Ones(len(all)))
	own := make([]float64, len(all))
	for i := range own {
		own[i] = c.Point(i)
	}
	return own
}
