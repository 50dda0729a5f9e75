package compare

import (
	"math"

	"wedgework/reports/limits"
	"wedgework/reports/verify/fitting"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// Points compares every isolation with both models. Of the fitted one the residuals are given, by observation.
func Points(m *readings.Measurement, by predict.Models, residuals map[int]fitting.Residual) []Point {
	var all []Point
	for i, o := range m.Obs[:m.Back] {
		p := Point{Line: m.Rows[o.Row].Line, Run: o.Run, Wavelength: o.Wavelength, Temperature: o.Temperature,
			Read:     o.Read,
			Bound:    o.Bound,
			Censored: m.Censored[i], Outlier: m.Outlying.Has(i)}
		u, k := m.Own.Standard(i), m.FactorAt(i)
		p.Amplitude = readings.Root(o.Value)
		p.Isolation, _ = m.Figure(i)
		bound := math.Inf(1)
		if p.Censored {
			bound = math.Pow(10, -p.Isolation/20)
			p.Standard = (bound - p.Amplitude) / readings.OneSided
			p.Low, p.High = p.Isolation, p.Isolation
		} else {
			p.Standard = u / (2 * p.Amplitude)
			p.Low = readings.Decibels(p.Amplitude + k*p.Standard)
			p.High = readings.Decibels(p.Amplitude - k*p.Standard)
		}
		p.U = k * p.Standard
		p.Specified = compare(&p, bound, by.Specified, i)
		p.Diagnosed = compare(&p, bound, by.Diagnosed(), i)
		if r, ok := residuals[i]; ok && !p.Censored {
			p.Diagnosed = beside(&o, r)
		}
		all = append(all, p)
	}
	return all
}

// beside is a reading beside the curve that its residual is left above.
func beside(o *readings.Observation, r fitting.Residual) Comparison {
	y, _ := o.Amplitude(o.Value)
	c := Comparison{Amplitude: y - r.Left, Isolation: readings.Decibels(y - r.Left), ULow: readings.Coverage * r.Curve,
		UHigh:    readings.Coverage * r.Curve,
		Residual: r.Left, En: r.Left / (readings.Coverage * r.Standard)}
	c.ResidualDB = readings.Decibels(y) - c.Isolation
	return c
}

// Losses compares every insertion loss with the specified model.
func Losses(m *readings.Measurement, specified *predict.Spread) []LossPoint {
	var all []LossPoint
	for i, o := range m.Obs {
		if o.Quantity == limits.InsertionLoss {
			all = append(all, lossPoint(m, i, specified))
		}
	}
	return all
}

// compare holds a reading against one model. An "at least" reading differs from the model only by what
// the model leaks above the bound, and has no E_n: the fit weighs it.
func compare(p *Point, bound float64, s *predict.Spread, i int) Comparison {
	y, down, up := s.Sides(func(v []float64) float64 { return readings.Root(v[i]) })
	c := Comparison{Amplitude: y, Isolation: readings.Decibels(y), ULow: down, UHigh: up}
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
	c.En = NormalizedError(c.Residual, math.Hypot(p.U, side))
	return c
}

func lossPoint(m *readings.Measurement, i int, s *predict.Spread) LossPoint {
	o := m.Obs[i]
	v, down, up := s.Sides(func(v []float64) float64 { return v[i] })
	p := LossPoint{Line: m.Rows[o.Row].Line, Run: o.Run, Wavelength: o.Wavelength, Temperature: o.Temperature,
		Read: o.Read, Standard: m.Own.Standard(i), Model: v}
	p.U, p.Residual, p.UModel = m.FactorAt(i)*p.Standard, o.Value-v, up
	if p.Residual < 0 {
		p.UModel = down
	}
	if total := math.Hypot(p.U, p.UModel); total > 0 {
		p.En = p.Residual / total
	}
	return p
}

// NormalizedError is E_n, a difference over the expanded uncertainty of it (ISO 13528): 0 where nothing is uncertain.
func NormalizedError(difference, u float64) float64 {
	if u > 0 {
		return difference / u
	}
	return 0
}
