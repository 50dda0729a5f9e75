package verify

import (
	"context"
	"math"

	"wedgework/optics/quantity"
	"wedgework/reports/limits"
)

// points holds every reading against both models.
func (x *examiner) points(ctx context.Context, r *Result, specified, diagnosed *spread) error {
	var curve map[int]Comparison
	if x.fitted() {
		var err error
		if curve, err = x.asDiagnosed(ctx); err != nil {
			return err
		}
	}
	for i, o := range x.d.obs {
		line := x.d.Rows[o.row].Line
		if !o.backward {
			r.Losses = append(r.Losses, x.lossPoint(i, line, specified))
			continue
		}
		p := Point{Line: line, Run: o.run, Wavelength: o.l, Temperature: o.t, Read: o.read, Bound: o.bound, Censored: x.censored[i], Outlier: x.isOut(i)}
		u, k := x.own.Standard(i), x.factorAt(i)
		p.Amplitude = sqrt(o.value)
		p.Isolation, _ = x.isolation(i)
		bound := math.Inf(1)
		if p.Censored {
			r.Censored++
			if p.Bound {
				r.Bounds++
			}
			bound = math.Pow(10, -p.Isolation/20)
			p.Standard = (bound - p.Amplitude) / oneSided
			p.Low, p.High = p.Isolation, p.Isolation
		} else {
			p.Standard = u / (2 * p.Amplitude)
			p.Low = decibels(p.Amplitude + k*p.Standard)
			p.High = decibels(p.Amplitude - k*p.Standard)
		}
		p.U = k * p.Standard
		p.Specified = compare(&p, bound, specified, i)
		p.Diagnosed = compare(&p, bound, diagnosed, i)
		if c, ok := curve[i]; ok && !p.Censored {
			p.Diagnosed = c
		}
		r.Points = append(r.Points, p)
	}
	return nil
}

// asDiagnosed holds readings against the adopted explanation with the errors that they share put on its curve:
// those have been estimated from the same readings, and laid on each of them as an uncertainty of its own they
// would hide what is left. ISO 13528 asks that the two compared be independent; a reading that took part in the fit
// is not, so that the difference has less variance than both together.
func (x *examiner) asDiagnosed(ctx context.Context) (map[int]Comparison, error) {
	best := x.found.best()
	a, err := best.alone(ctx)
	if err != nil {
		return nil, err
	}
	against := func(i int, left, standard, curve float64) Comparison {
		y, _ := x.d.obs[i].amplitude(x.d.obs[i].value)
		c := Comparison{Amplitude: y - left, Isolation: decibels(y - left), ULow: coverage * curve, UHigh: coverage * curve,
			Residual: left, En: left / (coverage * standard)}
		c.ResidualDB = decibels(y) - c.Isolation
		return c
	}
	all := map[int]Comparison{}
	for k, i := range best.f.indices[:best.f.free] {
		all[i] = against(i, a.left[k], a.standard[k], a.curve[k])
	}
	if len(x.outlying) == 0 {
		return all, nil
	}
	apart, err := best.apartFrom(ctx, x.left())
	if err != nil {
		return nil, err
	}
	for _, o := range apart {
		all[o.index] = against(o.index, o.left, o.standard, 0)
	}
	return all, nil
}

// compare holds a reading against one model. An "at least" reading differs from the model only by what
// the model leaks above the bound, and has no E_n: the fit weighs it.
func compare(p *Point, bound float64, s *spread, i int) Comparison {
	y, down, up := s.sides(func(v []float64) float64 { return sqrt(v[i]) })
	c := Comparison{Amplitude: y, Isolation: decibels(y), ULow: down, UHigh: up}
	if p.Censored {
		c.Residual = min(0, bound-y)
		return c
	}
	c.Residual = p.Amplitude - y
	c.ResidualDB = p.Isolation - c.Isolation
	side := up
	if c.Residual < 0 {
		side = down
	}
	c.En = normalized(c.Residual, math.Hypot(p.U, side))
	return c
}

func (x *examiner) lossPoint(i, line int, s *spread) LossPoint {
	o := x.d.obs[i]
	v, down, up := s.sides(func(v []float64) float64 { return v[i] })
	p := LossPoint{Line: line, Run: o.run, Wavelength: o.l, Temperature: o.t, Read: o.read, Standard: x.own.Standard(i), Model: v}
	p.U, p.Residual, p.UModel = x.factorAt(i)*p.Standard, o.value-v, up
	if p.Residual < 0 {
		p.UModel = down
	}
	if total := math.Hypot(p.U, p.UModel); total > 0 {
		p.En = p.Residual / total
	}
	return p
}

// curvePoints is how finely a model curve is drawn: 1 nm over a sweep of 80 nm.
const curvePoints = 81

// curves evaluates the models over each run's sweep.
func (x *examiner) curves(ctx context.Context, r *Result, specified, diagnosed uncertain) error {
	var plans []*plan
	for run, info := range x.d.runs {
		for _, backward := range []bool{true, false} {
			c := Curve{Quantity: limits.InsertionLoss, Run: run, Temperature: info.Temperature}
			n := info.Losses
			if backward {
				c.Quantity, n = limits.Isolation, info.Isolations
			}
			if n == 0 {
				continue
			}
			var obs []observation
			for k := range curvePoints {
				l := info.Low + (info.High-info.Low)*quantity.Length(k)/(curvePoints-1)
				c.Wavelengths = append(c.Wavelengths, l)
				obs = append(obs, observation{backward: backward, run: run, l: l, t: info.Temperature})
			}
			r.Curves = append(r.Curves, c)
			plans = append(plans, x.d.plan(obs))
		}
	}
	return each(len(plans), func(k int) (err error) {
		c := &r.Curves[k]
		if c.Specified, err = plans[k].band(ctx, specified); err == nil && x.fitted() {
			c.Diagnosed, err = plans[k].band(ctx, diagnosed)
		}
		return err
	})
}

// band evaluates an uncertain model along a curve, in dB.
func (p *plan) band(ctx context.Context, m uncertain) (Band, error) {
	var b Band
	s, err := m.spread(ctx, p)
	if err != nil {
		return b, err
	}
	for i, o := range p.obs {
		if o.backward {
			y, down, up := s.sides(func(v []float64) float64 { return sqrt(v[i]) })
			b.Value = append(b.Value, decibels(y))
			b.Low = append(b.Low, decibels(y+up))
			b.High = append(b.High, decibels(y-down))
			continue
		}
		v, down, up := s.sides(func(v []float64) float64 { return v[i] })
		b.Value = append(b.Value, v)
		b.Low = append(b.Low, v-down)
		b.High = append(b.High, v+up)
	}
	return b, nil
}
