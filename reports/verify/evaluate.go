package verify

import (
	"context"

	"wedgework/optics/quantity"
)

// plan says which observations are evaluated together: those of one direction at one temperature.
type plan struct {
	d      *data
	obs    []observation
	groups []group
}

type group struct {
	direction Direction
	t         quantity.Temperature
	ls        []quantity.Length
	at        []int // indices into obs
}

func (d *data) plan(obs []observation) *plan {
	p := &plan{d: d, obs: obs}
	type key struct {
		direction Direction
		t         quantity.Temperature
	}
	index := map[key]int{}
	for i, o := range obs {
		k := key{Forward, o.t}
		if o.backward {
			k.direction = Backward
		}
		g, ok := index[k]
		if !ok {
			g = len(p.groups)
			index[k] = g
			p.groups = append(p.groups, group{direction: k.direction, t: k.t})
		}
		p.groups[g].ls = append(p.groups[g].ls, o.l)
		p.groups[g].at = append(p.groups[g].at, i)
	}
	return p
}

// transmissions evaluates the model at every observation.
func (p *plan) transmissions(ctx context.Context, m Model) ([]Transmission, error) {
	out := make([]Transmission, len(p.obs))
	for _, g := range p.groups {
		ts, err := m.Over(ctx, g.direction, g.ls, g.t)
		if err != nil {
			return nil, err
		}
		for k, i := range g.at {
			out[i] = ts[k]
		}
	}
	return out, nil
}

// predict returns what the model says each observation's value is.
func (p *plan) predict(ctx context.Context, m Model) ([]float64, error) {
	ts, err := p.transmissions(ctx, m)
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(ts))
	for i, t := range ts {
		out[i] = p.d.figure(p.obs[i], t)
	}
	return out, nil
}

// ripple returns the half-width of the ghost ripple of the leak amplitude; 0 forward, where the ghosts
// are a ten-thousandth of the light.
func (p *plan) ripple(ctx context.Context, m Model) ([]float64, error) {
	out := make([]float64, len(p.obs))
	for _, g := range p.groups {
		if g.direction != Backward {
			continue
		}
		r, err := m.Ripple(ctx, g.ls, g.t)
		if err != nil {
			return nil, err
		}
		for k, i := range g.at {
			out[i] = r[k]
		}
	}
	return out, nil
}

// slope returns the central difference of the model's values when every observation is moved by plus and
// minus one step of wavelength or temperature, per SI unit.
func (p *plan) slope(ctx context.Context, m Model, dl quantity.Length, dt quantity.Temperature) ([]float64, error) {
	shifted := func(sign float64) ([]float64, error) {
		obs := append([]observation(nil), p.obs...)
		for i := range obs {
			obs[i].l += quantity.Length(sign) * dl
			obs[i].t += quantity.Temperature(sign) * dt
		}
		return p.d.plan(obs).predict(ctx, m)
	}
	up, err := shifted(1)
	if err != nil {
		return nil, err
	}
	down, err := shifted(-1)
	if err != nil {
		return nil, err
	}
	step := 2 * (float64(dl) + float64(dt)) // one of them is zero
	for i := range up {
		up[i] = (up[i] - down[i]) / step
	}
	return up, nil
}

// fan is a model with what its uncertain parameters make of it: for each independent direction a model
// on either side, coverage standard deviations away.
type fan struct {
	centre Model
	arms   [][2]Model // plus, minus
}

// coverage is how many standard deviations the arms of a fan reach: those of an expanded uncertainty.
const coverage = 2

// spread is a fan evaluated at the observations of a plan.
type spread struct {
	centre []float64
	arms   [][2][]float64
}

func (p *plan) spread(ctx context.Context, f *fan) (*spread, error) {
	s := &spread{}
	var err error
	if s.centre, err = p.predict(ctx, f.centre); err != nil {
		return nil, err
	}
	for _, arm := range f.arms {
		var v [2][]float64
		for side, m := range arm {
			if v[side], err = p.predict(ctx, m); err != nil {
				return nil, err
			}
		}
		s.arms = append(s.arms, v)
	}
	return s, nil
}

// sides returns a figure of the spread at its centre and by how much the arms move it down and up, each
// side added in quadrature: near a null both arms of an angle move the leak up, and a single symmetric
// slope would show no effect at all.
func (s *spread) sides(figure func(values []float64) float64) (centre, down, up float64) {
	centre = figure(s.centre)
	low, high := 0.0, 0.0
	for _, arm := range s.arms {
		a, b := figure(arm[0])-centre, figure(arm[1])-centre
		l, h := min(a, b, 0), max(a, b, 0)
		low += l * l
		high += h * h
	}
	return centre, sqrt(low), sqrt(high)
}
