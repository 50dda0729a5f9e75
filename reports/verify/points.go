package verify

import (
	"math"
	"wedgework/reports/limits"
)

// Models is what the specified and the fitted model say of all observations, each with its uncertainty.
type Models struct {
	specified, fitted *spread // fitted is nil when nothing was fitted
}

// diagnosed is the fitted model; when nothing was fitted, the specified one as if it were exact.
func (m Models) diagnosed() *spread {
	if m.fitted == nil {
		return &spread{centre: m.specified.centre}
	}
	return m.fitted
}

// Points compares every isolation with both models. Of the fitted one the residuals are given, by observation.
func Points(m *measurement, by Models, residuals map[int]Residual) []Point {
	var all []Point
	for i, o := range m.obs[:m.back] {
		p := Point{Line: m.Rows[o.row].Line, Run: o.run, Wavelength: o.l, Temperature: o.t, Read: o.read, Bound: o.bound,
			Censored: m.censored[i], Outlier: m.outlying.has(i)}
		u, k := m.own.Standard(i), m.factorAt(i)
		p.Amplitude = sqrt(o.value)
		p.Isolation, _ = m.isolation(i)
		bound := math.Inf(1)
		if p.Censored {
			bound = math.Pow(10, -p.Isolation/20)
			p.Standard = (bound - p.Amplitude) / oneSided
			p.Low, p.High = p.Isolation, p.Isolation
		} else {
			p.Standard = u / (2 * p.Amplitude)
			p.Low = decibels(p.Amplitude + k*p.Standard)
			p.High = decibels(p.Amplitude - k*p.Standard)
		}
		p.U = k * p.Standard
		p.Specified = compare(&p, bound, by.specified, i)
		p.Diagnosed = compare(&p, bound, by.diagnosed(), i)
		if r, ok := residuals[i]; ok && !p.Censored {
			p.Diagnosed = beside(&o, r)
		}
		all = append(all, p)
	}
	return all
}

// beside is a reading beside the curve that its residual is left above.
func beside(o *observation, r Residual) Comparison {
	y, _ := o.amplitude(o.value)
	c := Comparison{Amplitude: y - r.Left, Isolation: decibels(y - r.Left), ULow: coverage * r.Curve, UHigh: coverage * r.Curve,
		Residual: r.Left, En: r.Left / (coverage * r.Standard)}
	c.ResidualDB = decibels(y) - c.Isolation
	return c
}

// Losses compares every insertion loss with the specified model.
func Losses(m *measurement, specified *spread) []LossPoint {
	var all []LossPoint
	for i, o := range m.obs {
		if o.quantity == limits.InsertionLoss {
			all = append(all, lossPoint(m, i, specified))
		}
	}
	return all
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

func lossPoint(m *measurement, i int, s *spread) LossPoint {
	o := m.obs[i]
	v, down, up := s.sides(func(v []float64) float64 { return v[i] })
	p := LossPoint{Line: m.Rows[o.row].Line, Run: o.run, Wavelength: o.l, Temperature: o.t, Read: o.read, Standard: m.own.Standard(i), Model: v}
	p.U, p.Residual, p.UModel = m.factorAt(i)*p.Standard, o.value-v, up
	if p.Residual < 0 {
		p.UModel = down
	}
	if total := math.Hypot(p.U, p.UModel); total > 0 {
		p.En = p.Residual / total
	}
	return p
}
