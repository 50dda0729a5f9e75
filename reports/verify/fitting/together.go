package fitting

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/fit"
	"wedgework/reports/uncertainty"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// FitWithErrors fits an explanation and the shared errors of wavelength and temperature side by side, all of
// them exactly: the errors are parameters whose residual is their own size in standard uncertainties. Where
// it ends the linear treatment of the same errors has the same optimum.
func FitWithErrors(ctx context.Context, d *readings.Set, m model.Model, b uncertainty.Budget, here Linearization,
	indices []int, at *Hypothesis) (*Hypothesis, readings.Pulls, error) {
	moving := readings.Without(here.Terms, func(t readings.Term) bool { return !t.Moves() })
	var keys []readings.SharedError
	for _, t := range moving {
		for _, o := range d.Obs[:d.Back] {
			if k := t.SharedError(o.Run); !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	f, err := NewFitter(d, m, uncertainty.Budget{}, Linearization{readings.Without(here.Terms, readings.Term.Moves),
		nil,
		here.Level}, indices)
	if err != nil {
		return nil, nil, err
	}
	j := &jointFit{d: d, budget: b, f: f, vs: at.Free, keys: keys, moving: moving, obs: f.Plan.Obs,
		of: remembered{model: m, vs: at.Free}}
	n := len(at.Free)
	p := fit.Problem{Count: f.Count() + len(keys), Residuals: j.residuals, Jacobian: j.jacobian, Tolerance: roughly,
		MaxIterations: Patience, Unjudged: true,
		Start: slices.Clone(at.Solution.Parameters)}
	for _, v := range at.Free {
		p.Lower, p.Upper = append(p.Lower, v.Lo), append(p.Upper, v.Hi)
	}
	for _, k := range keys {
		p.Start = append(p.Start, here.Pulls[k])
		p.Lower, p.Upper = append(p.Lower, -readings.PullMost), append(p.Upper, readings.PullMost)
	}
	s, err := fit.Solve(ctx, p)
	if err != nil && !errors.Is(err, fit.ErrNotConverged) {
		return nil, nil, fmt.Errorf("fitting %s: %w", at.Label, err)
	}
	y := *at
	y.Solution = &fit.Solution{Parameters: s.Parameters[:n]}
	if y.Model, err = model.Adjust(m, at.Free, s.Parameters[:n]); err != nil {
		return nil, nil, err
	}
	return &y, j.pulls(s.Parameters), nil
}

// jointFit evaluates residuals of physical parameters followed by pulls.
type jointFit struct {
	d      *readings.Set
	budget uncertainty.Budget
	f      *Fitter
	vs     []*model.Variable
	keys   []readings.SharedError
	moving []readings.Term
	obs    []readings.Observation // as stated
	of     remembered
	at     []float64      // where the residuals were last evaluated
	plan   *predict.Batch // with every observation moved by the pulls there
	there  []float64      // and what they were there before whitening
}

func (j *jointFit) pulls(p []float64) readings.Pulls {
	z := readings.Pulls{}
	for i, k := range j.keys {
		z[k] = p[len(j.vs)+i]
	}
	return z
}

// differences evaluates the amplitudes' residuals before whitening, the observations moved as in p.
func (j *jointFit) differences(ctx context.Context, m model.Model, p *predict.Batch, r []float64) error {
	f := *j.f
	f.Plan = p
	return f.differences(ctx, m, r)
}

// here evaluates the differences at p, or knows them.
func (j *jointFit) here(ctx context.Context, p []float64) (model.Model, []float64, error) {
	m, err := j.of.at(p[:len(j.vs)])
	if err != nil {
		return nil, nil, err
	}
	m = model.Nearby(m)
	if !slices.Equal(j.at, p) {
		moved := predict.NewBatch(j.d, j.d.Moved(j.obs, j.budget, j.pulls(p)))
		there := make([]float64, j.f.Count())
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
	j.f.white.Apply(r[:j.f.Numbers])
	copy(r[j.f.Count():], p[len(j.vs):])
	return nil
}

// oneSide is how much shorter the steps of the abscissae are to one side than to two: such a slope errs by the curve
// times the step, and where it is off the walk ends off the bottom. Those of parameters are short enough.
const oneSide = 1.0 / 20

// jacobian moves all runs at once along each abscissa and gives every run its own part: one evaluation for all errors
// of wavelength, one for all of temperature. Differences are to one side, as for any walk downhill.
func (j *jointFit) jacobian(ctx context.Context, p, _ []float64, columns [][]float64) error {
	n, count := len(j.vs), j.f.Count()
	m, there, err := j.here(ctx, p)
	if err != nil {
		return err
	}
	slopes := make([][]float64, n+len(j.moving))
	err = parallel.Each(len(slopes), func(k int) error {
		m, plan := m, j.plan
		var step float64
		if k < n {
			at := slices.Clone(p[:n])
			at[k] = j.vs[k].Beside(p[k])
			step = at[k] - p[k]
			var err error
			if m, err = model.Adjust(m, j.vs, at); err != nil {
				return err
			}
		} else {
			t := j.moving[k-n]
			var dl quantity.Length
			var dt quantity.Temperature
			if t.Value.Dimension() == quantity.OfLength {
				dl = predict.SlopeLength * oneSide
			} else {
				dt = predict.SlopeTemperature * oneSide
			}
			plan, step = plan.Shifted(dl, dt), (float64(dl)+float64(dt))/t.Standard // one of them is zero
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
		j.f.white.Apply(columns[k][:j.f.Numbers])
	}
	for i := range j.keys {
		clear(columns[n+i])
	}
	for k, t := range j.moving {
		for i, o := range j.obs {
			columns[n+slices.Index(j.keys, t.SharedError(o.Run))][i] = slopes[n+k][i]
		}
	}
	for i := range j.keys {
		j.f.white.Apply(columns[n+i][:j.f.Numbers])
		columns[n+i][count+i] = 1
	}
	return nil
}
