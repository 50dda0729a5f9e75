package verify

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
)

// unfitted returns what the fit does not know because parameters that have a tolerance are not free in it:
// each is one error of all readings. Of a parameter that looks like a free one only what does not look
// like it counts: the free one stands for both, as the report says, but the little in which they differ
// would otherwise be taken for something else, an extinction ratio above all.
func (x *inquiry) unfitted(ctx context.Context, d *data, m Model) ([]term, error) {
	if x.found == nil || len(x.Fit) == 0 {
		return nil, nil
	}
	p := newBatch(d, d.moved(d.obs, x.Budget, x.pulls))
	own := x.pointwise()
	weighted := func(u []float64) []float64 {
		w := make([]float64, x.d.back)
		for i := range w {
			w[i] = u[i] / own[i]
		}
		return w
	}
	difference := func(arm [2]Model) ([]float64, error) {
		up, err := p.predict(ctx, arm[0])
		if err != nil {
			return nil, err
		}
		down, err := p.predict(ctx, arm[1])
		if err != nil {
			return nil, err
		}
		for i := range up {
			up[i] = (up[i] - down[i]) / 2
		}
		return up, nil
	}
	free := x.found.freest().vs
	columns := make([][]float64, len(free))
	for j, v := range free {
		here, err := varied(m, v.path)
		if err != nil {
			return nil, err
		}
		var arm [2]Model
		up, down := here.around(here.at)
		for side, at := range []float64{up, down} {
			if arm[side], err = adjusted(nearby(m), []*vary{here}, []float64{at}); err != nil {
				return nil, err
			}
		}
		if columns[j], err = difference(arm); err != nil {
			return nil, err
		}
	}
	var terms []term
	for _, q := range m.Parameters() {
		tolerance, ok := x.Tolerances[q.Path]
		if !ok || tolerance.Sigma() == 0 || slices.ContainsFunc(free, func(v *vary) bool { return v.path == q.Path }) {
			continue
		}
		arm, err := arms(m, []Parameter{q}, []float64{tolerance.Sigma()})
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", q.Path, err)
		}
		u, err := difference(arm)
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", q.Path, err)
		}
		a := weighted(u)
		for _, column := range columns {
			b := weighted(column)
			if math.Abs(fit.Cosine(a, b)) > same {
				k := product(a, b) / product(b, b)
				for i := range u {
					u[i] -= k * column[i]
				}
				break
			}
		}
		terms = append(terms, term{name: "tolerance of " + q.Path, value: tolerance.Value, distribution: uncertainty.Normal,
			divisor: 1, shared: uncertainty.ByAll, model: true, u: u})
	}
	return terms, nil
}

// pointwise returns the standard uncertainty of each backward observation that it shares with no other.
func (x *inquiry) pointwise() []float64 {
	all := upTo(x.d.back)
	c := x.d.covariance(x.terms, all, ones(len(all)))
	own := make([]float64, len(all))
	for i := range own {
		own[i] = c.Point(i)
	}
	return own
}
