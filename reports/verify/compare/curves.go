package compare

import (
	"context"

	"wedgework/optics/parallel"
	"wedgework/optics/quantity"
	"wedgework/reports/limits"
	"wedgework/reports/verify/predict"
	"wedgework/reports/verify/readings"
)

// drawn are the quantities whose curves a report has.
var drawn = []limits.Quantity{limits.Isolation, limits.InsertionLoss}

// curvePoints is how finely a model curve is drawn: 1 nm over a sweep of 80 nm.
const curvePoints = 81

// Curves evaluates the models over each run's sweep; fitted is nil when nothing was fitted.
func Curves(ctx context.Context, d *readings.Set, specified, fitted predict.Uncertain) ([]Curve, error) {
	var curves []Curve
	var batches []*predict.Batch
	for run, info := range d.Runs {
		for _, q := range drawn {
			if len(d.Wavelengths(run, q)) == 0 {
				continue
			}
			c := Curve{Quantity: q, Run: run, Temperature: info.Temperature}
			var obs []readings.Observation
			for k := range curvePoints {
				l := info.Low + (info.High-info.Low)*quantity.Length(k)/(curvePoints-1)
				c.Wavelengths = append(c.Wavelengths, l)
				obs = append(obs, readings.Observation{Quantity: c.Quantity, Run: run, Wavelength: l,
					Temperature: info.Temperature})
			}
			curves = append(curves, c)
			batches = append(batches, predict.NewBatch(d, obs))
		}
	}
	return curves, parallel.Each(len(batches), func(k int) (err error) {
		c := &curves[k]
		if c.Specified, err = band(ctx, batches[k], specified); err == nil && fitted != nil {
			c.Diagnosed, err = band(ctx, batches[k], fitted)
		}
		return err
	})
}

// band evaluates an uncertain model along a curve, in dB.
func band(ctx context.Context, p *predict.Batch, m predict.Uncertain) (Band, error) {
	var b Band
	s, err := m.Spread(ctx, p)
	if err != nil {
		return b, err
	}
	for i, o := range p.Obs {
		if o.Backward() {
			y, down, up := s.Sides(func(v []float64) float64 { return readings.Root(v[i]) })
			b.Value = append(b.Value, readings.Decibels(y))
			b.Low = append(b.Low, readings.Decibels(y+up))
			b.High = append(b.High, readings.Decibels(y-down))
			continue
		}
		v, down, up := s.Sides(func(v []float64) float64 { return v[i] })
		b.Value = append(b.Value, v)
		b.Low = append(b.Low, v-down)
		b.High = append(b.High, v+up)
	}
	return b, nil
}
