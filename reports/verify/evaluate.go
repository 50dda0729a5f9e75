package verify

import (
	"context"
	"slices"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// batch says which observations are evaluated together: those of one quantity in one run.
type batch struct {
	d      *data
	obs    []observation
	groups []*group
}

type group struct {
	quantity string
	run      int
	ls       []quantity.Length
	ts       []quantity.Temperature
	at       []int // indices into obs
}

// direction is the way that light goes for a group.
func (g *group) direction() Direction {
	if g.quantity == limits.Isolation {
		return Backward
	}
	return Forward
}

func newBatch(d *data, obs []observation) *batch {
	p := &batch{d: d, obs: obs}
	type key struct {
		quantity string
		run      int
	}
	var last *group // observations of one group mostly follow each other
	index := map[key]*group{}
	for i := range obs {
		o := &obs[i]
		g := last
		if g == nil || g.run != o.run || g.quantity != o.quantity {
			if g = index[key{o.quantity, o.run}]; g == nil {
				g = &group{quantity: o.quantity, run: o.run}
				index[key{o.quantity, o.run}] = g
				p.groups = append(p.groups, g)
			}
			last = g
		}
		g.at = append(g.at, i)
	}
	for _, g := range p.groups {
		g.ls, g.ts = make([]quantity.Length, len(g.at)), make([]quantity.Temperature, len(g.at))
		for k, i := range g.at {
			g.ls[k], g.ts[k] = obs[i].l, obs[i].t
		}
	}
	return p
}

// shifted is the batch with every observation moved by one step of wavelength or temperature: that is what predict looks
// at, and the observations themselves stay.
func (p *batch) shifted(dl quantity.Length, dt quantity.Temperature) *batch {
	c := &batch{d: p.d, obs: p.obs, groups: make([]*group, len(p.groups))}
	for k, g := range p.groups {
		moved := *g
		if dl != 0 {
			moved.ls = slices.Clone(g.ls)
			for i := range moved.ls {
				moved.ls[i] += dl
			}
		}
		if dt != 0 {
			moved.ts = slices.Clone(g.ts)
			for i := range moved.ts {
				moved.ts[i] += dt
			}
		}
		c.groups[k] = &moved
	}
	return c
}

// drift is the spread of temperatures over which a run is interpolated, in kelvin: by a parabola, whose
// error over half of this is below a thousandth of a decibel at any slope a film has.
const drift = 2.0

// over evaluates something at every reading of the group: at its temperature if it has one only, and where
// every reading has its own, as chambers log them, at three temperatures for all of them.
func over[T any](g *group, evaluate func([]quantity.Length, quantity.Temperature) ([]T, error), blend func([3]float64, [3]T) T) ([]T, error) {
	low, high := slices.Min(g.ts), slices.Max(g.ts)
	if low == high {
		return evaluate(g.ls, low)
	}
	out := make([]T, len(g.ls))
	if float64(high-low) > drift {
		for i := range g.ls {
			v, err := evaluate(g.ls[i:i+1], g.ts[i])
			if err != nil {
				return nil, err
			}
			out[i] = v[0]
		}
		return out, nil
	}
	var at [3][]T
	for k := range at {
		var err error
		if at[k], err = evaluate(g.ls, low+(high-low)*quantity.Temperature(k)/2); err != nil {
			return nil, err
		}
	}
	for i := range out {
		x := 2 * float64((g.ts[i]-low)/(high-low)) // 0, 1, 2 are the nodes of Lagrange's parabola
		out[i] = blend([3]float64{(x - 1) * (x - 2) / 2, x * (2 - x), x * (x - 1) / 2}, [3]T{at[0][i], at[1][i], at[2][i]})
	}
	return out, nil
}

// transmissions evaluates the model at every observation.
func (p *batch) transmissions(ctx context.Context, m Model) ([]Transmission, error) {
	out := make([]Transmission, len(p.obs))
	return out, p.evaluate(ctx, m, func(i int, t Transmission) { out[i] = t })
}

// evaluate hands the model's transmission at every observation on, side by side.
func (p *batch) evaluate(ctx context.Context, m Model, take func(i int, t Transmission)) error {
	return each(len(p.groups), func(n int) error {
		g := p.groups[n]
		ts, err := over(g, func(ls []quantity.Length, t quantity.Temperature) ([]Transmission, error) {
			return m.Over(ctx, g.direction(), ls, t)
		}, func(w [3]float64, v [3]Transmission) Transmission {
			return Transmission{w[0]*v[0].T1 + w[1]*v[1].T1 + w[2]*v[2].T1, w[0]*v[0].T2 + w[1]*v[1].T2 + w[2]*v[2].T2}
		})
		if err != nil {
			return err
		}
		for k, i := range g.at {
			take(i, ts[k])
		}
		return nil
	})
}

// predict returns what the model says each observation's value is.
func (p *batch) predict(ctx context.Context, m Model) ([]float64, error) {
	out := make([]float64, len(p.obs))
	return out, p.evaluate(ctx, m, func(i int, t Transmission) { out[i] = figure(&p.obs[i], p.d.scrambled, t) })
}

// ripple returns what the phases of ghosts leave open of the backward observations; nothing of forward ones, where they are a
// ten-thousandth of the light.
func (p *batch) ripple(ctx context.Context, m Model) ([]Ripple, error) {
	out := make([]Ripple, len(p.obs))
	for _, g := range p.groups {
		if g.direction() != Backward {
			continue
		}
		r, err := over(g, func(ls []quantity.Length, t quantity.Temperature) ([]Ripple, error) {
			return m.Ripple(ctx, ls, t)
		}, func(w [3]float64, v [3]Ripple) Ripple {
			blend := func(of func(Ripple) float64) float64 { return max(0, w[0]*of(v[0])+w[1]*of(v[1])+w[2]*of(v[2])) }
			return Ripple{blend(func(r Ripple) float64 { return r.Mean }), blend(func(r Ripple) float64 { return r.T1 })}
		})
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
func (p *batch) slope(ctx context.Context, m Model, dl quantity.Length, dt quantity.Temperature) ([]float64, error) {
	var side [2][]float64
	err := each(2, func(k int) (err error) {
		sign := float64(1 - 2*k)
		side[k], err = p.shifted(quantity.Length(sign)*dl, quantity.Temperature(sign)*dt).predict(ctx, m)
		return err
	})
	if err != nil {
		return nil, err
	}
	up, down := side[0], side[1]
	step := 2 * (float64(dl) + float64(dt)) // one of them is zero
	for i := range up {
		up[i] = (up[i] - down[i]) / step
	}
	return up, nil
}

// figure picks from a transmission what an observation is compared with: of readings that are means over polarization
// the mean, and of others the extreme.
func figure(o *observation, scrambled bool, t Transmission) float64 {
	switch {
	case o.backward() && scrambled:
		return t.Mean()
	case o.backward():
		return t.T1
	case scrambled:
		return -quantity.Decibels(t.Mean())
	}
	return -quantity.Decibels(t.T2)
}
