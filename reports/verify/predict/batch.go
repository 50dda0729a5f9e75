package predict

import (
	"context"
	"fmt"
	"math"
	"slices"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/model"
	"wedgework/reports/verify/readings"
)

// Batch says which observations are evaluated together: those of one quantity in one run.
type Batch struct {
	d      *readings.Set
	Obs    []readings.Observation
	Groups []*group
}

type group struct {
	quantity limits.Quantity
	run      int
	Ls       []quantity.Length
	Ts       []quantity.Temperature
	at       []int // indices into obs
}

// direction is the way that light goes for a group.
func (g *group) direction() model.Direction {
	if g.quantity.Reading() == limits.Isolation {
		return model.Backward
	}
	return model.Forward
}

func NewBatch(d *readings.Set, obs []readings.Observation) *Batch {
	p := &Batch{d: d, Obs: obs}
	type key struct {
		quantity limits.Quantity
		run      int
	}
	var last *group // observations of one group mostly follow each other
	index := map[key]*group{}
	for i := range obs {
		o := &obs[i]
		g := last
		if g == nil || g.run != o.Run || g.quantity != o.Quantity {
			if g = index[key{o.Quantity, o.Run}]; g == nil {
				g = &group{quantity: o.Quantity, run: o.Run}
				index[key{o.Quantity, o.Run}] = g
				p.Groups = append(p.Groups, g)
			}
			last = g
		}
		g.at = append(g.at, i)
	}
	for _, g := range p.Groups {
		g.Ls, g.Ts = make([]quantity.Length, len(g.at)), make([]quantity.Temperature, len(g.at))
		for k, i := range g.at {
			g.Ls[k], g.Ts[k] = obs[i].Wavelength, obs[i].Temperature
		}
	}
	return p
}

// sent reports whether the group's figures follow from how much light arrives, by polarization.
func (g *group) sent() bool {
	return g.quantity != limits.DGD && g.quantity != limits.ReturnLoss && !g.quantity.ByAxes()
}

// Only is the part of the batch with the given quantities; at are its observations in the batch.
func (p *Batch) Only(quantities []limits.Quantity) (part *Batch, at []int) {
	part = &Batch{d: p.d}
	for _, g := range p.Groups {
		if !slices.Contains(quantities, g.quantity) {
			continue
		}
		own := *g
		own.at = make([]int, len(g.at))
		for k, i := range g.at {
			own.at[k] = len(part.Obs)
			part.Obs, at = append(part.Obs, p.Obs[i]), append(at, i)
		}
		part.Groups = append(part.Groups, &own)
	}
	return part, at
}

// Shifted is the batch with every observation moved by one step of wavelength or temperature: that is what predict
// looks at, and the observations themselves stay.
func (p *Batch) Shifted(dl quantity.Length, dt quantity.Temperature) *Batch {
	c := &Batch{d: p.d, Obs: p.Obs, Groups: make([]*group, len(p.Groups))}
	for k, g := range p.Groups {
		moved := *g
		if dl != 0 {
			moved.Ls = slices.Clone(g.Ls)
			for i := range moved.Ls {
				moved.Ls[i] += dl
			}
		}
		if dt != 0 {
			moved.Ts = slices.Clone(g.Ts)
			for i := range moved.Ts {
				moved.Ts[i] += dt
			}
		}
		c.Groups[k] = &moved
	}
	return c
}

// drift is the spread of temperatures over which a run is interpolated, in kelvin: by a parabola, whose
// error over half of this is below a thousandth of a decibel at any slope a film has.
const drift = 2.0

// over evaluates something at every reading of the group: at its temperature if it has one only, and where
// every reading has its own, as chambers log them, at three temperatures for all of them.
func over[T any](g *group, evaluate func([]quantity.Length, quantity.Temperature) ([]T, error),
	blend func([3]float64, [3]T) T) ([]T, error) {
	low, high := slices.Min(g.Ts), slices.Max(g.Ts)
	if low == high {
		return evaluate(g.Ls, low)
	}
	out := make([]T, len(g.Ls))
	if float64(high-low) > drift {
		for i := range g.Ls {
			v, err := evaluate(g.Ls[i:i+1], g.Ts[i])
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
		if at[k], err = evaluate(g.Ls, low+(high-low)*quantity.Temperature(k)/2); err != nil {
			return nil, err
		}
	}
	for i := range out {
		x := 2 * float64((g.Ts[i]-low)/(high-low)) // 0, 1, 2 are the nodes of Lagrange's parabola
		out[i] = blend([3]float64{(x - 1) * (x - 2) / 2, x * (2 - x), x * (x - 1) / 2}, [3]T{at[0][i], at[1][i],
			at[2][i]})
	}
	return out, nil
}

// Transmissions evaluates the model at every observation; nothing for what does not follow from them.
func (p *Batch) Transmissions(ctx context.Context, m model.Model) ([]model.Transmission, error) {
	out := make([]model.Transmission, len(p.Obs))
	return out, parallel.Each(len(p.Groups), func(n int) error {
		if g := p.Groups[n]; g.sent() {
			return g.transmissions(ctx, m, func(i int, t model.Transmission) { out[i] = t })
		}
		return nil
	})
}

// transmissions hands the model's transmission at every observation of the group on.
func (g *group) transmissions(ctx context.Context, m model.Model, take func(i int, t model.Transmission)) error {
	ts, err := over(g, func(ls []quantity.Length, t quantity.Temperature) ([]model.Transmission, error) {
		return m.Over(ctx, g.direction(), ls, t)
	}, func(w [3]float64, v [3]model.Transmission) model.Transmission {
		return model.Transmission{T1: w[0]*v[0].T1 + w[1]*v[1].T1 + w[2]*v[2].T1, T2: w[0]*v[0].T2 + w[1]*v[1].T2 +
			w[2]*v[2].T2}
	})
	if err != nil {
		return err
	}
	for k, i := range g.at {
		take(i, ts[k])
	}
	return nil
}

// numbers hands what the model says of a quantity that does not follow from transmissions on.
func (p *Batch) numbers(ctx context.Context, g *group, m model.Model, take func(i int, v float64)) error {
	values, err := over(g, func(ls []quantity.Length, t quantity.Temperature) ([]float64, error) {
		return Worst(ctx, m, g.quantity, ls, t)
	}, func(w [3]float64, v [3]float64) float64 { return w[0]*v[0] + w[1]*v[1] + w[2]*v[2] })
	if err != nil {
		return err
	}
	for k, i := range g.at {
		v := values[k]
		if o := &p.Obs[i]; g.quantity == limits.DGD && o.Step[0] != o.Step[1] {
			off := g.Ls[k] - o.Wavelength // of a batch that is shifted
			s, err := m.StepDelay(o.Step[0]+off, o.Step[1]+off, g.Ts[k])
			if err != nil {
				return err
			}
			if !math.IsNaN(s) {
				v = s * s
			}
		}
		take(i, v)
	}
	return nil
}

// Predict returns what the model says each observation's value is.
func (p *Batch) Predict(ctx context.Context, m model.Model) ([]float64, error) {
	out := make([]float64, len(p.Obs))
	return out, parallel.Each(len(p.Groups), func(n int) error {
		g := p.Groups[n]
		if !g.sent() {
			return p.numbers(ctx, g, m, func(i int, v float64) { out[i] = v })
		}
		return g.transmissions(ctx, m, func(i int, t model.Transmission) { out[i] = figure(&p.Obs[i], p.d, t) })
	})
}

// Worst returns what a model says of a quantity along a sweep, for the worst polarization unless the quantity is of
// another one, and in the scale in which the quantity is compared.
func Worst(ctx context.Context, m model.Model, q limits.Quantity, ls []quantity.Length,
	t quantity.Temperature) ([]float64, error) {
	switch q {
	case limits.DGD:
		return m.Delays(ctx, ls, t)
	case limits.ReturnLoss:
		all, err := m.Returned(ctx, ls, t)
		out := make([]float64, len(all))
		for i, r := range all {
			out[i] = r.Power
		}
		return out, err
	case limits.ExtinctionRatio, limits.InsertionLossSlow, limits.InsertionLossFast:
		return alongAxes(ctx, m, q, ls, t)
	}
	all, err := m.Over(ctx, (&group{quantity: q}).direction(), ls, t)
	out := make([]float64, len(all))
	for i, v := range all {
		out[i] = WorstOf(q, v)
	}
	return out, err
}

// alongAxes is Worst of a quantity along the axes of fibres.
func alongAxes(ctx context.Context, m model.Model, q limits.Quantity, ls []quantity.Length,
	t quantity.Temperature) ([]float64, error) {
	all, err := m.Axes(ctx, ls, t)
	if err == nil && len(all) != len(ls) {
		err = fmt.Errorf("%s: the fibres of the collimators have no axes", q)
	}
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(all))
	for i, a := range all {
		switch q {
		case limits.ExtinctionRatio:
			out[i] = a.Crossed
		case limits.InsertionLossSlow:
			out[i] = -quantity.Decibels(max(a.Slow, darkest))
		case limits.InsertionLossFast:
			out[i] = -quantity.Decibels(max(a.Fast, darkest))
		}
	}
	return out, nil
}

// darkest is the transmission of no light at all, 300 dB. An element the wrong way round may send all light past the
// receiver, and what is left of it in the receiver's mode is less than a number can hold.
const darkest = 1e-30

// Lit is a transmission that has a loss.
func Lit(t model.Transmission) model.Transmission {
	return model.Transmission{T1: max(t.T1, darkest), T2: max(t.T2, darkest)}
}

// WorstOf is what a transmission makes of an isolation, an insertion loss or a PDL, for the worst polarization unless
// the quantity is of another one, and in the scale of the quantity.
func WorstOf(q limits.Quantity, t model.Transmission) float64 {
	t = Lit(t)
	switch q {
	case limits.Isolation:
		return t.T1
	case limits.IsolationMean:
		return t.Mean()
	case limits.InsertionLossMean:
		return -quantity.Decibels(t.Mean())
	case limits.InsertionLossMin:
		return -quantity.Decibels(t.T1)
	case limits.PDL:
		return math.Pow(quantity.Decibels(t.T1/t.T2), 2)
	}
	return -quantity.Decibels(t.T2)
}

// ripple returns what the phases of double reflections leave open of isolations, and those of single ones of return
// losses; nothing of other figures, where double ones are a ten-thousandth of the light.
func (p *Batch) ripple(ctx context.Context, m model.Model) ([]model.Ripple, error) {
	out := make([]model.Ripple, len(p.Obs))
	for _, g := range p.Groups {
		if g.quantity == limits.ReturnLoss {
			r, err := m.Returned(ctx, g.Ls, g.Ts[0])
			if err != nil {
				return nil, err
			}
			for k, i := range g.at {
				out[i] = model.Ripple{Mean: r[k].Ripple, T1: r[k].Ripple}
			}
			continue
		}
		if g.direction() != model.Backward {
			continue
		}
		r, err := over(g, func(ls []quantity.Length, t quantity.Temperature) ([]model.Ripple, error) {
			return m.Ripple(ctx, ls, t)
		}, func(w [3]float64, v [3]model.Ripple) model.Ripple {
			blend := func(of func(model.Ripple) float64) float64 {
				return max(0,
					w[0]*of(v[0])+w[1]*of(v[1])+w[2]*of(v[2]))
			}
			return model.Ripple{Mean: blend(func(r model.Ripple) float64 { return r.Mean }),
				T1: blend(func(r model.Ripple) float64 { return r.T1 })}
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
func (p *Batch) slope(ctx context.Context, m model.Model, dl quantity.Length,
	dt quantity.Temperature) ([]float64, error) {
	var side [2][]float64
	err := parallel.Each(2, func(k int) (err error) {
		sign := float64(1 - 2*k)
		side[k], err = p.Shifted(quantity.Length(sign)*dl, quantity.Temperature(sign)*dt).Predict(ctx, m)
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
func figure(o *readings.Observation, d *readings.Set, t model.Transmission) float64 {
	switch {
	case o.Backward() && d.Scrambled:
		return t.Mean()
	case o.Backward():
		return t.T1
	case o.Quantity == limits.InsertionLoss && d.MeanLoss:
		return -quantity.Decibels(t.Mean())
	}
	return WorstOf(o.Quantity, t)
}
