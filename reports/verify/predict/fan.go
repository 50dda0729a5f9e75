package predict

import (
	"context"

	"wedgework/optics/parallel"
	"wedgework/reports/verify/model"
)

// Fan is a model with arms along the independent directions of what is not known of its parameters: to either side a
// model, coverage standard deviations away.
type Fan struct {
	Centre model.Model
	Arms   [][2]model.Model // plus, minus
}

// Spread evaluates the fan.
func (f *Fan) Spread(ctx context.Context, p *Batch) (*Spread, error) {
	s := &Spread{arms: make([][2][]float64, len(f.Arms))}
	err := parallel.Each(2*len(f.Arms)+1, func(i int) (err error) {
		if i == 2*len(f.Arms) {
			s.Centre, err = p.Predict(ctx, f.Centre)
		} else {
			s.arms[i/2][i%2], err = p.Predict(ctx, f.Arms[i/2][i%2])
		}
		return err
	})
	return s, err
}
