package verify

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
)

// together fits an explanation and the shared errors of wavelength and temperature side by side, all of
// them exactly: the errors are parameters whose residual is their own size in standard uncertainties. Where
// it ends the linear treatment of the same errors has the same optimum.
func (x *inquiry) together(ctx context.Context, at *hypothesis) (*hypothesis, pulls, error) {
	moving := without(x.terms, func(t term) bool { return !t.moves() })
	var keys []pull
	for _, t := range moving {
		for _, o := range x.d.obs[:x.d.back] {
			if k := t.pull(o.run); !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	f, err := newFitter(x.d, x.Model, uncertainty.Budget{}, about{without(x.terms, term.moves), nil, x.level}, x.all())
	if err != nil {
		return nil, nil, err
	}
	j := &jointFit{x: x, f: f, vs: at.vs, keys: keys, moving: moving, obs: f.plan.obs, of: remembered{model: x.Model, vs: at.vs}}
	n := len(at.vs)
	p := fit.Problem{Count: f.count() + len(keys), Residuals: j.residuals, Jacobian: j.jacobian, Tolerance: roughly, MaxIterations: patience, Unjudged: true,
		Start: slices.Clone(at.solution.Parameters)}
	for _, v := range at.vs {
		p.Lower, p.Upper = append(p.Lower, v.lo), append(p.Upper, v.hi)
	}
	for _, k := range keys {
		p.Start = append(p.Start, x.pulls[k])
		p.Lower, p.Upper = append(p.Lower, -pullMost), append(p.Upper, pullMost)
	}
	s, err := fit.Solve(ctx, p)
	if err != nil && !errors.Is(err, fit.ErrNotConverged) {
		return nil, nil, fmt.Errorf("fitting %s: %w", at.Label, err)
	}
	y := *at
	y.solution = &fit.Solution{Parameters: s.Parameters[:n]}
	if y.model, err = adjusted(x.Model, at.vs, s.Parameters[:n]); err != nil {
		return nil, nil, err
	}
	return &y, j.pulls(s.Parameters), nil
}

// jointFit evaluates residuals of physical parameters followed by pulls.
type jointFit struct {
	x      *inquiry
	f      *fitter
	vs     []*vary
	keys   []pull
	moving []term
	obs    []observation // as stated
	of     remembered
	at     []float64 // where the residuals were last evaluated
	plan   *batch    // with every observation moved by the pulls there
	there  []float64 // and what they were there before whitening
}

func (j *jointFit) pulls(p []float64) pulls {
	z := pulls{}
	for i, k := range j.keys {
		z[k] = p[len(j.vs)+i]
	}
	return z
}

// differences evaluates the amplitudes' residuals before whitening, the observations moved as in p.
func (j *jointFit) differences(ctx context.Context, m Model, p *batch, r []float64) error {
	f := *j.f
	f.plan = p
	return f.differences(ctx, m, r)
}

// here evaluates the differences at p, or knows them.
func (j *jointFit) here(ctx context.Context, p []float64) (Model, []float64, error) {
	m, err := j.of.at(p[:len(j.vs)])
	if err != nil {
		return nil, nil, err
	}
	m = nearby(m)
	if !slices.Equal(j.at, p) {
		moved := newBatch(j.x.d, j.x.d.moved(j.obs, j.x.Budget, j.pulls(p)))
		there := make([]float64, j.f.count())
		if err := j.differences(ctx, m, moved, there); err != nil {
			return nil, nil, err
		}
		j.at, j.plan, j.there = slices.Clone(p), moved, there
	}
	return m, j.there, nil
}

func (j *jointFit) residuals(ctx context.Context, p, r []float64) error {
	_, there, err := j.here(ctx, p)
	if err != nil {
		return err
	}
	copy(r, there)
	j.f.white.Apply(r[:j.f.free])
	copy(r[j.f.count():], p[len(j.vs):])
	return nil
}

// oneSide is how much shorter the steps of the abscissae are to one side than to two: such a slope errs by the curve times the
// step, and where it is off the walk ends off the bottom. Those of parameters are short enough.
const oneSide = 1.0 / 20

// jacobian moves all runs at once along each abscissa and gives every run its own part: one evaluation for all errors of
// wavelength, one for all of temperature. Differences are to one side, as for any walk downhill.
func (j *jointFit) jacobian(ctx context.Context, p, _ []float64, columns [][]float64) error {
	n, count := len(j.vs), j.f.count()
	m, there, err := j.here(ctx, p)
	if err != nil {
		return err
	}
	slopes := make([][]float64, n+len(j.moving))
	err = each(len(slopes), func(k int) error {
		m, plan := m, j.plan
		var step float64
		if k < n {
			at := slices.Clone(p[:n])
			at[k] = j.vs[k].beside(p[k])
			step = at[k] - p[k]
			var err error
			if m, err = adjusted(m, j.vs, at); err != nil {
				return err
			}
		} else {
			t := j.moving[k-n]
			var dl quantity.Length
			var dt quantity.Temperature
			if t.value.Dimension() == quantity.OfLength {
				dl = slopeLength * oneSide
			} else {
				dt = slopeTemperature * oneSide
			}
			plan, step = plan.shifted(dl, dt), (float64(dl)+float64(dt))/t.standard // one of them is zero
		}
		beside := make([]float64, count)
		if err := j.differences(ctx, m, plan, beside); err != nil {
			return err
		}
		for i := range beside {
			beside[i] = (beside[i] - there[i]) / step
		}
		slopes[k] = beside
		return nil
	})
	if err != nil {
		return err
	}
	for k := range j.vs {
		clear(columns[k])
		copy(columns[k], slopes[k])
		j.f.white.Apply(columns[k][:j.f.free])
	}
	for i := range j.keys {
		clear(columns[n+i])
	}
	for k, t := range j.moving {
		for i, o := range j.obs {
			columns[n+slices.Index(j.keys, t.pull(o.run))][i] = slopes[n+k][i]
		}
	}
	for i := range j.keys {
		j.f.white.Apply(columns[n+i][:j.f.free])
		columns[n+i][count+i] = 1
	}
	return nil
}
