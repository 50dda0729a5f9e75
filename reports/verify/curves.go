package verify

import (
	"context"
	"wedgework/optics/quantity"
)

// curvePoints is how finely a model curve is drawn: 1 nm over a sweep of 80 nm.
const curvePoints = 81

// Curves evaluates the models over each run's sweep; fitted is nil when nothing was fitted.
func Curves(ctx context.Context, d *data, specified, fitted uncertain) ([]Curve, error) {
	var curves []Curve
	var batches []*batch
	for run, info := range d.runs {
		for _, q := range observed {
			if len(d.wavelengths(run, q.quantity)) == 0 {
				continue
			}
			c := Curve{Quantity: q.quantity, Run: run, Temperature: info.Temperature}
			var obs []observation
			for k := range curvePoints {
				l := info.Low + (info.High-info.Low)*quantity.Length(k)/(curvePoints-1)
				c.Wavelengths = append(c.Wavelengths, l)
				obs = append(obs, observation{quantity: c.Quantity, run: run, l: l, t: info.Temperature})
			}
			curves = append(curves, c)
			batches = append(batches, newBatch(d, obs))
		}
	}
	return curves, each(len(batches), func(k int) (err error) {
		c := &curves[k]
		if c.Specified, err = band(ctx, batches[k], specified); err == nil && fitted != nil {
			c.Diagnosed, err = band(ctx, batches[k], fitted)
		}
		return err
	})
}

// band evaluates an uncertain model along a curve, in dB.
func band(ctx context.Context, p *batch, m uncertain) (Band, error) {
	var b Band
	s, err := m.spread(ctx, p)
	if err != nil {
		return b, err
	}
	for i, o := range p.obs {
		if o.backward() {
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
