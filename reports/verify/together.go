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
func (x *examiner) together(ctx context.Context, at *explained) (*explained, pulls, error) {
	moving := without(x.terms, func(t term) bool { return !t.moves() })
	var keys []pull
	for _, t := range moving {
		for _, o := range x.d.obs[:x.d.back] {
			if k := t.pull(o.run); !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	f, err := x.d.newFitter(x.spec.Model, uncertainty.Budget{}, without(x.terms, term.moves), x.all(), nil, x.level)
	if err != nil {
		return nil, nil, err
	}
	j := &jointFit{x: x, f: f, vs: at.vs, keys: keys, moving: moving, obs: f.plan.obs, of: remembered{model: x.spec.Model, vs: at.vs}}
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
	if y.model, err = adjusted(x.spec.Model, at.vs, s.Parameters[:n]); err != nil {
		return nil, nil, err
	}
	return &y, j.pulls(s.Parameters), nil
}

// jointFit evaluates residuals of physical parameters followed by pulls.
type jointFit struct {
	x      *examiner
	f      *fitter
	vs     []*vary
	keys   []pull
	moving []term
	obs    []observation // as stated
	of     remembered
}

func (j *jointFit) pulls(p []float64) pulls {
	z := pulls{}
	for i, k := range j.keys {
		z[k] = p[len(j.vs)+i]
	}
	return z
}

// differences evaluates the amplitudes' residuals before whitening, every observation moved by the pulls
// and then by dl and dt.
func (j *jointFit) differences(ctx context.Context, m Model, p, r []float64, dl quantity.Length, dt quantity.Temperature) error {
	f := *j.f
	f.plan = j.x.d.plan(j.x.d.moved(j.obs, j.x.spec.Budget, j.pulls(p))).shifted(dl, dt)
	return f.differences(ctx, m, r)
}

func (j *jointFit) residuals(ctx context.Context, p, r []float64) error {
	m, err := j.of.at(p[:len(j.vs)])
	if err != nil {
		return err
	}
	if err := j.differences(ctx, nearby(m), p, r[:j.f.count()], 0, 0); err != nil {
		return err
	}
	j.f.white.Apply(r[:j.f.free])
	copy(r[j.f.count():], p[len(j.vs):])
	return nil
}

// jacobian moves all runs at once along each abscissa and gives every run its own part: two evaluations
// for all errors of wavelength, two for all of temperature.
func (j *jointFit) jacobian(ctx context.Context, p, _ []float64, columns [][]float64) error {
	n, count := len(j.vs), j.f.count()
	m, err := j.of.at(p[:n])
	if err != nil {
		return err
	}
	m = nearby(m)
	side := make([][]float64, 2*(n+len(j.moving)))
	width := make([]float64, n+len(j.moving))
	err = each(len(side), func(i int) error {
		at, k, sign := slices.Clone(p), i/2, float64(1-2*(i%2))
		m := m
		var dl quantity.Length
		var dt quantity.Temperature
		if k < n {
			v := j.vs[k]
			hi, lo := min(p[k]+v.step, v.hi), max(p[k]-v.step, v.lo)
			if at[k] = hi; sign < 0 {
				at[k] = lo
			} else {
				width[k] = hi - lo
			}
			var err error
			if m, err = adjusted(m, j.vs, at[:n]); err != nil {
				return err
			}
		} else {
			t := j.moving[k-n]
			if t.value.Dimension() == quantity.OfLength {
				dl = quantity.Length(sign) * slopeLength
			} else {
				dt = quantity.Temperature(sign) * slopeTemperature
			}
			if sign > 0 {
				width[k] = 2 * (float64(dl) + float64(dt)) / t.standard // one of them is zero
			}
		}
		side[i] = make([]float64, count)
		return j.differences(ctx, m, at, side[i], dl, dt)
	})
	if err != nil {
		return err
	}
	slope := func(k, i int) float64 { return (side[2*k][i] - side[2*k+1][i]) / width[k] }
	for k := range j.vs {
		clear(columns[k])
		for i := range count {
			columns[k][i] = slope(k, i)
		}
		j.f.white.Apply(columns[k][:j.f.free])
	}
	for i := range j.keys {
		clear(columns[n+i])
	}
	for k, t := range j.moving {
		for i, o := range j.obs {
			columns[n+slices.Index(j.keys, t.pull(o.run))][i] = slope(n+k, i)
		}
	}
	for i := range j.keys {
		j.f.white.Apply(columns[n+i][:j.f.free])
		columns[n+i][count+i] = 1
	}
	return nil
}
